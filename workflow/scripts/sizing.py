"""Prices of the grid's designs, and the cheapest that meets the target."""

import pandas as pd

from darkspell.core.atomic_files import write_table
from darkspell.design.grid_costs import priced
from darkspell.pipeline.script_context import job

with job(snakemake) as (_, study):
    grid = pd.read_csv(snakemake.input[0])
    write_table(snakemake.output[0], priced(grid, study))
