"""From rows to hours of the study's calendar, with what happened on the way listed."""

from dataclasses import dataclass

import numpy as np
from numba import njit

from darkspell.climate.record.record import day_of_year, leap_day
from darkspell.core.calendar import DAYS
from darkspell.core.errors import StudyError
from darkspell.log_analysis.log_events import flow_between_samples, reading_events

LEAST_DAYS = 3  # of a log that is compared with the study; a shorter one shows only what needs no inference


@dataclass(frozen=True)
class HourLog:
    """A log as hours of the study's calendar.

    Parameters
    ----------
    hours : int array [H]
        Hour of the study year of each row, in order, without gaps.
    current, voltage : float32 arrays [H]
        Means of the hour [A, V]; NaN where not known.
    has_current, has_voltage : bool
    """

    hours: np.ndarray
    current: np.ndarray
    voltage: np.ndarray
    has_current: bool = True
    has_voltage: bool = True

    @property
    def valid(self):
        """Hours with every column that the log has; bool [H]."""
        out = np.ones(self.hours.size, bool)
        if self.has_current:
            out &= np.isfinite(self.current)
        if self.has_voltage:
            out &= np.isfinite(self.voltage)
        return out


@dataclass(frozen=True)
class LogHours:
    """A log by the hour.

    Parameters
    ----------
    log : HourLog
    dates : datetime64[D] array [days]
        Days of the log, 29 February left out.
    soc : float64 array [H]
        Mean reading of the hour [-]; NaN where not known.
    jumps : bool array [H]
        Hours in which the reading jumped.
    flows : float64 array [H, 2]
        Charge in and out (negative) since the last sample of the hour before [Ah]; NaN where not known.
    temperature : float64 array [H]
        [degC]; NaN where not known.
    measured_current : bool
        Whether the current was measured (or follows from a measured power), not derived from the reading.
    current_sd : float
        Sampling error of an hour's mean current, standard deviation [A].
    events : list of str
        Jumps and resets in sentences.
    load_current, charge_current : float64 arrays [H] or None
        Means of the hour where both are logged apart [A].
    clipped : bool
        Whether the logger cuts the current off at its limit.
    resolution : float
        Step in which the current is written [A].
    assumed_voltage : bool
        Whether the current comes from a power and the bank's usual voltages.
    short : str
        Length of a log too short to be compared with the study, in words; empty for others.
    """

    log: HourLog
    dates: np.ndarray
    soc: np.ndarray
    jumps: np.ndarray
    flows: np.ndarray
    temperature: np.ndarray
    measured_current: bool
    current_sd: float
    events: list
    load_current: np.ndarray | None = None
    charge_current: np.ndarray | None = None
    clipped: bool = False
    resolution: float = 0.0
    assumed_voltage: bool = False
    short: str = ""


def hours_of(rows, calendar, nominal_voltage, capacity_set, charging_voltage=None):
    """Put a log's rows on the hours of the study's calendar.

    Parameters
    ----------
    rows : darkspell.log_analysis.reader.Rows
    calendar : darkspell.core.calendar.Calendar
    nominal_voltage, capacity_set : float
        For a current from a power (usual voltage of the bank) or from a state of charge alone [V, Ah].
    charging_voltage : float, optional
        Usual voltage of the bank while it is charged [V]; the other one if not given.

    Returns
    -------
    LogHours
    """
    seconds, values, notes = rows.seconds, dict(rows.values), []
    end = seconds[-1]
    if end - seconds[0] > DAYS * 86400.0:
        keep = seconds > end - DAYS * 86400.0
        seconds, values = seconds[keep], {kind: part[keep] for kind, part in values.items()}
        notes.append("The log is longer than a year; its last 365 days were read.")
    short = too_short(seconds)
    seconds, values = _without_last_midnight(seconds, values)
    first = np.floor(seconds[0] / 86400.0) * 86400.0
    days = int(np.ceil((seconds[-1] + 1.0 - first) / 86400.0))
    dates = np.datetime64(int(first), "s").astype("datetime64[D]") + np.arange(days)
    count = 24 * days
    means = {kind: hour_means(seconds - first, part, count) for kind, part in values.items()}
    last, jumps, told = reading_events(seconds, first, values, count)
    flows = flow_between_samples(seconds, first, values, count)
    usual = nominal_voltage, charging_voltage or nominal_voltage
    _derive_current(means, last, jumps, usual, capacity_set, notes)
    keep = np.repeat(~leap_day(dates), 24)[-DAYS * 24 :]
    start = count - keep.size
    dates = dates[~leap_day(dates)][-DAYS:]
    hours = (((day_of_year(dates) - 1 - calendar.first_day) % DAYS)[:, None] * 24 + np.arange(24)).ravel()
    nothing = np.full(count, np.nan)

    def cut(part):
        return part[start:][keep][-hours.size :]

    has = "current" in means, "voltage" in means
    current, voltage = (cut(means.get(kind, nothing)).astype(np.float32) for kind in ("current", "voltage"))
    log = HourLog(hours, current, voltage, *has)
    known = int(log.valid.sum())
    if known < (1 if short else 24 * LEAST_DAYS // 2):
        raise StudyError(
            f"{rows.name}: {f'only {known} hours have' if known else 'no hour has'} values; give a longer log"
        )
    return LogHours(
        log, dates, cut(means.get("soc", nothing)), cut(jumps), cut(flows),
        cut(means.get("temperature", nothing)), bool({"current", "power"} & set(values)),
        hour_errors(seconds, values, nominal_voltage), [*notes, *told],
        *(cut(means[kind]) if kind in means else None for kind in ("load_current", "charge_current")),
        assumed_voltage="power" in values and not {"current", "voltage"} & set(values), short=short,
    )  # fmt: skip


def too_short(seconds):
    """Length in words of a log shorter than `LEAST_DAYS`, by its length and not by its dates; empty for others.

    Parameters
    ----------
    seconds : float64 [rows]
        Rising [s].
    """
    length = seconds[-1] - seconds[0] + float(np.median(np.diff(seconds)))
    if length >= LEAST_DAYS * 86400.0 - 360.0:
        return ""
    for most, unit, name in ((120.0, 1.0, "seconds"), (7200.0, 60.0, "minutes")):
        if length < most:
            return f"{length / unit:.3g} {name}"
    return f"{length / 3600.0:.3g} hours"


def _without_last_midnight(seconds, values):
    """Rows without a last one at midnight: it ends the day before, and begins no day of its own."""
    step = float(np.median(np.diff(seconds)))
    if seconds[-1] % 86400.0 != 0.0 or step > 43200.0:
        return seconds, values
    return seconds[:-1], {kind: part[:-1] for kind, part in values.items()}


def hour_means(seconds, values, hours):
    """Means over hours of irregular samples.

    A sample stands for the time up to half way to its neighbours, and never for another hour than its own
    where that hour has samples: between two hours the edge parts them. Held over the edge, each hour would
    take in minutes of the one before, and mornings and evenings come out other than they were.

    Parameters
    ----------
    seconds : float array [n]
        Rising, from the beginning of the first hour.
    values : float array [n]
    hours : int

    Returns
    -------
    float64 array [hours]
        NaN where less than half of the hour is covered; a sample stands for at most one and a quarter usual
        steps before and after it.
    """
    good = np.isfinite(values)
    if not good.all():
        seconds, values = seconds[good], values[good]
    if not seconds.size:
        return np.full(hours, np.nan)
    usual = float(np.median(np.diff(seconds[:100_000]))) if seconds.size > 1 else 60.0
    weight, total = np.zeros(hours + 3), np.zeros(hours + 3)
    _share(seconds, values, min(max(1.25 * usual, 30.0), 2700.0), weight, total)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(weight >= 1800.0, total / weight, np.nan)[:hours]


def hour_errors(seconds, values, nominal):
    """Standard deviation of an hour's mean current from sampling [A]; 0 where no current was measured.

    Within an hour of several samples, from their spread. With one sample an hour, from the change between
    neighbouring hours: too much rather than too little.

    Parameters
    ----------
    seconds : float64 [rows]
        Time of each row [s].
    values : dict of float64 [rows]
        Columns of the log.
    nominal : float
        Nominal voltage [V].
    """
    current = values.get("current")
    if current is None:
        current = values["power"] / nominal if "power" in values else None
    if current is None or np.isfinite(current).sum() < 48:
        return 0.0
    good = np.isfinite(current)
    seconds, current = seconds[good], current[good]
    hour = (seconds // 3600.0).astype(np.int64)
    hour -= hour[0]
    count = np.bincount(hour)
    if np.median(count[count > 0]) < 2:
        return float(0.6 * np.sqrt(0.5 * np.mean(np.diff(current) ** 2)))
    total, square = np.bincount(hour, current), np.bincount(hour, current**2)
    many = count >= 2
    spread = (square[many] - total[many] ** 2 / count[many]) / (count[many] - 1.0)
    return float(np.sqrt(np.mean(np.maximum(spread, 0.0) / count[many])))


@njit(cache=True, nogil=True, error_model="numpy")
def _share(seconds, values, longest, weight, total):
    """Add each sample to the time that it stands for."""
    last = weight.size - 1
    before = max(seconds[0] - longest, 0.0)
    for i in range(seconds.size):
        now = seconds[i]
        hour = int(now // 3600.0)
        begin, end, after = max(before, now - longest), now + longest, now + longest
        if i + 1 < seconds.size:
            after, edge = seconds[i + 1], (hour + 1) * 3600.0
            if after < edge:
                after = 0.5 * (now + after)
            else:
                after = edge if after < edge + 3600.0 else after - longest
            end = min(end, after)
        before = after
        part = int(begin // 3600.0)
        while begin < end and part <= last:
            stop = min(end, (part + 1) * 3600.0)
            weight[part] += stop - begin
            total[part] += (stop - begin) * values[i]
            begin = stop
            part += 1


def _derive_current(means, last, jumps, usual, capacity, notes):
    if "current" in means:
        return
    if "power" in means:
        power = means["power"]
        means["current"] = power / means.get("voltage", np.where(power > 0.0, usual[1], usual[0]))
        notes.append("The log has no current; it was taken from power and voltage.")
    elif "soc" in means:
        change = np.diff(last, prepend=np.nan) * capacity
        means["current"] = np.where(jumps, np.nan, change)
        notes.append(
            "The log has a state of charge and no current, as the electronics inside batteries often give it. The "
            "current was taken from the steps of the reading, and is coarse."
        )
