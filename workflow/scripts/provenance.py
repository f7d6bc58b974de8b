"""Inputs with their hashes, versions, and the source of every constant."""

from darkspell.files import write_json
from darkspell.jobs import job
from darkspell.provenance import provenance

with job(snakemake) as entry:
    write_json(snakemake.output[0], provenance(*entry))
