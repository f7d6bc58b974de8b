"""Steps of the sweeps, from the what-ifs that they are, with their prices."""

from darkspell.core.atomic_files import write_table
from darkspell.core.table_reader import read_table
from darkspell.pipeline.script_context import job
from darkspell.report.tables.sweeps import sweeps_table

with job(snakemake) as (_, study):
    write_table(snakemake.output[0], sweeps_table(study, read_table(snakemake.input.whatifs)))
