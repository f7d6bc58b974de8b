"""The study at commissioning, in mid-life and at the end of its bank's life."""

from darkspell.core.atomic_files import write_table
from darkspell.pipeline.script_context import job
from darkspell.simulation.lifetime import ages, course, run_age
from darkspell.simulation.stored import load_system

with job(snakemake) as (_, study):

    def at(capacity, fed_back=False):
        changed = study.with_changes({"bank.state_of_health_pct": round(100.0 * capacity, 6)})
        aged = load_system(changed, snakemake.input.sites)
        return run_age(aged, capacity, workers=snakemake.threads, fed_back=fed_back), aged.parameter_draw

    now, *later = ages(study)
    (new, wearing), parameter_draw = at(now, fed_back=True)
    runs = [new, *(at(capacity)[0] for capacity in later)]
    write_table(snakemake.output[0], course(study, runs, parameter_draw, wearing))
