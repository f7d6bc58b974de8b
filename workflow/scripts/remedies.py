"""What would help, and what it costs, on the draws of the study."""

from darkspell.core.atomic_files import write_table
from darkspell.design.remedies import remedies_of, remedies_table
from darkspell.design.whatif_runner import run_whatifs
from darkspell.pipeline.script_context import job, telling
from darkspell.simulation.stored import load_system
from darkspell.statistics.registry import yearly_of
from darkspell.weather.site_sky import sky_of

with job(snakemake) as (_, study), telling(snakemake) as tell:
    parts = load_system(study, snakemake.input.sites)
    remedies = remedies_of(study)
    changes = {name: made for name, (made, _) in remedies.items()}
    rows = run_whatifs(parts, lambda one: (parts.climate, sky_of(one)), changes, snakemake.threads, tell)
    write_table(
        snakemake.output[0],
        remedies_table(rows, remedies, yearly_of(study.target.statistic), study.sizing.prices),
    )
