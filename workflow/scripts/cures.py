"""What would help, and what it costs, on the draws of the study."""

from darkspell.assembly import sky_of
from darkspell.choices.cures import cures_of, cures_table
from darkspell.choices.many import run_whatifs
from darkspell.choices.requirements import OWN
from darkspell.files import write_table
from darkspell.jobs import assembled, job, telling

with job(snakemake) as (_, study), telling(snakemake) as tell:
    parts = assembled(study, snakemake.input.sites)
    cures = cures_of(study)
    changes = {name: made for name, (made, _) in cures.items()}
    rows = run_whatifs(parts, lambda one: (parts.climate, sky_of(one)), changes, snakemake.threads, tell)
    write_table(
        snakemake.output[0], cures_table(rows, cures, OWN[study.target.statistic], study.sizing.prices)
    )
