"""What it brings that people save while the monitor reads low."""

import pandas as pd

from darkspell.core.atomic_files import write_table
from darkspell.pipeline.script_context import job, telling
from darkspell.simulation.run import simulate
from darkspell.simulation.saving_on_reading import saving_table, year_with_saving
from darkspell.simulation.stored import load_system

with job(snakemake) as (_, study), telling(snakemake) as tell:
    base = pd.read_csv(snakemake.input.members)
    parts = load_system(study, snakemake.input.sites)
    other = simulate(parts, autonomy=False, workers=snakemake.threads, tell=tell, year=year_with_saving)
    table = saving_table(base, other.members, other.feedback, parts.parameter_draw, study.engine.seed)
    write_table(snakemake.output[0], table)
