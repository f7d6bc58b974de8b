"""The figures of a study, from its tables."""

from pathlib import Path

from darkspell.pipeline.parent_watchdog import die_with_the_run
from darkspell.pipeline.script_context import job, telling
from darkspell.report.figures import write_figures

with job(snakemake) as (_, study), telling(snakemake) as tell:
    folder = Path(snakemake.output[0])
    write_figures(folder.parent, study, folder, tell, snakemake.threads, die_with_the_run)
