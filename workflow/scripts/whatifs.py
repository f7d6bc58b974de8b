"""Every what-if of a study on the draws of the study itself."""

import pandas as pd

from darkspell.choices.many import run_whatifs
from darkspell.choices.whatifs import COLUMNS
from darkspell.files import load_site, site_key, write_table
from darkspell.jobs import assembled, job, telling

with job(snakemake) as (_, study), telling(snakemake) as tell:
    sites = snakemake.input.sites
    parts = assembled(study, sites)
    rows = []
    if study.whatifs:
        rows = run_whatifs(
            parts, lambda one: load_site(sites, site_key(one)), study.whatifs, snakemake.threads, tell
        )
    write_table(snakemake.output[0], pd.DataFrame(rows, columns=COLUMNS))
