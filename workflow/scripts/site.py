"""Sun, clear sky and climate of a study's site, and of those that its what-ifs go to."""

from darkspell.climate import site_climate
from darkspell.pipeline.script_context import job
from darkspell.weather.site_sky import sky_of
from darkspell.weather.stored_sites import save_sites, site_key

with job(snakemake) as (path, study):
    sites = {}
    for one in [study, *(study.with_changes(changes) for changes in study.whatifs.values())]:
        key = site_key(one)
        if key not in sites:
            sites[key] = site_climate(one, path.parent), sky_of(one)
    save_sites(snakemake.output[0], sites)
