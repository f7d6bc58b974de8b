"""Loads that a monitor's reading disconnects: the only way in which a monitor acts on the bank.

Loads are disconnected in an hour if the reading at the end of the hour before says so; see
`darkspell.simulation.settle`. What `PASSES` passes leave unsettled is counted.
"""

from dataclasses import replace

import numpy as np

from darkspell.monitor.all_monitors import readings
from darkspell.simulation.run import Year, simulate
from darkspell.simulation.settle import iterate_until_settled
from darkspell.statistics.bounded_means import bounded_intervals, event_size
from darkspell.statistics.registry import mean_units

PASSES = 400
COUNTS = mean_units(("disconnects", "disconnected_h"))
WRONG = mean_units(
    ("early_disconnects", "early_lost_kwh", "late_disconnects", "late_h", "late_beyond_planning_pct")
)
UNSETTLED = "unsettled_h"
COLUMNS = (
    "monitor", "statistic", "unit", "without", "by_truth", "by_reading", "difference", "low", "high", "verdict"
)  # fmt: skip


def true_charge(system, bank, traces, members):
    """State of charge as a monitor without errors reads it.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    bank : darkspell.bank.bank_results.BankBlock
    traces : darkspell.simulation.input_series.TraceBlock
    members : int array [lanes]

    Returns
    -------
    float32 array [8760, lanes]
        State of charge [-].
    """
    return bank.soc


def reading_of(name):
    """Function that gives the reading of one monitor.

    Parameters
    ----------
    name : str
        Name of the monitor in the study.

    Returns
    -------
    callable
        With the arguments and the result of `true_charge`.
    """

    def read(system, bank, traces, members):
        monitor = {name: system.study.monitors[name]}
        return readings(system.study, system.chemistry, bank, traces, members, monitor)[name].soc

    return read


def disconnecting(rule, read):
    """A simulation's year in which a reading disconnects loads.

    Parameters
    ----------
    rule : darkspell.study.monitors.Disconnect
    read : callable
        As `true_charge`: what the disconnection follows.

    Returns
    -------
    callable
        From ``(system, members, parameter_draw)`` to a `darkspell.simulation.run.Year`, whose ``feedback``
        holds `COUNTS`, `WRONG` and `UNSETTLED`. Energy that is withheld counts as unserved.
    """

    def year(system, members, parameter_draw):
        traces = system.traces(members, parameter_draw)

        def respond(connected):
            bank = _run(system.bank, traces, connected, rule.loads)
            return connected_by(read(system, bank, traces, members), rule), bank

        start = np.ones(traces.mpp.shape, bool)
        connected, bank, unsettled = iterate_until_settled(respond, start, PASSES)
        asked = traces.deferrable if rule.loads == "deferrable" else traces.essential + traces.deferrable
        planning = system.study.bank.planning_depth_pct / 100.0
        counts = judged(connected, bank, asked, rule, planning)
        return Year(traces, bank, counts | {UNSETTLED: unsettled.sum(0)})

    return year


def run_disconnects(system, workers=None):
    """Run a study's years with each of its disconnections, following the true charge and the reading.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    workers : int, optional

    Returns
    -------
    dict
        As `disconnects_table` takes it.
    """

    def years(rule, read):
        result = simulate(system, autonomy=False, workers=workers, year=disconnecting(rule, read))
        return result.members | result.feedback

    study = system.study
    rules = {name: study.monitors[name].disconnect for name in study.disconnects}
    return {name: (years(rule, true_charge), years(rule, reading_of(name))) for name, rule in rules.items()}


def _run(run, traces, connected, loads):
    """A year with loads disconnected where `connected` is false."""
    if connected.all():
        return run(traces)
    part = {"deferrable": np.where(connected, traces.deferrable, np.float32(0.0))}
    if loads == "all":
        part["essential"] = np.where(connected, traces.essential, np.float32(0.0))
        part["peak"] = np.where(connected, traces.peak, traces.always)
    bank = run(replace(traces, **part))
    withheld = {
        f"unserved_{tier}": getattr(bank, f"unserved_{tier}") + (getattr(traces, tier) - part[tier])
        for tier in ("essential", "deferrable")
        if tier in part
    }
    if bank.unserved_critical is not None and loads == "all":
        denied = np.where(connected, np.float32(0.0), traces.critical)
        withheld["unserved_critical"] = bank.unserved_critical + denied
    return bank._replace(**withheld)


def connected_by(reading, rule):
    """Whether the reading at the end of the hour before leaves loads connected.

    Parameters
    ----------
    reading : float array [8760, lanes]
        [-]
    rule : darkspell.study.monitors.Disconnect

    Returns
    -------
    bool array [8760, lanes]
        The year begins as it ended.
    """
    low, well = reading < rule.below_soc_pct / 100.0, reading >= rule.above_soc_pct / 100.0
    hour = np.arange(len(reading), dtype=np.int32)[:, None]
    last = np.maximum.accumulate(np.where(low | well, hour, np.int32(-1)), axis=0)
    out = np.take_along_axis(well, np.maximum(last, 0), axis=0)
    ended = (last[-1] < 0) | out[-1]
    out = np.where(last < 0, ended, out)
    return np.roll(out, 1, axis=0)


def judged(connected, bank, asked, rule, planning):
    """How often, and at what cost, the reading disconnects too early or too late.

    Early: loads are disconnected while the bank holds its level or more. What is lost by it is the energy that
    the bank then holds above the level, or what is withheld until they are connected again, if that is less.
    Late: loads are connected though the same rule, going by the bank's true charge, would have disconnected them.

    Parameters
    ----------
    connected : bool array [8760, lanes]
    bank : darkspell.bank.bank_results.BankBlock
    asked : float array [8760, lanes]
        What the disconnection can withhold [W].
    rule : darkspell.study.monitors.Disconnect
    planning : float
        Planning depth [-].

    Returns
    -------
    dict of arrays [lanes]
        `COUNTS` and `WRONG`; ``late_beyond_planning_pct`` is how far beyond the planning
        depth the bank goes at most while the disconnection is late [points].
    """
    off, late = ~connected, connected & ~connected_by(bank.soc, rule)
    level = rule.below_soc_pct / 100.0
    before = np.roll(bank.soc, 1, axis=0) - level
    early = off & ~np.roll(off, 1, axis=0) & (before >= 0.0)
    beyond = np.where(late, np.maximum(1.0 - bank.soc - planning, 0.0), 0.0)
    left = before * (bank.capacity * bank.capacity_factor) * np.roll(bank.voltage, 1, axis=0)
    return {
        "disconnects": _starts(off),
        "disconnected_h": off.sum(0),
        "early_disconnects": early.sum(0),
        "early_lost_kwh": _lost(early, left, np.where(off, asked, 0.0), off) / 1000.0,
        "late_disconnects": _starts(late),
        "late_h": late.sum(0),
        "late_beyond_planning_pct": 100.0 * beyond.max(0),
    }


def _lost(early, left, withheld, off):
    """Energy lost by early disconnections of each lane [Wh]."""
    total = np.zeros(early.shape[1])
    for lane in np.flatnonzero(early.any(0)):
        up_to = np.cumsum(np.r_[withheld[:, lane], withheld[:, lane]], dtype=float)  # past the year's end
        on = np.flatnonzero(~np.r_[off[:, lane], off[:, lane]])
        for start in np.flatnonzero(early[:, lane]):
            end = on[np.searchsorted(on, start)] - 1
            total[lane] += min(left[start, lane], up_to[end] - up_to[start] + withheld[start, lane])
    return total


def _starts(hours):
    """Runs of hours, those that pass the year's end counted once."""
    return (hours & ~np.roll(hours, 1, axis=0)).sum(0) + hours.all(0)


def disconnects_table(base, runs, parameter_draw, seed=0):
    """Rows of disconnects.csv: the year without a disconnection, with one that goes by the truth, and by the reading.

    Parameters
    ----------
    base : mapping of float arrays [members]
        Statistics of the members without any.
    runs : dict
        By monitor, a pair (by truth, by reading) of such mappings, `COUNTS` and `WRONG` included.
    parameter_draw : int array [members]
    seed : int

    Returns
    -------
    pandas.DataFrame
        `COLUMNS`; ``difference`` is that of the reading against the truth, with its 95 % interval. What the
        truth cannot be, early or late, is bounded below by zero; what is
        left unsettled has no interval.
    """
    import pandas as pd

    from darkspell.core.rounding import significant
    from darkspell.statistics.intervals import difference_interval, verdict
    from darkspell.statistics.paired_comparison import COMPARED

    demand, rows = float(np.mean(base["demand_kwh"])), []
    for monitor, (right, read) in runs.items():
        for name, unit in (COMPARED | COUNTS).items():
            a, b = (np.asarray(values[name], float) for values in (right, read))
            size = event_size(name, demand) if name in COMPARED else 1.0
            low, high = difference_interval(a, b, parameter_draw, seed=seed, unit_size=size)
            without = np.mean(base[name]) if name in COMPARED else 0.0
            numbers = significant(np.array([without, a.mean(), b.mean(), (b - a).mean(), low, high], float))
            rows.append((monitor, name, unit, *numbers, verdict(low, high)))
        wrong = np.stack([read[name] for name in WRONG], axis=1)
        low, high, _ = bounded_intervals(wrong, parameter_draw, list(WRONG), demand, seed)
        for (name, unit), mean, *bounds in zip(WRONG.items(), wrong.mean(0), low, high, strict=True):
            numbers = significant(np.array([0.0, 0.0, mean, mean, *bounds], float))
            rows.append((monitor, name, unit, *numbers, verdict(*bounds)))
        left = (values[UNSETTLED].mean() for values in (right, read))
        rows.append((monitor, UNSETTLED, "h/year", 0.0, *left, *[np.nan] * 3, ""))
    return pd.DataFrame(rows, columns=COLUMNS)
