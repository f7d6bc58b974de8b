"""A typical year made of a measured record, so that the source "typical_year" can be judged where it was measured.

For each calendar month the measured month is taken whose days come nearest to those of all years, by the statistic of
Finkelstein & Schafer, Biometrika 58 (1971) 641-645, as typical meteorological years are made (Wilcox & Marion, Users
Manual for TMY3 Data Sets, NREL/TP-581-43156, 2008; authors and method from memory). There temperature, humidity and
wind have a say too, and hours are kept; here daily sunshine alone decides.
"""

import numpy as np

from darkspell.core.calendar import MONTH_LENGTHS

NO_YEAR = 0


def typical_days(dates, kt):
    """Daily clearness of the typical year, and the years that its months were taken from.

    Parameters
    ----------
    dates : datetime64[D] array [days]
        With or without 29 February, which is left out.
    kt : float array [days]
        Daily clearness; NaN where not known [-].

    Returns
    -------
    days : float64 array [365]
        1 January first; NaN where no measured month is complete.
    years : int array [12]
        `NO_YEAR` where no measured month is complete.
    """
    months = dates.astype("datetime64[M]")
    day = (dates - months).astype(int)
    days, years = [], []
    for month, length in enumerate(MONTH_LENGTHS):
        here = (months.astype(int) % 12 == month) & (day < length)
        pool = np.sort(kt[here & np.isfinite(kt)])
        whole = [name for name in np.unique(months[here]) if (here & (months == name)).sum() == length]
        candidates = [
            (_missing(kt[here & (months == name)]), _apart(kt[here & (months == name)], pool), name)
            for name in whole
        ]
        if not candidates:
            days.append(np.full(length, np.nan))
            years.append(NO_YEAR)
            continue
        best = min(candidates)[2]
        days.append(kt[here & (months == best)])
        years.append(int(str(best)[:4]))
    return np.concatenate(days), np.array(years)


def _missing(days):
    return int(np.isnan(days).sum())


def _apart(days, pool):
    """Mean distance of two empirical distributions at the days of the month (Finkelstein & Schafer).

    The k-th of n days stands for the share (k - 1/2) / n, as published: with k / n bright months would be preferred.
    """
    days = np.sort(days[np.isfinite(days)])
    if not days.size:
        return np.inf
    own = (np.arange(days.size) + 0.5) / days.size
    below, up_to = (np.searchsorted(pool, days, side=side) for side in ("left", "right"))
    return float(np.abs(own - (below + up_to) / 2.0 / pool.size).mean())
