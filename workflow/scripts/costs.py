"""First cost and cost over life of a study and its what-ifs."""

from darkspell.core.atomic_files import write_table
from darkspell.design.cost_table import cost_table
from darkspell.pipeline.script_context import job, telling
from darkspell.simulation.stored import load_system
from darkspell.weather.stored_sites import load_site, site_key

with job(snakemake) as (_, study), telling(snakemake) as tell:
    sites = snakemake.input.sites
    table = cost_table(
        load_system(study, sites), lambda one: load_site(sites, site_key(one)), study.whatifs,
        snakemake.threads, tell,
    )  # fmt: skip
    write_table(snakemake.output[0], table)
