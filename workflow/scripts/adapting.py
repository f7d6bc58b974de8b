"""What it brings that people save while the monitor reads low."""

import pandas as pd

from darkspell.files import write_table
from darkspell.jobs import assembled, job, telling
from darkspell.people.adapting import adapting, adapting_table
from darkspell.simulate import simulate

with job(snakemake) as (_, study), telling(snakemake) as tell:
    base = pd.read_csv(snakemake.input.members)
    parts = adapting(assembled(study, snakemake.input.sites))
    other = simulate(parts, autonomy=False, workers=snakemake.threads, tell=tell)
    table = adapting_table(base, other.members, parts.answers, parts.world, study.engine.seed)
    write_table(snakemake.output[0], table)
