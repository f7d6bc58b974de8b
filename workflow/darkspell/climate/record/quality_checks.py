"""Quality checks of a record: repeated or unordered times, missing days, impossible days."""

import numpy as np

from darkspell.climate.extraterrestrial import daily_extraterrestrial
from darkspell.climate.record.csv_series import UNITS
from darkspell.climate.record.record import Fault, Record, day_of_year, leap_day, runs_of
from darkspell.climate.record.unit_changes import check_one_unit
from darkspell.core.constants import constant
from darkspell.core.errors import StudyError

ESTIMATED = "estimated from hours of sunshine"
MINORITY = 0.5  # largest share of days at a floor; more is another fault
ENOUGH_RUNS = 30  # of two days and more, to estimate how many continue


def no_duplicates(rows, times, series):
    """Sort rows by time and remove repeated times.

    Parameters
    ----------
    rows : darkspell.climate.record.csv_series.Rows
    times : datetime64[s] array [rows]
        In local standard time.
    series : darkspell.study.climate.Series

    Returns
    -------
    order : int array
        Rows that are kept, by time.
    faults : list of Fault

    Raises
    ------
    darkspell.core.errors.StudyError
        If a time occurs twice with different values that may not be repaired, or a date is decades from the others.
    """
    faults = []
    back = np.flatnonzero(np.diff(times).astype(int) < 0)
    if back.size:
        faults.append(
            Fault(
                "rows before their time",
                runs_of(times[back + 1].astype("datetime64[D]")),
                int(back.size),
                "sorted",
            )
        )
    order = np.argsort(times, kind="stable")
    _check_span(rows, times, order, series)
    again = np.flatnonzero(np.diff(times[order]).astype(int) == 0) + 1
    if not again.size:
        return order, faults
    one, two = rows.ghi[order[again - 1]], rows.ghi[order[again]]
    unlike = ~((one == two) | (np.isnan(one) & np.isnan(two)))
    if unlike.any() and "duplicates" not in series.repair:
        at = order[again[int(np.argmax(unlike))]]
        first = order[again[int(np.argmax(unlike))] - 1]
        raise StudyError(
            f"{rows.name}, rows {rows.number[first]} and {rows.number[at]}, column {series.ghi_column}: "
            f"{str(times[at]).replace('T', ' ')} occurs twice with different values; {int(unlike.sum())} such "
            "times: remove one of each, or keep the first with climate.series.repair: [duplicates]"
        )
    when = runs_of(times[order[again]].astype("datetime64[D]"))
    done = "first row kept" if unlike.any() else "the same values, one kept"
    faults.append(Fault("repeated times", when, int(again.size), done))
    return np.delete(order, again), faults


def _check_span(rows, times, order, series):
    """Refuse a date that is decades from the others: each day between would count as missing."""
    if times.size < 2:
        return
    years = times[order].astype("datetime64[Y]").astype(int)
    middle = years[years.size // 2]
    ends = (order[0], middle - years[0]), (order[-1], years[-1] - middle)
    at, apart = max(ends, key=lambda end: end[1])
    if apart > constant("record", "longest_span"):
        raise StudyError(
            f"{rows.name}, row {rows.number[at]}, column {' and '.join(series.time_columns)}: "
            f"{str(times[at])[:10]} is {apart} years from the middle of the series; correct the date, or "
            "remove the row"
        )


def daily_record(site, rows, times, order, series, faults):
    """Record of daily rows.

    Parameters
    ----------
    site : object
        With `latitude_deg`.
    rows, times, order, series, faults
        As `no_duplicates` takes and gives them.

    Returns
    -------
    darkspell.climate.record.Record
    """
    days = times[order].astype("datetime64[D]")
    dates = np.arange(days[0], days[-1] + 1)
    at = (days - dates[0]).astype(int)

    def on_dates(values):
        out = np.full(dates.size, np.nan)
        out[at] = values[order]
        return out[~leap_day(dates)]

    temps = {key: on_dates(values) for key, values in rows.temps.items()}
    faults = [*faults, *_mask_temperatures(rows.name, dates[~leap_day(dates)], temps, series)]
    mean, swing = temps.get("temp_column"), None
    if "temp_max_column" in temps:
        swing = temps["temp_max_column"] - temps["temp_min_column"]
        faults += _check_ends(rows.name, dates[~leap_day(dates)], swing, series)
        if mean is None:
            mean = (temps["temp_max_column"] + temps["temp_min_column"]) / 2.0
    ghi = on_dates(rows.ghi)
    dates = dates[~leap_day(dates)]
    kt, dark, more = daily_clearness(rows.name, site.latitude_deg, dates, ghi, series)
    return Record(dates, kt, dark, None, mean, None, swing, rows.name, "daily", [*faults, *more])


def daily_clearness(name, latitude, dates, ghi, series):
    """Clearness of each day, with polar night, missing days and impossible days.

    Parameters
    ----------
    name : str
        Name of the file.
    latitude : float
        [degrees].
    dates : datetime64[D] array [days]
    ghi : float array [days]
        [Wh/m2]; NaN where missing.
    series : darkspell.study.climate.Series
        Names column and unit for the message.

    Returns
    -------
    kt : float64 array [days]
        NaN where missing, faulty or dark.
    dark : bool array [days]
    faults : list of Fault

    Raises
    ------
    StudyError
        If the record as a whole is impossible: a wrong unit; or if a part of it is in another one.
    """
    extra = 1000.0 * daily_extraterrestrial(latitude, day_of_year(dates))
    dark = extra < 1000.0 * constant("climate", "polar_night")
    kt = np.divide(ghi, extra, out=np.full(dates.size, np.nan), where=~dark)
    _check_unit(name, kt, series)
    check_one_unit(name, dates, kt, series)
    missing = ~dark & ~np.isfinite(kt)
    highest = constant("climate", "highest_daily_kt")
    with np.errstate(invalid="ignore"):
        impossible = ~dark & ((kt <= 0.0) | (kt > highest))
    _check_many(name, dates, kt, impossible, series)
    stuck = stuck_days(ghi) & ~dark & ~missing & ~impossible
    faults = []
    darkened = without_light(dates, np.where(dark | impossible | stuck, np.nan, kt))
    if darkened.any():
        kind = "days in months without light, as of another unit or a covered sensor"
        faults.append(Fault(kind, runs_of(dates[darkened]), int(darkened.sum()), "set aside"))
    if missing.any():
        faults.append(Fault("days without a value", runs_of(dates[missing]), int(missing.sum()), "set aside"))
    if impossible.any():
        kind = f"days with a clearness of 0 or less, or above {highest:g}"
        faults.append(Fault(kind, runs_of(dates[impossible]), int(impossible.sum()), "set aside"))
    if stuck.any():
        kind = "days that repeat one value longer than chance would"
        faults.append(Fault(kind, runs_of(dates[stuck]), int(stuck.sum()), "set aside"))
    kt = np.where(impossible | stuck | darkened, np.nan, kt)
    floor = at_a_floor(kt)
    if floor.any():
        kind = f"days at a floor of clearness of {np.nanmedian(kt[floor]):.2f}, as of irradiation {ESTIMATED}"
        done = (
            "kept; overcast days are darker than that, so that dull spells are worse than this record shows"
        )
        faults.append(Fault(kind, runs_of(dates[floor]), int(floor.sum()), done))
    return kt, dark, faults


def without_light(dates, kt):
    """Days that the sky cannot explain: of months too dark as a whole, and the darkest where a month has several.

    Parameters
    ----------
    dates : datetime64[D] array [days]
        Ascending.
    kt : float array [days]
        Daily clearness; NaN where unknown [-].

    Returns
    -------
    bool array [days]
    """
    months = (dates.astype("datetime64[M]") - dates[0].astype("datetime64[M]")).astype(int)
    known = np.isfinite(kt)
    days = np.bincount(months, known)
    mean = np.bincount(months, np.where(known, kt, 0.0)) / np.maximum(days, 1.0)
    least = constant("climate", "monthly_kt_bounds")[0]
    whole = (days >= constant("record", "lightless_month_days")) & (mean < least)
    with np.errstate(invalid="ignore"):
        single = known & (kt < constant("record", "lightless_kt"))
    several = np.bincount(months, single) >= constant("record", "lightless_days")
    return known & (whole[months] | (single & several[months]))


def at_a_floor(kt):
    """Days at a floor of clearness, if the record has one.

    Where irradiation was estimated from hours of sunshine, all days without sunshine have the same clearness.

    Parameters
    ----------
    kt : float array [days]
        Daily clearness; NaN where unknown [-].

    Returns
    -------
    bool array [days]
    """
    if not np.isfinite(kt).any():
        return np.zeros(kt.size, bool)
    lowest = np.nanquantile(kt, constant("record", "floor_quantile"))
    with np.errstate(invalid="ignore"):
        near = np.abs(kt - lowest) <= constant("record", "floor_width")
    share = near.sum() / np.isfinite(kt).sum()
    crowded = constant("record", "floor_share") < share < MINORITY
    return near & (crowded and lowest >= constant("record", "floor_least"))


def stuck_days(values):
    """Days within runs of one value that are longer than chance explains.

    Rounded values repeat by chance: if runs continue with probability p, runs of n days are expected
    days p^(n-1) times in a record. p is estimated from how many runs continue, not from their length: a stuck
    sensor counts once. A record that is one single run is stuck as a whole.

    Parameters
    ----------
    values : float array [days]
        As in the record; NaN where missing.

    Returns
    -------
    bool array [days]
    """
    same = values[1:] == values[:-1]
    known = np.isfinite(values[1:]) & np.isfinite(values[:-1])
    if not same.any():
        return np.zeros(values.size, bool)
    least, by_chance = constant("record", "stuck_least"), constant("record", "stuck_by_chance")
    edges = np.flatnonzero(np.diff(np.concatenate([[0], same.astype(int), [0]])))
    starts, lengths = edges[::2], edges[1::2] - edges[::2] + 1
    days = max(known.sum(), 1)
    if lengths[0] >= least and lengths[0] > days:
        return np.isfinite(values)
    begun, second, third = days - (lengths - 1).sum(), lengths.size, (lengths >= 3).sum()
    going_on = max(second / max(begun, 1), third / second if second >= ENOUGH_RUNS else 0.0)
    out = np.zeros(values.size, bool)
    for start, length in zip(starts, lengths, strict=True):
        if length >= least and days * going_on ** (length - 1) < by_chance:
            out[start : start + length] = True
    return out


def _check_unit(name, kt, series):
    """Refuse a record whose median day is outside the possible monthly range; suggest a fitting unit."""
    low, high = constant("climate", "monthly_kt_bounds")
    seen = np.isfinite(kt)
    if not seen.any():
        raise StudyError(f"{name}, column {series.ghi_column}: no day has a value")
    middle = float(np.median(kt[seen]))
    if low <= middle <= high:
        return
    daily = series.step == "daily"
    outside = middle / UNITS[series.ghi_unit][daily]
    fitting = [unit for unit, factors in UNITS.items() if 0.2 <= outside * factors[daily] <= 0.75]
    cure = f"the values look like {' or '.join(fitting)}" if fitting else "check the column"
    raise StudyError(
        f"{name}, column {series.ghi_column}: the median day has {middle:.3g} of the extraterrestrial "
        f"irradiation; possible months have {low:g} to {high:g}; {cure}: correct climate.series.ghi_unit, or "
        "site.latitude_deg"
    )


def _check_many(name, dates, kt, impossible, series):
    """Refuse a record with many impossible days: a wrong column or location, not single faults."""
    if impossible.sum() <= constant("record", "impossible_share") * np.isfinite(kt).sum():
        return
    day = int(np.argmax(impossible))
    raise StudyError(
        f"{name}, column {series.ghi_column}: {int(impossible.sum())} of {int(np.isfinite(kt).sum())} days are "
        f"impossible, the first {dates[day]} with {kt[day]:.2f} of the extraterrestrial sum; check site.latitude_deg "
        "and its sign, series.ghi_unit and the column"
    )


def _check_ends(name, dates, swing, series):
    """Set aside the range of days whose minimum exceeds the maximum; refuse many such days."""
    with np.errstate(invalid="ignore"):
        bad = swing < 0.0
    if not bad.any():
        return []
    if bad.sum() > constant("record", "impossible_share") * np.isfinite(swing).sum():
        day = int(np.argmax(bad))
        raise StudyError(
            f"{name}, columns {series.temp_min_column} and {series.temp_max_column}: the lowest temperature "
            f"exceeds the highest on {int(bad.sum())} days, the first {dates[day]}; exchange "
            "climate.series.temp_min_column and temp_max_column"
        )
    swing[bad] = np.nan
    kind = "days with a lowest temperature above the highest"
    return [Fault(kind, runs_of(dates[bad]), int(bad.sum()), "their range set aside")]


def check_temperatures(name, values, bad, series, column):
    """Refuse temperatures with many impossible values: a wrong unit or column.

    Parameters
    ----------
    name : str
        Name of the file.
    values : float array
        [degC].
    bad : bool array
        Impossible values.
    series : darkspell.study.climate.Series
    column : str

    Raises
    ------
    StudyError
    """
    if bad.sum() <= constant("record", "impossible_share") * np.isfinite(values).sum():
        return
    low, high = constant("climate", "temp_air_bounds")
    raise StudyError(
        f"{name}, column {column}: {int(bad.sum())} of {int(np.isfinite(values).sum())} values are outside "
        f"{low:g} to {high:g} degC, read as {series.temp_unit}; correct climate.series.temp_unit (C, K or F), or "
        "the column"
    )


def _mask_temperatures(name, dates, temps, series):
    """Set impossible temperatures to NaN in place, and report them."""
    low, high = constant("climate", "temp_air_bounds")
    faults = []
    for key, values in temps.items():
        with np.errstate(invalid="ignore"):
            bad = (values < low) | (values > high)
        check_temperatures(name, values, bad, series, getattr(series, key))
        if bad.any():
            kind = f"days with a temperature outside {low:g} to {high:g} degC"
            faults.append(Fault(kind, runs_of(dates[bad]), int(bad.sum()), "the temperature set aside"))
            values[bad] = np.nan
    return faults
