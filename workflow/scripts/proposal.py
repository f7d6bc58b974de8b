"""The proposal of a study, from its tables and figures."""

from pathlib import Path

from darkspell.files import load_site, site_key, write_bytes, write_text
from darkspell.jobs import job
from darkspell.proposal import proposal, write_all
from darkspell.proposal.results import read_results
from darkspell.proposal.workbook import workbook_of
from darkspell.proposal.year_sheet import year_sheet

with job(snakemake) as (path, study):
    climate, _ = load_site(snakemake.input.sites, site_key(study))
    folder = Path(snakemake.output[0]).parent
    text = path.read_text(encoding="utf-8-sig")
    results = read_results(folder, study, climate, text, snakemake.input.figures)
    write_all(proposal(results), snakemake.output[0])
    write_bytes(snakemake.output[3], workbook_of(folder, study))
    write_text(snakemake.output.sheet, year_sheet(results))
