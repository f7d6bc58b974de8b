"""Every what-if of a study on the draws of the study itself."""

import pandas as pd

from darkspell.choices.whatifs import COLUMNS, compare
from darkspell.files import write_table
from darkspell.jobs import assembled, job
from darkspell.simulate import simulate

with job(snakemake) as (_, study):
    base = pd.read_csv(snakemake.input.members)
    rows = []
    for name, changes in study.whatifs.items():
        parts = assembled(study.with_changes(changes), snakemake.input.sites)
        other = simulate(parts, autonomy=False, workers=snakemake.threads)
        rows += compare(name, changes, base, other.members, parts.world, study.engine.seed)
    write_table(snakemake.output[0], pd.DataFrame(rows, columns=COLUMNS))
