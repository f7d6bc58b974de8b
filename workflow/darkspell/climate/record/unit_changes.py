"""Parts of a record in another unit than the rest: kWh among MJ, or MJ among kWh."""

import numpy as np

from darkspell.climate.record.record import runs_of
from darkspell.core.constants import constant
from darkspell.core.errors import StudyError

CLEAR_DAY = 0.9  # quantile of a month's days: one of its clear days
SHOWN = 3  # runs in a message
LOW, HIGH = -1, 1


def check_one_unit(name, dates, kt, series):
    """Refuse a record of which some months differ by a factor of about 3.6 from the same months of other years.

    Parameters
    ----------
    name : str
        Name of the file.
    dates : datetime64[D] array [days]
        Ascending.
    kt : float array [days]
        Daily clearness as read, impossible days included; NaN where unknown [-].
    series : darkspell.study.climate.Series
        Names column and unit for the message.

    Raises
    ------
    StudyError
        With the dates.
    """
    sides, ratios = months_in_another_unit(dates, kt)
    months = dates.astype("datetime64[M]") - dates[:1].astype("datetime64[M]")
    day_sides = sides[months.astype(int)]
    for side, way in ((LOW, "kWh among MJ"), (HIGH, "MJ among kWh")):
        runs = runs_of(dates[day_sides == side])
        if not runs:
            continue
        when = ", ".join(f"{first} to {last}" for first, last in runs[:SHOWN])
        more = f" and {len(runs) - SHOWN} more times" if len(runs) > SHOWN else ""
        ratio = np.median(ratios[sides == side])
        raise StudyError(
            f"{name}, column {series.ghi_column}: from {when}{more} the values are {ratio:.2f} times "
            f"those of the same months of other years, as {way} (a factor of 3.6); convert these rows to "
            f"{series.ghi_unit}"
        )


def months_in_another_unit(dates, kt):
    """Months whose mean and clear days both differ by about 3.6 from those of the same months of other years.

    A run of `unit_change_months` months or more needs one other year, a shorter one `unit_change_years`. A month that
    is too low has no clear day, and the clear days of one that is too high cannot be: this tells which are at fault.

    Parameters
    ----------
    dates : datetime64[D] array [days]
    kt : float array [days]
        [-]

    Returns
    -------
    sides : int array [months]
        `LOW`, `HIGH` or 0, from the month of the first date on.
    ratios : float array [months]
        Mean over that of the same months of other years [-]; NaN where not known.
    """
    first = int(dates[0].astype("datetime64[M]").astype(int))
    at = dates.astype("datetime64[M]").astype(int) - first
    mean, clear = (np.full(at[-1] + 1, np.nan) for _ in range(2))
    for month in np.unique(at):
        days = kt[at == month]
        days = days[np.isfinite(days)]
        if days.size >= constant("record", "lightless_month_days"):
            mean[month], clear[month] = days.mean(), np.quantile(days, CLEAR_DAY)
    years, ratio, clear_ratio = (
        np.zeros(mean.size, int),
        np.full(mean.size, np.nan),
        np.full(mean.size, np.nan),
    )
    for month in np.flatnonzero(np.isfinite(mean)):
        others = np.arange(month % 12, mean.size, 12)
        others = others[np.isfinite(mean[others]) & (others != month)]
        if others.size:
            years[month] = others.size
            ratio[month] = mean[month] / np.median(mean[others])
            clear_ratio[month] = clear[month] / np.median(clear[others])
    least, most = constant("record", "unit_change_factor")
    dim, bright = constant("record", "unit_change_clear_days")
    sides = np.zeros(mean.size, int)
    for side in (LOW, HIGH):
        with np.errstate(invalid="ignore", divide="ignore"):
            factors = np.stack([ratio, clear_ratio]) ** side
            found = ((factors > least) & (factors < most)).all(0)
            found &= clear < dim if side == LOW else clear > bright
        sides[_sure(found, years)] = side
    return sides, ratio


def _sure(found, years):
    """Months found of which enough follow each other, or which have other years enough; bool [months]."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], found.astype(int), [0]])))
    out = found & (years >= constant("record", "unit_change_years"))
    for start, stop in zip(edges[::2], edges[1::2], strict=True):
        out[start:stop] |= stop - start >= constant("record", "unit_change_months")
    return out
