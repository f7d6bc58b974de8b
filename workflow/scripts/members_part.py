"""One part of the years of a study's own design."""

from darkspell.pipeline.chunks import some_members
from darkspell.pipeline.script_context import job, telling
from darkspell.pipeline.stored_parts import save_part
from darkspell.simulation.run import simulate
from darkspell.simulation.stored import load_system

with job(snakemake) as (_, study), telling(snakemake) as tell:
    whole = load_system(study, snakemake.input.sites)
    some = some_members(whole, int(snakemake.wildcards.part), int(snakemake.wildcards.parts))
    save_part(snakemake.output[0], simulate(some, workers=snakemake.threads, tell=tell))
