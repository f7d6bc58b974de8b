"""The cheapest design of whole pieces that reaches every target, and its neighbours."""

import pandas as pd

from darkspell.assembly import sky_of
from darkspell.choices.designer import COLUMNS, design
from darkspell.files import write_table
from darkspell.jobs import assembled, job, telling

with job(snakemake) as (_, study), telling(snakemake) as tell:
    rows = design(assembled(study, snakemake.input.sites), sky_of, snakemake.threads, tell)
    write_table(snakemake.output[0], pd.DataFrame(rows, columns=COLUMNS))
