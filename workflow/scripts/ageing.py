"""The study at commissioning, in mid-life and at the end of its bank's life."""

from darkspell.ageing.course import ages, course, run_age, year_on
from darkspell.files import write_table
from darkspell.jobs import assembled, job

with job(snakemake) as (_, study):

    def at(capacity):
        changed = study.with_changes({"bank.age_capacity_pct": round(100.0 * capacity, 6)})
        aged = assembled(changed, snakemake.input.sites)
        return run_age(aged, capacity, workers=snakemake.threads), aged.world

    runs, worlds = zip(*map(at, ages(study)), strict=True)
    after, _ = at(year_on(study, runs[0]))
    write_table(snakemake.output[0], course(study, runs, worlds[0], after))
