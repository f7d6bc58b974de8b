"""What would help, and what it costs, on the draws of the study."""

from darkspell.core.atomic_files import write_table
from darkspell.design.remedies import remedies_of, remedies_table
from darkspell.design.remedy_costs import with_yearly_cost
from darkspell.design.whatif_runner import run_whatifs
from darkspell.pipeline.script_context import job, telling
from darkspell.simulation.stored import load_system
from darkspell.statistics.registry import yearly_of
from darkspell.weather.site_sky import sky_of

with job(snakemake) as (_, study), telling(snakemake) as tell:
    parts = load_system(study, snakemake.input.sites)
    remedies = remedies_of(study)
    changes = {name: made for name, (made, _) in remedies.items()}

    def site_of(one):
        return parts.climate, sky_of(one)

    rows = run_whatifs(parts, site_of, changes, snakemake.threads, tell)
    table = remedies_table(rows, remedies, yearly_of(study.target.statistic), study.sizing.prices)
    write_table(snakemake.output[0], with_yearly_cost(table, parts, site_of, remedies, snakemake.threads))
