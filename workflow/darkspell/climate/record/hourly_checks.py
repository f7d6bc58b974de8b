"""Hourly rows as a record: arranged by hour, compared with the sun, summed to days."""

import numpy as np

from darkspell.climate.record.quality_checks import check_temperatures, daily_clearness
from darkspell.climate.record.record import Fault, Record, day_of_year, leap_day, runs_of
from darkspell.climate.record.time_checks import check_shift, moved, sun_by_hour
from darkspell.core.constants import constant
from darkspell.core.errors import StudyError

MOST = 0.5  # share of the irradiation


def hourly_record(site, rows, times, order, series, faults):
    """Record of hourly rows.

    Parameters
    ----------
    site : object
        With `latitude_deg`, `longitude_deg`, `utc_offset_h`.
    rows : darkspell.climate.record.csv_series.Rows
    times : datetime64[s] array [rows]
        Beginning of each row's hour in local standard time.
    order, series, faults
        As `darkspell.climate.record.quality_checks.no_duplicates` takes and gives them.

    Returns
    -------
    darkspell.climate.record.Record

    Raises
    ------
    StudyError
        If the hours disagree with the sun and may not be shifted.
    """
    dates, at, late = _grid(rows, times[order], series)
    ghi = _on_grid(rows.ghi[order], dates, at, late)
    temp = rows.temps.get("temp_column")
    temp = None if temp is None else _on_grid(temp[order], dates, at, late)
    wind = None if rows.wind is None else _on_grid(rows.wind[order], dates, at, late)
    keep = ~leap_day(dates)
    sun = sun_by_hour(site)
    check_night(rows.name, ghi, sun[day_of_year(dates) - 1], series)
    shift, moves = check_shift(rows.name, dates, ghi, sun, series)
    if shift.any():
        ghi, temp, wind = (one if one is None else moved(one, shift) for one in (ghi, temp, wind))
    outside = sun[day_of_year(dates) - 1]
    ghi, bad = without_impossible(dates, ghi, outside)
    ghi, filled = _short_gaps(dates, ghi, outside, series)
    total = np.where(outside > 0.0, ghi, 0.0).sum(axis=1)
    keep &= _inside(np.isfinite(total))
    dates, ghi, total = dates[keep], ghi[keep], total[keep]
    temp = temp if temp is None else temp[keep]
    wind, calm = _possible_wind(dates, wind if wind is None else wind[keep])
    kt, dark, days = daily_clearness(rows.name, site.latitude_deg, dates, total, series)
    mean, swing, cold = _daily_temperature(rows.name, dates, temp, series)
    return Record(
        dates, kt, dark, np.where(outside[keep] > 0.0, ghi, 0.0).astype(np.float32), mean,
        None if temp is None else temp.astype(np.float32), swing, rows.name, "hourly",
        [*faults, *moves, *bad, *filled, *days, *cold, *calm], wind,
    )  # fmt: skip


def check_night(name, ghi, outside, series):
    """Refuse irradiation at night: an offset of the sensor, or hours that are far off.

    Parameters
    ----------
    name : str
        Name of the file.
    ghi, outside : float arrays [days, 24]
        Measured and extraterrestrial irradiation of each hour on the horizontal [Wh/m2].
    series : darkspell.study.climate.Series

    Raises
    ------
    darkspell.core.errors.StudyError
        If the sensor's offset, or day and night exchanged, explains the irradiation at night.
    """
    known = np.isfinite(ghi)
    dark = known & (outside <= 0.0)
    total = ghi[known & (ghi > 0.0)].sum()
    at_night = ghi[dark & (ghi > 0.0)].sum()
    if not total > 0.0 or at_night <= constant("record", "night_share") * total:
        return
    level = float(np.median(ghi[dark]))
    if at_night > MOST * total:
        cure = (
            "day and night are exchanged: check climate.series.time_zone, time_format and site.longitude_deg"
        )
    elif level > constant("record", "night_level"):
        cure = (
            f"the median hour of the night has {level:.0f} W/m2: subtract the sensor's offset from every hour"
        )
    else:
        return  # some hours off: the middle of the day shows it
    raise StudyError(
        f"{name}, column {series.ghi_column}: {100 * at_night / total:.0f} % of its irradiation is at "
        f"night; {cure}"
    )


def _inside(known):
    """Days from the first to the last complete one: a change of time zone cuts the ends."""
    inside = np.zeros(known.size, bool)
    if known.any():
        inside[np.argmax(known) : known.size - np.argmax(known[::-1])] = True
    return inside


def without_impossible(dates, ghi, outside):
    """Set impossible hours to NaN and small negative values of the sensor to zero.

    Parameters
    ----------
    dates : datetime64[D] array [days]
    ghi, outside : float arrays [days, 24]
        Measured and extraterrestrial irradiation of each hour on the horizontal [Wh/m2].

    Returns
    -------
    ghi : float64 array [days, 24]
        [Wh/m2].
    faults : list of Fault

    Notes
    -----
    Limits of Long & Dutton, BSRN Global Network recommended QC tests, V2.0 (2002): -4 W/m2 and
    1.5 Sa mu0^1.2 + 100 W/m2, here applied to hourly means.
    """
    sa = constant("climate", "solar_constant")
    height = np.clip(outside / sa, 0.0, 1.0)
    limit = constant("record", "possible_factor") * sa * height ** constant("record", "possible_power")
    limit = limit + constant("record", "possible_offset")
    with np.errstate(invalid="ignore"):
        bad = (ghi < constant("record", "night_offset")) | (ghi > limit)
    faults = []
    if bad.any():
        kind = "hours below -4 W/m2 or above the physically possible"
        faults = [Fault(kind, runs_of(dates[bad.any(axis=1)]), int(bad.sum()), "set aside")]
    return np.where(bad, np.nan, np.maximum(ghi, 0.0)), faults


def _grid(rows, times, series):
    """Days of the record, position of each row among its hours, and the fraction of an hour by which all are late."""
    late = (times - times.astype("datetime64[h]")).astype(int)
    if np.unique(late).size > 1:
        odd = int(np.argmax(late != np.bincount(late).argmax()))
        raise StudyError(
            f"{rows.name}, column {' and '.join(series.time_columns)}: {str(times[odd]).replace('T', ' ')} does not "
            "begin an hour as the other rows do; average the series to whole hours, or check time_format"
        )
    if series.time_zone is None and not rows.utc and late[0]:
        raise StudyError(
            f"{rows.name}, column {' and '.join(series.time_columns)}: its hours begin {late[0] // 60} minutes past "
            "the hour; give climate.series.hour_label: middle if each is named by its middle"
        )
    hours = times.astype("datetime64[h]")
    dates = np.arange(hours[0].astype("datetime64[D]"), hours[-1].astype("datetime64[D]") + 1)
    return dates, (hours - dates[0].astype("datetime64[h]")).astype(int), late[0] / 3600.0


def _on_grid(values, dates, at, late):
    """Values by day and hour, NaN where missing; late hours are divided between neighbours."""
    out = np.full(dates.size * 24, np.nan)
    out[at] = values
    if late:
        before = np.concatenate([[np.nan], out[:-1]])
        out = late * before + (1.0 - late) * out
    return out.reshape(dates.size, 24)


def _short_gaps(dates, ghi, outside, series):
    """Fill up to three missing hours from the clearness of their neighbours, if the study allows it."""
    lit = outside > 0.0
    gap = (lit & ~np.isfinite(ghi)).ravel()
    if not gap.any() or "short_gaps" not in series.repair:
        return ghi, []
    clearness = np.divide(ghi, outside, out=np.full(ghi.shape, np.nan), where=lit)[lit]
    hole = ~np.isfinite(clearness)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], hole.astype(int), [0]])))
    known = np.flatnonzero(~hole)
    fill = np.zeros(hole.size, bool)
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        fill[start:end] = end - start <= constant("record", "short_gap")
    clearness[fill] = np.interp(np.flatnonzero(fill), known, clearness[known])
    whole = ghi.copy()
    whole[lit] = np.where(fill, clearness * outside[lit], ghi[lit])
    filled = lit & np.isfinite(whole) & ~np.isfinite(ghi)
    fault = Fault("hours missing in short gaps", runs_of(dates[filled.any(axis=1)]), int(filled.sum()),
                  "filled by the clearness of their neighbours")  # fmt: skip
    return whole, [fault] if filled.any() else []


def _possible_wind(dates, wind):
    """Hourly wind without impossible values [m/s], float32, and the fault that counts them."""
    if wind is None:
        return None, []
    with np.errstate(invalid="ignore"):
        bad = (wind < 0.0) | (wind > constant("record", "most_wind"))
    faults = []
    if bad.any():
        kind = f"hours with a wind outside 0 to {constant('record', 'most_wind'):g} m/s"
        faults = [Fault(kind, runs_of(dates[bad.any(axis=1)]), int(bad.sum()), "the wind set aside")]
    return np.where(bad, np.nan, wind).astype(np.float32), faults


def _daily_temperature(name, dates, temp, series):
    """Daily mean and range of temperature, and the faults of impossible values."""
    if temp is None:
        return None, None, []
    low, high = constant("climate", "temp_air_bounds")
    with np.errstate(invalid="ignore"):
        bad = (temp < low) | (temp > high)
    check_temperatures(name, temp, bad, series, series.temp_column)
    temp[bad] = np.nan
    enough = np.isfinite(temp).sum(axis=1) >= constant("record", "warmest_day_hours")
    mean, swing = np.full(dates.size, np.nan), np.full(dates.size, np.nan)
    mean[enough] = np.nanmean(temp[enough], axis=1)
    swing[enough] = np.nanmax(temp[enough], axis=1) - np.nanmin(temp[enough], axis=1)
    faults = []
    if bad.any():
        kind = f"hours with a temperature outside {low:g} to {high:g} degC"
        faults = [Fault(kind, runs_of(dates[bad.any(axis=1)]), int(bad.sum()), "the temperature set aside")]
    return mean, swing, faults
