"""Prices of the grid's designs, and the cheapest that meets the target."""

import pandas as pd

from darkspell.choices.sizing import priced
from darkspell.files import write_table
from darkspell.jobs import job

with job(snakemake) as (_, study):
    grid = pd.read_csv(snakemake.input[0])
    write_table(snakemake.output[0], priced(grid, study.sizing.prices, study.target))
