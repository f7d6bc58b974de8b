"""Loss of load of every design of the study's grid."""

from darkspell.choices.grid import designs_of, run_grid
from darkspell.choices.sizing import grid_table
from darkspell.files import write_table
from darkspell.jobs import assembled, job
from darkspell.loads.budget import yearly_budget

with job(snakemake) as (_, study):
    parts = assembled(study, snakemake.input.sites)
    designs = designs_of(study)
    counts = run_grid(parts, designs, workers=snakemake.threads)
    demand = yearly_budget(parts.appliances, parts.climate).sum() / 1000.0
    table = grid_table(designs, counts, parts.world, demand, study.engine.seed)
    write_table(snakemake.output[0], table)
