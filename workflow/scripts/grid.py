"""Loss of load of every design of the study's grid, or of one part of them; or the parts put together."""

import pandas as pd

from darkspell.core.atomic_files import write_table
from darkspell.design.bank_lives import with_lives
from darkspell.design.grid import designs_of, run_grid
from darkspell.design.grid_costs import grid_table
from darkspell.loads.budget import yearly_budget
from darkspell.pipeline.chunks import some_designs
from darkspell.pipeline.script_context import job, telling
from darkspell.simulation.run import compile_year
from darkspell.simulation.stored import load_system

with job(snakemake) as (_, study):
    parts = load_system(study, snakemake.input.sites)
    if snakemake.input.get("pieces"):
        table = pd.concat([pd.read_csv(piece) for piece in snakemake.input.pieces], ignore_index=True)
    else:
        designs = designs_of(study)
        if snakemake.wildcards.get("part"):
            designs = some_designs(designs, int(snakemake.wildcards.part), int(snakemake.wildcards.parts))
        compile_year(parts)
        with telling(snakemake) as tell:
            counts = run_grid(parts, designs, workers=snakemake.threads, tell=tell)
        demand = yearly_budget(parts.appliances, parts.climate).sum() / 1000.0
        table = grid_table(designs, counts, parts.parameter_draw, demand, study.engine.seed, study.target)
    if not snakemake.wildcards.get("part"):
        table = with_lives(table, parts, snakemake.threads)
    write_table(snakemake.output[0], table)
