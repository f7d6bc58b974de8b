"""The proposal of a study and its technical annex, from its tables and figures."""

from pathlib import Path

from darkspell.core.atomic_files import write_bytes, write_text
from darkspell.pipeline.parent_watchdog import die_with_the_run
from darkspell.pipeline.script_context import job
from darkspell.report.document.write import write_together
from darkspell.report.proposal import annex, proposal
from darkspell.report.proposal.chapters.bill_of_materials import bill_of
from darkspell.report.proposal.chapters.year_sheet import year_sheet
from darkspell.report.results import read_results
from darkspell.report.workbook import workbook_of
from darkspell.study.study_files import text_of
from darkspell.weather.stored_sites import load_site, site_key

with job(snakemake) as (path, study):
    climate, _ = load_site(snakemake.input.sites, site_key(study))
    folder = Path(snakemake.output[0]).parent
    text = text_of(study.files or [path])
    results = read_results(folder, study, climate, text, snakemake.input.figures)
    out = snakemake.output

    def also():
        write_text(out.bill, bill_of(results).to_csv(index=False, lineterminator="\n"))
        write_bytes(out[2], workbook_of(results))
        write_text(out.sheet, year_sheet(results))

    documents = {out[0]: proposal(results), out.annex: annex(results)}
    write_together(documents, also, workers=2, started=die_with_the_run)
