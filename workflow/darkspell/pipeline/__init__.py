"""All that knows Snakemake: stages, job parts, progress, provenance."""
