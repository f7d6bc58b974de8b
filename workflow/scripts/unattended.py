"""How long the place may be left to itself."""

from darkspell.core.atomic_files import write_table
from darkspell.pipeline.script_context import job, telling
from darkspell.simulation.stored import load_system
from darkspell.simulation.unattended import hours_alone, unattended_table

with job(snakemake) as (_, study), telling(snakemake) as tell:
    parts = load_system(study, snakemake.input.sites)
    hours = hours_alone(parts, snakemake.threads, tell)
    write_table(
        snakemake.output[0], unattended_table(hours, study.occupancy.unattended, parts.parameter_draw)
    )
