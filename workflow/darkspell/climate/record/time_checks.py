"""Times of a record: conversion to local standard time, and comparison with the sun.

A wrong time zone, daylight saving time or a label at the wrong end of the hour shifts noon. For each month the
irradiation-weighted middle of its clearer days is compared with solar noon. A difference above half an hour is
reported with its dates, and corrected by whole hours only if the study allows it.
"""

import re

import numpy as np

from darkspell.climate.record.record import Fault, day_of_year, runs_of
from darkspell.core.constants import constant
from darkspell.core.errors import StudyError

LABELS = {"beginning": 0, "middle": 1800, "end": 3600}
SUB_STEPS = 6
SEASONS = ((4, 5, 6, 7), (11, 0, 1))  # months, 0-11, in and out of daylight saving time, or out and in


def to_site_time(rows, series, utc_offset):
    """Beginning of each row's hour in local standard time of the site.

    Parameters
    ----------
    rows : darkspell.climate.record.csv_series.Rows
    series : darkspell.study.climate.Series
    utc_offset : float
        Local standard time minus UTC [h].

    Returns
    -------
    datetime64[s] array [rows]
    """
    times = rows.times - np.timedelta64(LABELS[series.hour_label], "s")
    zone = "UTC" if rows.utc else series.time_zone
    if zone is None:
        return times
    return _to_utc(times, zone) + np.timedelta64(round(utc_offset * 3600), "s")


def _to_utc(times, zone):
    import pandas as pd

    parts = re.fullmatch(r"UTC(?:([+-])(\d{1,2})(?::(\d\d))?)?", zone)
    if parts:
        sign, hours, minutes = parts.groups()
        ahead = (int(hours or 0) * 3600 + int(minutes or 0) * 60) * (-1 if sign == "-" else 1)
        return times - np.timedelta64(ahead, "s")
    index = pd.DatetimeIndex(times)
    # The first of the two equal hours in autumn is daylight saving time; both are at night.
    local = index.tz_localize(zone, ambiguous=~index.duplicated(), nonexistent="shift_forward")
    return local.tz_convert("UTC").tz_localize(None).to_numpy().astype("datetime64[s]")


def sun_by_hour(site):
    """Mean extraterrestrial irradiance on the horizontal in each hour of a year.

    Parameters
    ----------
    site : object
        With `latitude_deg`, `longitude_deg`, `utc_offset_h`.

    Returns
    -------
    float64 array [365, 24]
        By hour of local standard time, 1 January first; zero at night [W/m2].
    """
    from pvlib import irradiance, solarposition

    day = np.arange(1, 366)[:, None]
    hour = (np.arange(24 * SUB_STEPS) + 0.5) / SUB_STEPS
    solar = hour + site.longitude_deg / 15.0 - site.utc_offset_h
    solar = solar + solarposition.equation_of_time_spencer71(day) / 60.0
    zenith = solarposition.solar_zenith_analytical(
        np.radians(site.latitude_deg),
        np.radians(15.0 * (solar - 12.0)),
        solarposition.declination_spencer71(day),
    )
    height = np.maximum(np.cos(zenith), 0.0).reshape(365, 24, SUB_STEPS).mean(axis=2)
    normal = irradiance.get_extra_radiation(day, method="spencer")
    return normal * height


def lateness(dates, ghi, sun):
    """Delay of the middle of each day relative to the sun.

    Parameters
    ----------
    dates : datetime64[D] array [days]
    ghi : float array [days, 24]
        Irradiation of each hour [Wh/m2].
    sun : float array [365, 24]
        From `sun_by_hour`.

    Returns
    -------
    late : float64 array [days]
        [h]; NaN where unknown.
    clearness : float64 array [days]
        [-].
    """
    outside = sun[day_of_year(dates) - 1]
    hours = np.arange(24)
    with np.errstate(invalid="ignore", divide="ignore"):
        light = np.maximum(ghi, 0.0)
        late = (light @ hours) / light.sum(axis=1) - (outside @ hours) / outside.sum(axis=1)
        clearness = ghi.sum(axis=1) / outside.sum(axis=1)
    return np.where(np.isfinite(clearness), late, np.nan), clearness


def monthly_lateness(dates, ghi, sun):
    """Delay of each month of the record in whole hours.

    Parameters
    ----------
    dates, ghi, sun : arrays
        As `lateness`.

    Returns
    -------
    dict
        ``{month: hours}`` (numpy.datetime64[M], int) for months with enough clear days.
    """
    late, clearness = lateness(dates, ghi, sun)
    months = dates.astype("datetime64[M]")
    share, found, clear = constant("record", "clear_share"), {}, {}
    for month in np.unique(months):
        days = np.flatnonzero((months == month) & np.isfinite(late))
        if days.size * share >= constant("record", "shift_days"):
            best = days[np.argsort(-clearness[days])[: int(days.size * share)]]
            middle = float(np.median(late[best]))
            found[month] = round(middle) if abs(middle) > constant("record", "shift_found") else 0
            clear[month] = best
    for sign in (-1, 1):
        seeming = [month for month, hours in found.items() if np.sign(hours) == sign]
        if seeming:
            best = np.concatenate([clear[month] for month in seeming])
            if not light_without_sun(ghi[best], sun[day_of_year(dates[best]) - 1], sign > 0):
                found.update(dict.fromkeys(seeming, 0))
    return found


def certainty(dates, ghi, sun, found):
    """By how many days, and how surely, the middle of the day is off in the months that seem shifted.

    Parameters
    ----------
    dates, ghi, sun : arrays
        As `lateness`.
    found : dict
        From `monthly_lateness`.

    Returns
    -------
    str
    """
    late, clearness = lateness(dates, ghi, sun)
    shifted = [month for month, hours in found.items() if hours]
    inside = np.flatnonzero(np.isin(dates.astype("datetime64[M]"), shifted) & np.isfinite(late))
    count = max(int(inside.size * constant("record", "clear_share")), 1)
    best = inside[np.argsort(-clearness[inside])[:count]]
    away = np.abs(late[best])
    middle = float(np.median(away))
    # Standard error of a median under a normal distribution: 1.25 standard deviations over the root of the count.
    error = 1.96 * 1.25 * 1.4826 * float(np.median(np.abs(away - middle))) / np.sqrt(best.size)
    return f"by {middle:.2f} h +- {max(error, 0.01):.2f} h (95 %) on the {best.size} clearest days of these months"


def light_without_sun(ghi, outside, late):
    """Whether there is light in the hour after the sun has set, or before it rises.

    A ridge takes beam from the morning or the evening, and so moves the middle of the day; but it adds no light to
    hours without sun, as hours with a wrong label do.

    Parameters
    ----------
    ghi, outside : float arrays [days, 24]
        Measured and extraterrestrial irradiation of each hour on the horizontal [Wh/m2].
    late : bool
        Whether the hours seem late (light after sunset), or early (before sunrise).

    Returns
    -------
    bool
    """
    dark = outside <= 0.0
    edge = dark & np.roll(~dark, 1 if late else -1, axis=1)
    light = ghi[edge & np.isfinite(ghi)]
    return bool(light.size == 0 or np.quantile(light, 0.75) > constant("record", "twilight_wh_m2"))


def check_shift(name, dates, ghi, sun, series):
    """Shift of each day to be undone, and the fault that reports it.

    Parameters
    ----------
    name : str
        Name of the file.
    dates, ghi, sun : arrays
        As `lateness`.
    series : darkspell.study.climate.Series

    Returns
    -------
    shift : int array [days]
        [h].
    faults : list of Fault

    Raises
    ------
    StudyError
        If hours are shifted and the study does not allow the correction.
    """
    found = monthly_lateness(dates, ghi, sun)
    if not any(found.values()):
        return np.zeros(dates.size, int), []
    runs = _runs(found)
    words = "; ".join(f"{first} to {last} {_late(hours)}" for first, last, hours in runs[:4])
    more = f"; {len(runs) - 4} more such spells" if len(runs) > 4 else ""
    more += f"; {certainty(dates, ghi, sun, found)}"
    if "shift" not in series.repair:
        raise StudyError(
            f"{name}, column {' and '.join(series.time_columns)}: the middle of the day disagrees with the "
            f"sun: {words}{more}. {_cure(found, series)}, or allow the move with "
            "climate.series.repair: [shift]"
        )
    daily = _by_day(dates, ghi, sun, found)
    late = dates[daily != 0]
    fault = Fault(
        f"days with shifted hours ({words}{more})", runs_of(late), int(late.size), "moved to the sun"
    )
    return daily, [fault]


def moved(ghi, shift):
    """Shift hours by whole hours.

    Parameters
    ----------
    ghi : float array [days, 24]
    shift : int array [days]
        [h].

    Returns
    -------
    float array [days, 24]
        NaN where nothing was measured.
    """
    at = np.arange(ghi.size).reshape(ghi.shape) + shift[:, None]
    inside = (at >= 0) & (at < ghi.size)
    return np.where(inside, ghi.ravel()[np.clip(at, 0, ghi.size - 1)], np.nan)


def _by_day(dates, ghi, sun, found):
    """Shift of each day: that of its month or of the last known month; the date of a change is estimated."""
    late, clearness = lateness(dates, ghi, sun)
    known = np.array(list(found))
    months = dates.astype("datetime64[M]")
    at = np.maximum(np.searchsorted(known, months, side="right") - 1, 0)
    shift = np.array(list(found.values()))[at]
    reach = constant("record", "shift_reach")
    for change in np.flatnonzero(np.diff(shift)) + 1:
        before, after = shift[change - 1], shift[change]
        near = np.arange(max(change - reach, 0), min(change + reach, dates.size))
        known_days = near[np.isfinite(late[near])]
        clear = known_days[clearness[known_days] >= np.median(clearness[known_days])]
        cost = [np.abs(late[clear] - np.where(clear >= day, after, before)).sum() for day in near]
        first = near[int(np.argmin(cost))]
        shift[near] = np.where(near >= first, after, before)
    return shift


def _runs(found):
    """Runs of months with one nonzero shift: first month, last month, hours."""
    months, shift = np.array(list(found)), np.array(list(found.values()))
    parts = np.split(np.arange(shift.size), np.flatnonzero(np.diff(shift)) + 1)
    return [(str(months[p[0]]), str(months[p[-1]]), int(shift[p[0]])) for p in parts if shift[p[0]]]


def _late(hours):
    return f"{abs(hours)} h {'late' if hours > 0 else 'early'}"


def _cure(found, series):
    """The study key that would correct the times."""
    kinds = sorted(set(found.values()))
    if len(kinds) == 1:
        hours = kinds[0]
        if hours == 1 and series.hour_label == "beginning":
            return "Give climate.series.hour_label: end, if each hour is named by its end"
        if hours == -1 and series.hour_label == "end":
            return "Give climate.series.hour_label: beginning, if each hour is named by its beginning"
        return "Give climate.series.time_zone (UTC, or UTC+1 and the like), and check site.longitude_deg"
    seasons = [
        {hours for month, hours in found.items() if month.astype(int) % 12 in part} for part in SEASONS
    ]
    if [len(part) for part in seasons] == [1, 1] and seasons[0] != seasons[1]:
        return 'The times follow summer time: give climate.series.time_zone by name, such as "Europe/Vienna"'
    return "Correct the times in the file"
