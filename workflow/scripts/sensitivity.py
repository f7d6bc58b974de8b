"""Which inputs move the answer."""

import pandas as pd

from darkspell.assembly import sky_of
from darkspell.choices.sensitivity import COLUMNS, sensitivity
from darkspell.climate import site_climate
from darkspell.files import site_key, write_table
from darkspell.jobs import assembled, job, telling

with job(snakemake) as (path, study), telling(snakemake) as tell:
    known = {}

    def site_of(one):
        """Climate and sky of a changed study, made once for each place and set of planes."""
        key = site_key(one)
        if key not in known:
            known[key] = site_climate(one, path.parent), sky_of(one)
        return known[key]

    rows = sensitivity(assembled(study, snakemake.input.sites), site_of, snakemake.threads, tell)
    write_table(snakemake.output[0], pd.DataFrame(rows, columns=COLUMNS))
