"""The figures of a study, from its tables."""

from pathlib import Path

from darkspell.pipeline.script_context import job, telling
from darkspell.report.figures import write_figures

with job(snakemake) as (_, study), telling(snakemake) as tell:
    write_figures(Path(snakemake.output[0]).parent, study, snakemake.output[0], tell)
