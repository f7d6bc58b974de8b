"""The cheapest design of whole pieces that reaches every target, and its neighbours."""

import pandas as pd

from darkspell.core.atomic_files import write_table
from darkspell.design.catalogue_design import COLUMNS, design
from darkspell.pipeline.script_context import job, telling
from darkspell.simulation.stored import load_system
from darkspell.weather.site_sky import sky_of

with job(snakemake) as (_, study), telling(snakemake) as tell:
    rows = design(load_system(study, snakemake.input.sites), sky_of, snakemake.threads, tell)
    write_table(snakemake.output[0], pd.DataFrame(rows, columns=COLUMNS))
