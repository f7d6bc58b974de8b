"""Inputs with their hashes, versions, and the source of every constant."""

from darkspell.core.atomic_files import write_json
from darkspell.pipeline.provenance import provenance
from darkspell.pipeline.script_context import job

with job(snakemake) as entry:
    write_json(snakemake.output[0], provenance(*entry))
