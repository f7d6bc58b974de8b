"""The study at commissioning, in mid-life and at the end of its bank's life."""

from darkspell.ageing.course import ages, course, run_age
from darkspell.files import write_table
from darkspell.jobs import assembled, job

with job(snakemake) as (_, study):
    runs = []
    for capacity in ages(study):
        aged = assembled(
            study.with_changes({"bank.age_capacity_pct": 100.0 * capacity}), snakemake.input.sites
        )
        runs.append(run_age(aged, capacity, workers=snakemake.threads))
    write_table(snakemake.output[0], course(study, runs, aged.world))
