"""Every year of the study's own design, reduced to its tables."""

from darkspell.bank.causes import main_cause_headline
from darkspell.bank.maintenance import asked_of_owner
from darkspell.chemistry.bank_draws import bank_draws
from darkspell.core.atomic_files import write_json, write_table
from darkspell.design.cause_remedies import try_remedies
from darkspell.design.requirements import chance_headline
from darkspell.monitor.settings_comparison import kinds_table, settings_table, try_variants
from darkspell.pipeline.script_context import job, telling
from darkspell.pipeline.stored_parts import load_part
from darkspell.pv.controller_curve import standing_draws
from darkspell.report.tables.energy_sources import alternator_hours, sources_table
from darkspell.report.tables.expected_year import expected_year
from darkspell.report.tables.hourly_dataset import hourly_dataset, write_dataset
from darkspell.report.tables.main import autonomy_table, events_table, members_table, months_table
from darkspell.report.tables.monitors import error_percentiles_table, monitors_table
from darkspell.report.tables.snow import snow_table
from darkspell.report.tables.uncertainty import uncertainty_table
from darkspell.simulation.run import merged, simulate
from darkspell.simulation.stored import load_system
from darkspell.statistics.event_lengths import lengths_table
from darkspell.statistics.recovery import recovery_table
from darkspell.statistics.summary import summary

with job(snakemake) as (_, study):
    parts = load_system(study, snakemake.input.sites)
    if snakemake.input.get("pieces"):
        result = merged(map(load_part, snakemake.input.pieces))
    else:
        with telling(snakemake) as tell:
            result = simulate(parts, workers=snakemake.threads, tell=tell)
    parameter_draw, seed, out = parts.parameter_draw, study.engine.seed, snakemake.output
    write_table(out.members, members_table(result.members, parameter_draw))
    write_table(out.events, events_table(result.events, parts.calendar))
    demand = result.members["demand_kwh"].mean()
    write_table(out.lengths, lengths_table(result.events, parts.members, parameter_draw, demand, seed))
    write_table(out.months, months_table(result.months, parameter_draw, parts.calendar, seed))
    write_table(out.autonomy, autonomy_table(result.autonomy, parameter_draw))
    recovery = result.recovery["empty"], result.spells
    write_table(out.recovery, recovery_table(*recovery, parameter_draw, parts.calendar, seed))
    write_table(out.sources, sources_table(parts, result.months, result.sources))
    write_table(out.snow, snow_table(parts))
    kinds = {name: monitor.kind for name, monitor in study.monitors.items()}
    write_table(out.monitors, monitors_table(result.monitors, kinds, parameter_draw, seed))
    write_table(out.error_percentiles, error_percentiles_table(result.errors, parts.calendar))
    capacities = study.bank.capacity_ah, study.monitors[study.monitor].capacity_set_ah
    write_table(out.expected, expected_year(result.members, result.months, parts.calendar, *capacities))
    tried = try_variants(parts, workers=snakemake.threads)
    write_table(out.settings, settings_table(study, *tried, parameter_draw, seed))
    write_table(out.kinds, kinds_table(*tried, parameter_draw, seed))
    write_dataset(out.hourly, hourly_dataset(result, parts))
    drawn = [*bank_draws(study.bank, parameter_draw, seed), standing_draws(parameter_draw, seed)]
    write_table(
        out.uncertainty, uncertainty_table(result.members, parameter_draw, study.climate.source, drawn)
    )
    asked = asked_of_owner(study, result.members) | alternator_hours(parts, result.sources)
    headlines = summary(result.members, result.autonomy, parameter_draw, seed, asked)
    chance, cause = chance_headline(study, result, parameter_draw), main_cause_headline(result.members)
    if cause and 100.0 * chance["probability_met"]["value"] < study.target.chance_pct:
        name = cause["main_cause"]["cause"]
        tried = try_remedies(parts, lambda _: (parts.climate, parts.sky), name, snakemake.threads)
        cause["main_cause"]["remedies"] = tried
    write_json(out.summary, headlines | chance | cause)
