"""What a cut-out that hangs on a reading does, and how often the reading is wrong."""

import pandas as pd

from darkspell.core.atomic_files import write_table
from darkspell.pipeline.script_context import job
from darkspell.simulation.disconnect_on_reading import disconnects_table, run_disconnects
from darkspell.simulation.stored import load_system

with job(snakemake) as (_, study):
    base = pd.read_csv(snakemake.input.members)
    parts = load_system(study, snakemake.input.sites)
    runs = run_disconnects(parts, workers=snakemake.threads)
    write_table(snakemake.output[0], disconnects_table(base, runs, parts.parameter_draw, study.engine.seed))
