"""Every what-if of a study on the draws of the study itself, or one part of them; or the parts put together."""

import pandas as pd

from darkspell.core.atomic_files import join_tables, write_table
from darkspell.design.whatif_runner import WHATIF_COLUMNS, run_whatifs
from darkspell.pipeline.chunks import some_of
from darkspell.pipeline.script_context import job, telling
from darkspell.simulation.stored import load_system
from darkspell.weather.stored_sites import load_site, site_key

with job(snakemake) as (_, study):
    sites, whatifs, rows = snakemake.input.sites, study.whatifs, []
    if snakemake.input.get("pieces"):
        table = join_tables(snakemake.input.pieces)
    else:
        if snakemake.wildcards.get("part"):
            whatifs = some_of(whatifs, int(snakemake.wildcards.part), int(snakemake.wildcards.parts))
        if whatifs:
            with telling(snakemake) as tell:
                base = load_system(study, sites)
                rows = run_whatifs(
                    base, lambda one: load_site(sites, site_key(one)), whatifs, snakemake.threads, tell
                )
        table = pd.DataFrame(rows, columns=WHATIF_COLUMNS)
    write_table(snakemake.output[0], table)
