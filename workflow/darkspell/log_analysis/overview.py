"""What a log shows without any inference: lowest voltage, full charges, energy by week, gaps, a bank run down."""

from dataclasses import dataclass

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.log_gaps import Gaps, gaps
from darkspell.log_analysis.reader import stamp

DAILY_S = 72000.0  # s; rows further apart are daily values
HOURLY_S = 3700.0  # s; rows further apart show no hour at full charge
FULL_S = 900.0  # s; how long a voltage counts as full, and the widest rows that show it


@dataclass(frozen=True)
class Week:
    """Charge and energy of seven days: first date, Ah in and out, Wh in and out, hours logged."""

    first: np.datetime64
    ah_in: float
    ah_out: float
    wh_in: float
    wh_out: float
    hours: int


@dataclass(frozen=True)
class RunDown:
    """A bank that hardly charged while the log lasted: medians of its first and last day, and its bounds [V].

    Parameters
    ----------
    first, last, highest : float
        Median of the first day, of the last day, and highest voltage [V].
    full_at_rest : float
        What a bank that is full shows at rest [V].
    lead : bool
        Whether it is lead-acid, which a low charge damages.
    """

    first: float
    last: float
    highest: float
    full_at_rest: float
    lead: bool


@dataclass(frozen=True)
class Overview:
    """What a log shows by itself.

    Parameters
    ----------
    lowest_voltage, lowest_at : float, str
        [V]; NaN and empty without a voltage, or where rows are a day apart.
    voltages : (float, float, float)
        Lowest, median and highest value [V]; NaN without a voltage.
    cut_off : float
        The study's [V].
    hours_below : float
        Time with a voltage below it [h]; NaN where rows are too far apart to show it.
    lowest_soc, lowest_soc_at : float, str
        Reading [-].
    days : int
    full_days : int or None
        Days that reached the full-charge mark; None where no column shows it, or not often enough.
    full_mark : str
        What counts as full, in words.
    longest_gap : (int, datetime64, datetime64) or None
        Longest run of days without a full charge, first and last of them.
    weeks : list of Week
    gaps : Gaps
    step_s : float
        Usual time between rows [s].
    means : bool
        Whether rows are known to be means.
    run_down : RunDown or None
        None unless the bank hardly charged.
    """

    lowest_voltage: float
    lowest_at: str
    voltages: tuple
    cut_off: float
    hours_below: float
    lowest_soc: float
    lowest_soc_at: str
    days: int
    full_days: int | None
    full_mark: str
    longest_gap: tuple | None
    weeks: list
    gaps: Gaps
    step_s: float
    means: bool
    run_down: RunDown | None


def overview(rows, hours, dark, cut_off, full_voltage, chemistry, nominal):
    """Overview of a log.

    Parameters
    ----------
    rows : darkspell.log_analysis.reader.Rows
    hours : darkspell.log_analysis.hourly_means.LogHours
    dark : bool array [H]
        Hours in which the sun is down.
    cut_off, full_voltage : float
        Voltage of load disconnection, and above which the monitor may call the bank full [V].
    chemistry : str
        Of the bank.
    nominal : float
        Its nominal voltage [V].

    Returns
    -------
    Overview
    """
    step = float(np.median(np.diff(rows.seconds)))
    volts, soc = rows.values.get("voltage"), rows.values.get("soc")
    lowest, lowest_at, below, voltages = np.nan, "", 0.0, (np.nan,) * 3
    if volts is not None and np.isfinite(volts).any():
        voltages = tuple(float(one) for one in np.nanquantile(volts, (0.0, 0.5, 1.0)))
        below = time_below(rows.seconds, volts, cut_off) if step <= HOURLY_S else np.nan
        if step < DAILY_S:
            at = int(np.nanargmin(volts))
            lowest, lowest_at = float(volts[at]), stamp(rows.seconds[at])
    low_soc, low_soc_at = np.nan, ""
    if soc is not None and np.isfinite(soc).any() and step < DAILY_S:
        at = int(np.nanargmin(soc))
        low_soc, low_soc_at = float(soc[at]), stamp(rows.seconds[at])
    full, mark = full_by_day(rows, hours, full_voltage) if step <= HOURLY_S else (None, "")
    return Overview(
        lowest, lowest_at, voltages, cut_off, below, low_soc, low_soc_at, hours.dates.size,
        None if full is None else int(full.sum()), mark, None if full is None else longest_without(full, hours.dates),
        weeks(hours), gaps(rows.seconds, hours, dark), step, rows.kind == "means",
        run_down(rows, hours, step, chemistry, nominal),
    )  # fmt: skip


def time_below(seconds, values, limit):
    """Time with values below a limit [h]; a sample counts until the next one, at most two usual steps.

    Parameters
    ----------
    seconds : array
        Times of the samples [s].
    values : array
    limit : float
        In the unit of the values.

    Returns
    -------
    float
    """
    good = np.isfinite(values)
    seconds, values = seconds[good], values[good]
    if seconds.size < 2:
        return 0.0
    steps = np.diff(seconds, append=seconds[-1])
    steps = np.minimum(steps, 2.0 * np.median(steps[:-1]))
    return float(steps[values < limit].sum() / 3600.0)


def full_by_day(rows, hours, full_voltage):
    """Days that were full by the reading, else by the voltage.

    A voltage shows it only where rows are at most a quarter of an hour apart.

    Parameters
    ----------
    rows : Rows
    hours : LogHours
    full_voltage : float
        Voltage from which the monitor takes the bank as full [V].

    Returns
    -------
    full : bool array [days] or None
    mark : str
        What counts as full, in words.
    """
    first = hours.dates[0].astype("datetime64[s]").astype(float)
    day = ((rows.seconds - first) // 86400.0).astype(int)
    span = int((hours.dates[-1] - hours.dates[0]).astype(int)) + 1
    keep = (hours.dates - hours.dates[0]).astype(int)
    inside = (day >= 0) & (day < span)
    if "soc" in rows.values:
        at = inside & (rows.values["soc"] >= 0.995)
        return (np.bincount(day[at], minlength=span) > 0)[keep], "the reading at 100 %"
    if "voltage" not in rows.values or np.median(np.diff(rows.seconds)) > FULL_S:
        return None, ""
    step = np.minimum(np.diff(rows.seconds, append=rows.seconds[-1]), 3600.0)
    at = inside & (rows.values["voltage"] >= full_voltage)
    held = np.bincount(day[at], step[at], minlength=span)
    return (held >= FULL_S)[keep], f"{full_voltage:.1f} V or more for a quarter of an hour"


def longest_without(full, dates):
    """Longest run of days without a full charge.

    Parameters
    ----------
    full : bool [days]
    dates : datetime64[D] [days]

    Returns
    -------
    (int, datetime64, datetime64) or None
        Count, first and last date; None if each day has one.
    """
    best, run = (0, None, None), 0
    for at, one in enumerate(full):
        run = 0 if one else run + 1
        if run > best[0]:
            best = (run, dates[at - run + 1], dates[at])
    return best if best[0] else None


def weeks(hours):
    """Charge and energy of each seven days, where the log has a measured current; list of `Week`.

    Parameters
    ----------
    hours : LogHours
    """
    log = hours.log
    if not hours.measured_current:
        return []
    out, current = [], log.current.astype(float)
    power = current * log.voltage if log.has_voltage else np.full(current.size, np.nan)
    for start in range(0, current.size, 168):
        part, watts = current[start : start + 168], power[start : start + 168]
        known = np.isfinite(part)
        energy = np.isfinite(watts).any()
        out.append(
            Week(
                hours.dates[start // 24],
                float(np.nansum(np.maximum(part, 0.0))),
                float(-np.nansum(np.minimum(part, 0.0))),
                float(np.nansum(np.maximum(watts, 0.0))) if energy else np.nan,
                float(-np.nansum(np.minimum(watts, 0.0))) if energy else np.nan,
                int(known.sum()),
            )  # fmt: skip
        )
    return out


def run_down(rows, hours, step, chemistry, nominal):
    """Whether the bank hardly charged: never above a full bank at rest, and lower at the end; `RunDown` or None.

    Parameters
    ----------
    rows : Rows
    hours : LogHours
    step : float
        Usual time between rows [s].
    chemistry : str
    nominal : float
        [V].
    """
    volts = rows.values.get("voltage")
    if hours.short or volts is None or step > HOURLY_S or not np.isfinite(volts).any():
        return None
    good = np.isfinite(volts)
    seconds, volts = rows.seconds[good], volts[good]
    cells = nominal / 12.0 * constant("bank", chemistry, "cells_per_12v")
    level = constant("bank", chemistry, "ocv_v_cell")
    full = cells * float(np.interp(0.95, constant("bank", chemistry, "ocv_soc"), level))
    first = float(np.median(volts[seconds < seconds[0] + 86400.0]))
    last = float(np.median(volts[seconds > seconds[-1] - 86400.0]))
    fall = constant("log_analysis", "run_down_per_12v") * nominal / 12.0
    week = weeks(hours)
    charged = sum(one.ah_in for one in week) > 0.5 * sum(one.ah_out for one in week) if week else False
    if volts.max() >= full or first - last < fall or charged:
        return None
    lead = constant("bank", chemistry, "cells_per_12v") == 6
    return RunDown(first, last, float(volts.max()), full, lead)
