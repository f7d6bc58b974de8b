"""Division of a record into complete study years.

A few missing or faulty days of a year are filled with days of the same calendar month, drawn by a key and counted.
A year with more such days is left out and named. Leaving out every year with a fault would leave out the winters.
"""

from dataclasses import dataclass

import numpy as np

from darkspell.climate.record.record import leap_day
from darkspell.core.calendar import DAYS, MONTH_LENGTHS, MONTH_NAMES
from darkspell.core.constants import constant
from darkspell.core.errors import StudyError
from darkspell.core.keyed_random import stream_key, uniforms

MOST_FILLED = 60  # of climate.fill_days
POLAR_NIGHT_KT = 0.3  # the sun is too low for its value to matter


@dataclass(frozen=True)
class Years:
    """Measured study years.

    Parameters
    ----------
    names : list of str
        ``1980`` or ``1980/81``, after the calendar years of the study year.
    kt : float64 array [years, 365]
        Daily clearness by study day [-].
    ghi : float32 array [years, 365, 24] or None
        Hourly irradiation [Wh/m2] of an hourly record; a filled day has the hours of its substitute, of which
        only the shape is used.
    temp_air : float64 array [years, 365] or None
        Daily mean air temperature [degC].
    temp_air_hours : float32 array [years, 365, 24] or None
        Hourly air temperature [degC]; NaN where unmeasured.
    filled : int array [years]
        Number of filled days.
    left_out : list of (str, int)
        Years left out, with their number of missing or faulty days.
    wind_hours : float32 array [years, 365, 24], optional
        Hourly wind speed [m/s]; the record's mean in sunlight where it was not measured.
    """

    names: list
    kt: np.ndarray
    ghi: np.ndarray | None
    temp_air: np.ndarray | None
    temp_air_hours: np.ndarray | None
    filled: np.ndarray
    left_out: list
    wind_hours: np.ndarray | None = None


def study_years(record, calendar, fill_days, seed):
    """Divide a record into study years.

    Parameters
    ----------
    record : darkspell.climate.record.Record
    calendar : darkspell.core.calendar.Calendar
    fill_days : int
        Largest number of days per year that may be filled.
    seed : int
        The study's seed.

    Returns
    -------
    Years

    Raises
    ------
    StudyError
        If no year is complete enough.
    """
    starts, days = days_of_years(record, calendar)
    bad = np.array([_bad(record, row).sum() for row in days])
    most = 0 if _without_days(record).any() else fill_days
    names = [_name(start, calendar) for start in starts]
    keep = np.flatnonzero(bad <= most)
    left_out = [(names[i], int(bad[i])) for i in np.flatnonzero(bad > most)]
    if not keep.size:
        begin = MONTH_NAMES[calendar.start_month - 1]
        raise StudyError(
            f"{record.name}: none of its {len(names)} study years can be replayed. They begin in {begin}, the best "
            f"lacks {bad.min()} days and climate.fill_days is {fill_days}; {_cure(record, int(bad.min()))}"
        )
    rows = np.array(
        [_filled(record, days[i], int(starts[i].astype("datetime64[Y]").astype(int)), seed) for i in keep]
    )
    return Years(
        names=[names[i] for i in keep],
        kt=np.where(record.dark[rows], POLAR_NIGHT_KT, record.kt[rows]),
        ghi=None if record.ghi is None else np.nan_to_num(record.ghi[rows]),
        temp_air=_temperatures(record, days[keep]),
        temp_air_hours=_temperature_hours(record, days[keep]),
        filled=bad[keep],
        left_out=left_out,
        wind_hours=_wind_hours(record, days[keep]),
    )


def days_of_years(record, calendar):
    """Study years that overlap a record.

    Parameters
    ----------
    record : darkspell.climate.record.Record
    calendar : darkspell.core.calendar.Calendar

    Returns
    -------
    starts : datetime64[D] array [years]
        First day of each year.
    days : int array [years, 365]
        Positions of the days in the record; -1 outside it.
    """
    first, last = record.dates[[0, -1]]
    years = np.arange(first.astype("datetime64[Y]") - 1, last.astype("datetime64[Y]") + 1)
    starts = (years.astype("datetime64[M]") + calendar.start_month - 1).astype("datetime64[D]")
    positions = np.searchsorted(record.dates, starts)
    rows = []
    for start, at in zip(starts, positions, strict=True):
        if start < first:  # counted back from the first day, all years having 365 days
            at = -_days_before(start, first)
        days = at + np.arange(DAYS)
        rows.append(np.where((days >= 0) & (days < record.dates.size), days, -1))
    rows = np.array(rows)
    touched = (rows >= 0).any(axis=1)
    return starts[touched], rows[touched]


def _cure(record, missing):
    """What lets a study run whose record has no year to replay."""
    without = [MONTH_NAMES[month] for month in np.flatnonzero(_without_days(record))]
    if without:
        return f"too few days of {', '.join(without)} are measured to fill with: give climate.replay: false"
    more = f"climate.fill_days: {missing}, or " if missing <= MOST_FILLED else ""
    return f"give {more}climate.replay: false"


def _without_days(record):
    """Calendar months with too few days to fill others with; bool [12]."""
    usable = np.isfinite(record.kt) | record.dark
    return np.bincount(record.month[usable], minlength=12) < constant("record", "fewest_in_month")


def _days_before(start, first):
    days = np.arange(start, first)
    return int(days.size - leap_day(days).sum())


def _bad(record, days):
    """Unknown days of a year."""
    return (days < 0) | ~(np.isfinite(record.kt[days]) | record.dark[days])


def _filled(record, days, year, seed):
    """Days of a year, unknown ones replaced by known ones of the same calendar month."""
    out, bad = days.copy(), _bad(record, days)
    if not bad.any():
        return out
    month = _months(record, days)
    draws = uniforms(stream_key(seed, "record/fill"), year, DAYS)
    for day in np.flatnonzero(bad):
        pool = np.flatnonzero((record.month == month[day]) & np.isfinite(record.kt))
        if not pool.size:
            pool = np.flatnonzero(record.month == month[day])
        out[day] = pool[int(draws[day] * pool.size)]
    return out


def _months(record, days):
    """Calendar month of each day of a year that may extend beyond the record."""
    inside = int(np.argmax(days >= 0))
    start = record.day_of_year[days[inside]] - 1 - inside
    return np.repeat(np.arange(12), MONTH_LENGTHS)[(start + np.arange(DAYS)) % DAYS]


def _temperatures(record, days):
    """Daily mean air temperature of each year; missing values are the mean of the calendar month."""
    if record.temp_air is None:
        return None
    monthly = np.array([np.nanmean(record.temp_air[record.month == month]) for month in range(12)])
    out = np.where(days >= 0, record.temp_air[days], np.nan)
    months = np.array([_months(record, row) for row in days])
    return np.where(np.isfinite(out), out, monthly[months])


def _temperature_hours(record, days):
    if record.temp_air_hours is None:
        return None
    return np.where((days >= 0)[..., None], record.temp_air_hours[days], np.float32(np.nan))


def _wind_hours(record, days):
    mean = record.wind_in_sun
    if mean is None:
        return None
    wind = np.where((days >= 0)[..., None], record.wind_hours[days], np.float32(np.nan))
    return np.where(np.isfinite(wind), wind, np.float32(mean))


def _name(start, calendar):
    year = str(start)[:4]
    return year if calendar.start_month == 1 else f"{year}/{(int(year) + 1) % 100:02d}"
