"""One proposal of several studies, from their tables and figures."""

from pathlib import Path

from darkspell.pipeline.script_context import jobs
from darkspell.report.document.write import write_all
from darkspell.report.proposal.options import options
from darkspell.report.results import read_results
from darkspell.study.study_files import text_of
from darkspell.weather.stored_sites import load_site, site_key

with jobs(snakemake, snakemake.params.studies) as entries:
    many = []
    for (path, study), site in zip(entries, snakemake.input.sites, strict=True):
        climate, _ = load_site(site, site_key(study))
        folder = Path(site).parents[1]
        text = text_of(study.files or [path])
        many.append(read_results(folder, study, climate, text, folder / "figures"))
    write_all(options(many), snakemake.output[0])
