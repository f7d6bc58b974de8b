"""How long a full bank carries the essential loads, by the month in which it starts."""

import numpy as np

from darkspell.statistics.proportions import MEAN_LEVEL
from darkspell.statistics.site_shares import site_shares

START_DAYS = (1, 11, 21)
START_HOUR = 18
HORIZON_DAYS = 60


def start_hours(calendar, hour=START_HOUR):
    """Hours of the study year at which autonomy, or a recovery, is started.

    Parameters
    ----------
    calendar : darkspell.core.calendar.Calendar
        The study year.
    hour : int
        Of the day, 0-23.

    Returns
    -------
    ndarray
        That hour on days 1, 11 and 21 of each calendar month, January first; int64 [36].
    """
    days = [calendar.study_day(month, day) for month in range(1, 13) for day in START_DAYS]
    return np.array(days) * 24 + hour


def by_month(hours):
    """Autonomy in days, ordered by start month.

    Parameters
    ----------
    hours : array_like
        Hours from each start to the first unserved one, the horizon where there is none [h]; [36, members],
        in the order of `start_hours`.

    Returns
    -------
    ndarray
        Days; float64 [12, members, 3].

    Raises
    ------
    ValueError
        If there are not 36 starts.
    """
    hours = np.asarray(hours, float)
    if hours.shape[0] != 12 * len(START_DAYS):
        raise ValueError(f"{hours.shape[0]} starts of autonomy; there must be {12 * len(START_DAYS)}")
    return hours.reshape(12, len(START_DAYS), -1).transpose(0, 2, 1) / 24


def survival(hours, parameter_draw, level=MEAN_LEVEL):
    """Probability that a start sees no unserved hour within so many days.

    Parameters
    ----------
    hours : array_like
        As in `by_month`.
    parameter_draw : array_like of int
        Parameter draw of each member; shape [members].
    level : float
        Confidence level [-].

    Returns
    -------
    probability, low, high, simulation_low, simulation_high : ndarray
        By start month, January first, and days 1 to 60 [-]; float64 [12, 60]. The probability is the mean over
        all years and starts. ``low`` and ``high`` bound it at this site, never closer than the sampling error.
        That is Wilson's with an effective number of years: three starts of one month and member are one sample,
        and parameter draws matter.
    """
    found = np.empty((5, 12, HORIZON_DAYS))
    for month, days in enumerate(by_month(hours)):  # one at a time: all would hold 20 kB a member
        found[:, month] = site_shares(survival_shares(days), parameter_draw, level)[:5]
    found[1:3] = np.minimum.accumulate(found[1:3], axis=2)
    return tuple(found)


def survival_shares(days):
    """Share of the starts of each member that last so many days or more.

    Parameters
    ----------
    days : array_like
        Of one start month, as `by_month`; [members, 3].

    Returns
    -------
    ndarray
        For 1 to 60 days [-]; float64 [members, 60].
    """
    return (np.asarray(days)[..., None] >= np.arange(1, HORIZON_DAYS + 1)).mean(axis=1)


def days_at(probability, level):
    """Days that a start lasts with a given probability, read off its curve between whole days.

    Parameters
    ----------
    probability : array_like
        That a start lasts 1, 2, ... 60 days or more [-]; shape [60].
    level : float
        Probability wanted [-].

    Returns
    -------
    float
        Its whole part is the longest span that lasts with that probability; the horizon where all do.
    """
    curve = np.concatenate([[1.0], np.minimum.accumulate(probability)])
    short = np.flatnonzero(curve < level)
    if not short.size:
        return float(HORIZON_DAYS)
    before, after = curve[short[0] - 1], curve[short[0]]
    return short[0] - 1 + (before - level) / (before - after)
