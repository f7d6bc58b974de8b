"""Simulate a study's own design over all members, and reduce each year to its statistics."""

from dataclasses import dataclass, fields
from threading import Lock
from typing import NamedTuple

import numpy as np

from darkspell.bank.causes import shortfall_causes
from darkspell.bank.maintenance import bank_care, equalising, generator_use
from darkspell.bank.part_series import SERIES, SHARES, series_count
from darkspell.bank.run_years import FROM_FULL, NEVER, run_members, run_until
from darkspell.chemistry.bank_draws import known_bank
from darkspell.core.batches import LANES, no_power, over_batches
from darkspell.core.calendar import DAYS
from darkspell.core.constants import constant
from darkspell.core.jit import on_disk
from darkspell.monitor.all_monitors import error_statistics, readings
from darkspell.monitor.reading_errors import classes_since_full, joint_counts
from darkspell.simulation.charger_energy import taken_from_chargers
from darkspell.simulation.input_series import TraceBlock
from darkspell.statistics.autonomy import HORIZON_DAYS, START_HOUR, start_hours
from darkspell.statistics.charge_summary import DAWN_HOUR, charge_summary, throughput
from darkspell.statistics.histogram import SocHistogram
from darkspell.statistics.recovery import RECOVERY_DAYS, recovery_spells
from darkspell.statistics.reliability import (
    LOSS_FLOOR,
    critical_losses,
    list_events,
    monthly_energy,
    monthly_means,
    reliability,
)

SHOWN = 6
READ_AS_FULL = constant("statistics", "read_as_full")
SHOWN_SERIES = ("shown_true", "shown_reported", "shown_sun", "shown_load")
ACROSS = ("autonomy", "recovery", *SHOWN_SERIES)  # members run across, not down


@dataclass(frozen=True)
class Simulation:
    """Statistics of a study's design, member by member.

    Parameters
    ----------
    members : dict of float arrays [members]
        Statistics of a year.
    months : dict of float arrays [members, 12]
        The same by calendar month, January first.
    monitors : dict of dict of float arrays [members]
        Error statistics of each monitor, by its name.
    events : dict of arrays [events]
        ``member``, ``start`` (hour of the study year), ``length`` [h] and ``energy`` [Wh] of every run of
        hours with unserved essential load; empty if not asked for.
    autonomy : dict of int arrays [36, members]
        Hours to the first unserved one from each start, ``with_sun`` and ``dark``; empty if not asked for.
    recovery : dict of int array [36, members]
        ``empty``: hours from an empty bank to a full one from each start; empty if not asked for.
    spells : dict of int arrays [spells]
        ``member``, ``start`` and ``length`` [h] from each deep dawn or cut-off to the next full charge, see
        `darkspell.statistics.recovery.Spells`; empty if not asked for.
    sources : dict of float arrays [members, 12]
        Energy that the other chargers offered and that was taken, see `darkspell.simulation.charger_energy`.
    feedback : dict of arrays [members]
        What a reading that acts on the loads brought, see `Year`; empty without one.
    errors : dict of int arrays [classes since full, 12, bins]
        Hours of all members by error of each monitor, see `darkspell.monitor.reading_errors.joint_counts`.
    soc_true, soc_reported : SocHistogram or None
    shown_true, shown_reported : float32 arrays [8760, shown]
        State of charge of the first few members, whole.
    shown_sun, shown_load : float32 arrays [8760, shown]
        Power that their arrays offer at the bank, and that their loads ask for [W].
    """

    members: dict
    months: dict
    monitors: dict
    events: dict
    autonomy: dict
    recovery: dict
    spells: dict
    sources: dict
    feedback: dict
    errors: dict
    soc_true: SocHistogram | None
    soc_reported: SocHistogram | None
    shown_true: np.ndarray
    shown_reported: np.ndarray
    shown_sun: np.ndarray
    shown_load: np.ndarray


class Year(NamedTuple):
    """A year of some members, before it is reduced to statistics.

    Parameters
    ----------
    traces : darkspell.simulation.input_series.TraceBlock
    bank : darkspell.bank.bank_results.BankBlock
    feedback : dict of arrays [lanes]
        What a feedback counted; empty without one.
    """

    traces: TraceBlock
    bank: object
    feedback: dict


def plain_year(system, members, parameter_draw):
    """One year in which no reading acts on the loads.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    members, parameter_draw : int arrays [lanes]

    Returns
    -------
    Year
    """
    traces = system.traces(members, parameter_draw)
    return Year(traces, system.bank(traces), {})


def simulate(system, autonomy=True, workers=None, tell=None, year=plain_year):
    """Run the study's own design over all its members.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    autonomy : bool
        Whether to walk the starts of autonomy and recovery, list events and count state of charge by hour as well.
    workers, tell
        As in `darkspell.core.batches.over_batches`.
    year : callable
        As `plain_year`; another one where a reading acts on the loads.

    Returns
    -------
    Simulation
    """
    counted = (SocHistogram(), SocHistogram(), {}, Lock()) if autonomy else None

    def work(members, parameter_draw, count):
        return _batch(system, members, parameter_draw, count, counted, year(system, members, parameter_draw))

    parts = over_batches(work, system, workers, tell)
    return merged(
        [Simulation(**part, errors={}, soc_true=None, soc_reported=None) for part in parts], counted
    )


def merged(parts, counted=None):
    """Simulations of consecutive members as one.

    Parameters
    ----------
    parts : iterable of Simulation
        In the order of their members; each is released once it is merged.
    counted : tuple, optional
        Histograms of true and reported state of charge; added up from those of the parts if not given.

    Returns
    -------
    Simulation
    """
    kept = ("soc_true", "soc_reported", "errors")
    names = [field.name for field in fields(Simulation) if field.name not in kept]
    columns = {name: [] for name in names}
    sums, errors = None if counted else [None, None], counted[2] if counted else {}
    for part in parts:
        for name in names:
            columns[name].append(getattr(part, name))
        _add_counts(errors, part.errors)
        if sums is not None:
            sums = [_added(*pair) for pair in zip(sums, (part.soc_true, part.soc_reported), strict=True)]
    true, reported = (sums or counted)[:2]
    arrays = {name: _joined(columns[name], 1 if name in ACROSS else 0) for name in names}
    return Simulation(**arrays, errors=errors, soc_true=true, soc_reported=reported)


def simulate_batch(system, members, parameter_draw, count, traces, autonomy=False):
    """Simulate one batch whose input series are given; see `simulate`.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    members, parameter_draw : int arrays [lanes]
    count : int
        Members of the batch that are real; the others are padding.
    traces : darkspell.simulation.input_series.TraceBlock
    autonomy : bool
        Whether to walk the starts of autonomy and share out the chargers' energy, as the headlines need.

    Returns
    -------
    Simulation
        Of the members that are real; without readings.
    """
    year = Year(traces, system.bank(traces), {})
    part = _batch(system, members, parameter_draw, count, None, year, autonomy)
    return Simulation(**part, errors={}, soc_true=None, soc_reported=None)


def compile_year(system):
    """Compile the kernels of bank and monitors on a year of zeros, unless they are in the cache.

    For a job that starts together with the members' job, which compiles the weather first.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    """
    if on_disk(run_members):
        return
    nothing = zero_block(system)
    members = np.arange(LANES)
    readings(system.study, system.chemistry, system.bank(nothing), nothing, members)
    _autonomy(system, nothing, 1)  # shares most of its parts with the bank's year: cheap in the same process


def zero_block(system):
    """Inputs of a year without sun and loads, of the arrays that the system's bank takes.

    Parameters
    ----------
    system : darkspell.simulation.system.System

    Returns
    -------
    darkspell.simulation.input_series.TraceBlock
    """
    none, days = no_power(LANES), np.zeros((LANES, DAYS))
    shares = [none] * (series_count(system.controls) - SERIES)
    more = tuple(shares[SHARES:])
    return TraceBlock(
        *[none] * 8, days, *[none] * 3, known_bank(LANES), *shares[:SHARES], critical_shares=more
    )


def _batch(system, members, parameter_draw, count, counted, year, autonomy=False):
    """Statistics of one batch of 64 lanes, of which `count` are members; state of charge goes to `counted`."""
    whole = counted is not None
    autonomy = autonomy or whole
    study, calendar = system.study, system.calendar
    traces, bank = year.traces, year.bank
    read = readings(study, system.chemistry, bank, traces, members)
    first = read[study.monitor][0]
    by_member, by_month = _statistics(study, calendar, traces, bank, first)
    causes, monthly_causes = shortfall_causes(
        bank, traces, system.per_ah_factors(), system.chemistry, calendar
    )
    by_member |= causes
    by_month |= monthly_causes
    since = (
        classes_since_full(bank.soc, constant("bank", study.bank.chemistry, "full_soc")) if whole else None
    )
    joint = {name: joint_counts() if whole else None for name in read}
    monitors = {
        name: error_statistics(study.monitors[name], calendar, bank, soc, since, joint[name], count) | counts
        for name, (soc, counts) in read.items()
    }
    for key in ("reading_error_mean_pct", "reading_error_p95_pct", "missed_warning_h", "false_alarm_h"):
        by_member[key] = monitors[study.monitor][key]
    by_member["discharge_counted_ah"] = read[study.monitor].counts["discharge_counted_ah"]
    if whole:
        *histograms, errors, lock = counted
        with lock:  # counts commute: the order of the batches leaves no trace
            for histogram, soc in zip(histograms, (bank.soc, first), strict=True):
                histogram.update(soc, count)
            _add_counts(errors, joint)
    sources = taken_from_chargers(system, members, parameter_draw, traces, bank) if autonomy else {}
    shown = min(max(SHOWN - int(members[0]), 0), count)
    return {
        "members": {key: values[:count] for key, values in by_member.items()},
        "months": {key: values[:count] for key, values in by_month.items()},
        "monitors": {
            name: {key: values[:count] for key, values in parts.items()} for name, parts in monitors.items()
        },
        "events": _events(bank, members, count) if whole else {},
        "autonomy": _autonomy(system, traces, count) if autonomy else {},
        "recovery": {"empty": _recovery(system, traces, count)} if whole else {},
        "spells": _spells(study, calendar, bank, members, count) if whole else {},
        "sources": {key: values[:count] for key, values in sources.items()},
        "feedback": {key: values[:count] for key, values in year.feedback.items()},
        "shown_true": bank.soc[:, :shown].copy(),
        "shown_reported": first[:, :shown].copy(),
        "shown_sun": (bank.array_used + bank.spilled)[:, :shown].copy(),
        "shown_load": (traces.all_essential + traces.deferrable)[:, :shown].copy(),
    }


def _statistics(study, calendar, traces, bank, reading):
    """Statistics of the years of a block, by member and by month."""
    by_member, by_month = reliability(
        bank.unserved_essential,
        bank.unserved_deferrable,
        traces.all_essential,
        traces.deferrable,
        calendar,
        study.short_night_floor_wh,
    )
    critical, critical_months = critical_losses(
        bank.unserved_essential, traces.essential, traces.critical, calendar, study.short_night_floor_wh,
        bank.unserved_critical,
    )  # fmt: skip
    by_member |= critical
    by_month |= critical_months
    full = constant("bank", study.bank.chemistry, "full_soc")
    true, true_months = charge_summary(bank.soc, calendar, full_soc=full)
    read, read_months = charge_summary(reading, calendar, full_soc=READ_AS_FULL)
    by_member["max_depth_true_pct"] = true["max_depth_pct"]
    by_member["max_depth_reported_pct"] = read["max_depth_pct"]
    for key in ("longest_full_charge_interval_days", "full_charges"):
        by_member[key] = true[key]
        by_member[f"{key.removesuffix('_days')}_reported{'_days' * key.endswith('_days')}"] = read[key]
    by_member |= throughput(bank.current, study.bank.capacity_ah)
    by_member |= bank_care(bank.soc, traces.temp_bank, study.bank.chemistry)
    by_member |= equalising(bank, study.bank.chemistry, study.cells)
    generator, generator_months = generator_use(bank, study.generator, calendar)
    by_member |= generator
    by_month |= generator_months
    for key, hours in (("array_kwh", bank.array_used), ("spilled_kwh", bank.spilled)):
        by_month[key] = monthly_energy(hours, calendar)
        by_member[key] = by_month[key].sum(axis=1)
    for kind, months in (("true", true_months), ("reported", read_months)):
        by_month[f"max_depth_{kind}_pct"] = months["max_depth_pct"]
        by_month[f"dawn_soc_{kind}_pct"] = months["dawn_soc_pct"]
    by_month["days_with_full_charge"] = true_months["days_with_full_charge"]
    by_month["clearness"] = monthly_means(traces.clearness, calendar)
    return by_member, by_month


def _events(bank, members, count):
    """Every event of a block, its lane turned into the member's number."""
    found = list_events(bank.unserved_essential[:, :count])._asdict()
    return found | {"member": members[found["member"]]}


def _spells(study, calendar, bank, members, count):
    """Every recovery of a block, its lane turned into the member's number."""
    full = constant("bank", study.bank.chemistry, "full_soc")
    depth = study.bank.planning_depth_pct / 100.0
    found = recovery_spells(
        bank.soc[:, :count], bank.unserved_essential[:, :count], calendar, np.float32(full), depth
    )
    return found._asdict() | {"member": members[found.member]}


def _recovery(system, traces, count):
    """Hours from dawn with an empty bank, its loads cut off, to a full one; int32 [36, count]."""
    starts, horizon = start_hours(system.calendar, DAWN_HOUR), RECOVERY_DAYS * 24
    full = np.float32(constant("bank", system.study.bank.chemistry, "full_soc"))
    chemistry = system.chemistry
    first = np.empty((starts.size, traces.mpp.shape[1]), np.int32)
    empty = chemistry.floor, np.float32(0.0)
    bank = traces.for_bank(), system.per_ah_factors(), system.controls, chemistry
    run_until(*bank, starts, empty, (horizon, NEVER, full), first)
    return np.minimum(first[:, :count] + 1, horizon)  # full at the end of that hour


def _autonomy(system, traces, count):
    """Hours of autonomy from each start, with the sun and without; int32 [36, count]."""
    starts = start_hours(system.calendar, START_HOUR)
    scales = system.per_ah_factors()
    loss = np.float32(LOSS_FLOOR) * scales[3]
    ends = HORIZON_DAYS * 24, loss, NEVER
    found = {}
    lit = traces.for_bank()
    dark = (*lit[:6], no_power(lit[0].shape[1]), *lit[7:])
    controls = system.controls
    if controls.extras is not None:  # in the dark no generator runs either
        still = controls._replace(extras=controls.extras._replace(power=np.float32(0.0)))
    else:
        still = controls
    for kind, share, given in (("with_sun", 1.0, lit), ("dark", 0.0, dark)):
        sun = (scales[0] * np.float32(share), scales[1] * np.float32(share), *scales[2:])
        first = np.empty((starts.size, traces.mpp.shape[1]), np.int32)
        switched = controls if share else still
        run_until(given, sun, switched, system.chemistry, starts, FROM_FULL, ends, first)
        found[kind] = first[:, :count]
    return found


def _joined(parts, axis):
    """Arrays end to end, dictionaries key by key."""
    if isinstance(parts[0], dict):
        return {key: _joined([part[key] for part in parts], axis) for key in parts[0]}
    return np.concatenate(parts, axis=axis)


def _add_counts(total, other):
    """Add counts to those of the same name."""
    for name, counts in other.items():
        total[name] = total[name] + counts if name in total else counts.astype(np.int64)


def _added(total, other):
    if total is None or other is None:
        return other
    total.merge(other)
    return total
