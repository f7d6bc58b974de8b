"""What a log shows without any inference: lowest voltage, full charges, energy by week, nights without rows."""

from dataclasses import dataclass

import numpy as np

from darkspell.log_analysis.reader import stamp

NIGHT_GAP_H = 1.5


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
class Overview:
    """What a log shows by itself.

    Parameters
    ----------
    lowest_voltage, lowest_at : float, str
        [V]; NaN and empty without a voltage.
    cut_off : float
        The study's [V].
    hours_below : float
        Time with a voltage below it [h].
    lowest_soc, lowest_soc_at : float, str
        Reading [-].
    days : int
    full_days : int or None
        Days that reached the full-charge mark; None where no column shows it.
    full_mark : str
        What counts as full, in words.
    longest_gap : (int, datetime64, datetime64) or None
        Longest run of days without a full charge, first and last of them.
    weeks : list of Week
    nights, nights_stopped : int
        Nights of the log, and those in which logging stopped.
    step_s : float
        Usual time between rows [s].
    """

    lowest_voltage: float
    lowest_at: str
    cut_off: float
    hours_below: float
    lowest_soc: float
    lowest_soc_at: str
    days: int
    full_days: int | None
    full_mark: str
    longest_gap: tuple | None
    weeks: list
    nights: int
    nights_stopped: int
    step_s: float


def overview(rows, hours, dark, cut_off, full_voltage):
    """Overview of a log.

    Parameters
    ----------
    rows : darkspell.log_analysis.reader.Rows
    hours : darkspell.log_analysis.hourly_means.LogHours
    dark : bool array [H]
        Hours in which the sun is down.
    cut_off, full_voltage : float
        Voltage of load disconnection, and above which the monitor may call the bank full [V].

    Returns
    -------
    Overview
    """
    volts, soc = rows.values.get("voltage"), rows.values.get("soc")
    lowest, lowest_at, below = np.nan, "", 0.0
    if volts is not None and np.isfinite(volts).any():
        at = int(np.nanargmin(volts))
        lowest, lowest_at = float(volts[at]), stamp(rows.seconds[at])
        below = time_below(rows.seconds, volts, cut_off)
    low_soc, low_soc_at = np.nan, ""
    if soc is not None and np.isfinite(soc).any():
        at = int(np.nanargmin(soc))
        low_soc, low_soc_at = float(soc[at]), stamp(rows.seconds[at])
    full, mark = full_by_day(rows, hours, full_voltage)
    night, stopped = nights(rows.seconds, hours, dark)
    return Overview(
        lowest, lowest_at, cut_off, below, low_soc, low_soc_at, hours.dates.size,
        None if full is None else int(full.sum()), mark, None if full is None else longest_without(full, hours.dates),
        weeks(hours), night, stopped, float(np.median(np.diff(rows.seconds))),
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
    """
    good = np.isfinite(values)
    seconds, values = seconds[good], values[good]
    if seconds.size < 2:
        return 0.0
    steps = np.diff(seconds, append=seconds[-1])
    steps = np.minimum(steps, 2.0 * np.median(steps[:-1]))
    return float(steps[values < limit].sum() / 3600.0)


def full_by_day(rows, hours, full_voltage):
    """Days that were full by the reading, else by the voltage; bool [days] or None, and the mark in words.

    Parameters
    ----------
    rows : Rows
    hours : LogHours
    full_voltage : float
        Voltage from which the monitor takes the bank as full [V].
    """
    first = hours.dates[0].astype("datetime64[s]").astype(float)
    day = ((rows.seconds - first) // 86400.0).astype(int)
    span = int((hours.dates[-1] - hours.dates[0]).astype(int)) + 1
    keep = (hours.dates - hours.dates[0]).astype(int)
    inside = (day >= 0) & (day < span)
    if "soc" in rows.values:
        at = inside & (rows.values["soc"] >= 0.995)
        return (np.bincount(day[at], minlength=span) > 0)[keep], "the reading at 100 %"
    if "voltage" not in rows.values:
        return None, ""
    step = np.minimum(np.diff(rows.seconds, append=rows.seconds[-1]), 3600.0)
    at = inside & (rows.values["voltage"] >= full_voltage)
    held = np.bincount(day[at], step[at], minlength=span)
    return (held >= 900.0)[keep], f"{full_voltage:.1f} V or more for a quarter of an hour"


def longest_without(full, dates):
    """Longest run of days without a full charge: count, first and last date; None if each day has one.

    Parameters
    ----------
    full : bool [days]
    dates : datetime64[D] [days]
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


def nights(seconds, hours, dark):
    """Nights of the log, and those in which logging stopped for an hour and a half or more; two ints.

    Parameters
    ----------
    seconds : float64 [rows]
        Time of each row [s].
    hours : LogHours
    dark : bool [H]
        Hours without sun.
    """
    first = hours.dates[0].astype("datetime64[s]").astype(float)
    hour = ((seconds - first) // 3600.0).astype(int)
    step = np.diff(seconds)
    usual = float(np.median(step))
    gaps = np.flatnonzero(step > max(3600.0 * NIGHT_GAP_H, 3.0 * usual))
    begun = hour[gaps]
    begun = begun[(begun >= 0) & (begun < dark.size)]
    # A night has the number of the noon before it.
    stopped = np.unique((begun[dark[begun]] - 12) // 24)
    return max(hours.dates.size, 1), int(stopped.size)
