"""Every year of the study's own design, reduced to its tables."""

from darkspell.array.snowed import snow_table
from darkspell.bank.care import asked_of_owner
from darkspell.chargers.brought import alternator_hours, sources_table
from darkspell.files import write_json, write_table
from darkspell.hourly import hourly_dataset, write_dataset
from darkspell.jobs import assembled, job, telling
from darkspell.monitor.expected import expected_year
from darkspell.monitor.fitting import kinds_table, settings_table, try_variants
from darkspell.monitor.table import drift_table, monitors_table
from darkspell.parts import load_part
from darkspell.simulate import merged, simulate
from darkspell.statistics.doubt import doubt_table
from darkspell.statistics.headlines import summary
from darkspell.statistics.lengths import lengths_table
from darkspell.statistics.recovery import recovery_table
from darkspell.statistics.tables import autonomy_table, events_table, members_table, months_table

with job(snakemake) as (_, study):
    parts = assembled(study, snakemake.input.sites)
    if snakemake.input.get("pieces"):
        result = merged(map(load_part, snakemake.input.pieces))
    else:
        with telling(snakemake) as tell:
            result = simulate(parts, workers=snakemake.threads, tell=tell)
    world, seed, out = parts.world, study.engine.seed, snakemake.output
    write_table(out.members, members_table(result.members, world))
    write_table(out.events, events_table(result.events, parts.calendar))
    demand = result.members["demand_kwh"].mean()
    write_table(out.lengths, lengths_table(result.events, parts.members, world, demand, seed))
    write_table(out.months, months_table(result.months, world, parts.calendar, seed))
    write_table(out.autonomy, autonomy_table(result.autonomy, world))
    recovery = result.recovery["empty"], result.spells
    write_table(out.recovery, recovery_table(*recovery, world, parts.calendar, seed))
    write_table(out.sources, sources_table(parts, result.months, result.sources))
    write_table(out.snow, snow_table(parts))
    kinds = {name: monitor.kind for name, monitor in study.monitors.items()}
    write_table(out.monitors, monitors_table(result.monitors, kinds, world, seed))
    write_table(out.drift, drift_table(result.errors, parts.calendar))
    capacities = study.bank.capacity_ah, study.monitors[study.monitor].capacity_set_ah
    write_table(out.expected, expected_year(result.members, result.months, parts.calendar, *capacities))
    tried = try_variants(parts, workers=snakemake.threads)
    write_table(out.settings, settings_table(study, *tried, world, seed))
    write_table(out.kinds, kinds_table(*tried, world, seed))
    write_dataset(out.hourly, hourly_dataset(result, parts.calendar, study))
    write_table(out.doubt, doubt_table(result.members, world, study.climate.source))
    asked = asked_of_owner(study, result.members) | alternator_hours(parts, result.sources)
    write_json(out.summary, summary(result.members, result.autonomy, world, seed, asked))
