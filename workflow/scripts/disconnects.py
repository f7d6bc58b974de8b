"""What a cut-out that hangs on a reading does, and how often the reading is wrong."""

import pandas as pd

from darkspell.core.atomic_files import write_table
from darkspell.pipeline.script_context import assembled, job
from darkspell.simulation.disconnect_on_reading import cut_outs_table, try_cut_outs

with job(snakemake) as (_, study):
    base = pd.read_csv(snakemake.input.members)
    parts = assembled(study, snakemake.input.sites)
    runs = try_cut_outs(parts, workers=snakemake.threads)
    write_table(snakemake.output[0], cut_outs_table(base, runs, parts.parameter_draw, study.engine.seed))
