"""Daily distributions of clearness, interpolated between the middles of the months.

Interpolation avoids artificial steps at the ends of months. The monthly means are preserved.
"""

from typing import NamedTuple

import numpy as np

from darkspell.climate.distribution import expit
from darkspell.climate.site_climate import quantile_weights
from darkspell.core.calendar import DAYS, MONTH_LENGTHS, Calendar

SCORE_END, SCORE_STEP = 4.0, 0.05
LEAST_KT = 1e-4
TAIL = 2  # quantiles over which the slope of a tail is taken


class MonthlyInterpolation(NamedTuple):
    """A climate in the form that the compiled loop reads.

    Parameters
    ----------
    scores : float64 array [365, Z]
        Clearness in logit space by study day, at evenly spaced normal scores.
    middle : float64 array [365]
        Median of the same.
    ceiling : float64 array [365]
        Upper limit of clearness by study day [-].
    slow_phi : float64 array [12]
        Persistence by calendar month, as in `darkspell.climate.SiteClimate`.
    """

    scores: np.ndarray
    middle: np.ndarray
    ceiling: np.ndarray
    slow_phi: np.ndarray


def interpolated_months(climate, calendar):
    """A climate's quantiles by study day, computed once per climate and calendar.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate
    calendar : darkspell.core.calendar.Calendar

    Returns
    -------
    MonthlyInterpolation
    """
    return cached_on(climate, f"_months_{calendar.start_month}", lambda own: _interpolate(own, calendar))


def _interpolate(climate, calendar):
    y = logits(climate)
    before, after, share = neighbouring_months(calendar)
    lifted = y + level_corrections(climate, y)[:, None]
    table = np.array([extended(climate.probabilities, row) for row in lifted])
    monthly = table, np.median(lifted, axis=1), np.asarray(climate.kt_ceiling, float)
    by_day = [
        np.round((values[before].T * (1.0 - share) + values[after].T * share).T, 9) for values in monthly
    ]
    slow_phi = np.ascontiguousarray(climate.slow_phi, float)
    return MonthlyInterpolation(*map(np.ascontiguousarray, by_day), slow_phi)


def extended(probabilities, y):
    """Quantiles at evenly spaced normal scores; linear in the score beyond the outermost probabilities.

    A few days per century are duller than the lowest quantile of a month: they follow the slope of the tail.

    Parameters
    ----------
    probabilities : float array [Q]
    y : float array [Q]
        Quantiles in logit space, ascending.

    Returns
    -------
    float64 array [Z]
    """
    from scipy.special import ndtr, ndtri

    scores = np.arange(-SCORE_END, SCORE_END + SCORE_STEP / 2, SCORE_STEP)
    z, out = ndtri(probabilities), np.interp(ndtr(scores), probabilities, y)
    low, high = scores < z[0], scores > z[-1]
    out[low] = y[0] + (scores[low] - z[0]) * (y[TAIL] - y[0]) / (z[TAIL] - z[0])
    out[high] = y[-1] + (scores[high] - z[-1]) * (y[-1] - y[-1 - TAIL]) / (z[-1] - z[-1 - TAIL])
    return out


def neighbouring_months(calendar):
    """Months whose middles enclose each study day, and the weight of the later one.

    Parameters
    ----------
    calendar : darkspell.core.calendar.Calendar

    Returns
    -------
    before, after : int arrays [365]
        Calendar months, 0-11.
    share : float64 array [365]
        Weight of `after` [-].
    """
    middles = np.cumsum(MONTH_LENGTHS) - MONTH_LENGTHS / 2.0
    days = calendar.day_of_year - 0.5
    after = np.searchsorted(middles, days) % 12
    before = (after - 1) % 12
    gap = (middles[after] - middles[before]) % DAYS
    return before, after, np.round((days - middles[before]) % DAYS / gap, 9)


def level_corrections(climate, y):
    """Shift of each month that preserves the monthly means under interpolation.

    Without it, interpolation between the middles of months would flatten the peaks and troughs of the year.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate
    y : float array [12, Q]
        Quantiles in logit space.

    Returns
    -------
    float64 array [12]
        In logit space.
    """
    year = Calendar(1)
    before, after, share = neighbouring_months(year)
    weights = quantile_weights(climate.probabilities)
    monthly = np.asarray(climate.kt_ceiling, float)
    daily = (monthly[before] * (1.0 - share) + monthly[after] * share)[:, None]
    wanted, level = expit(y, monthly[:, None]) @ weights, np.zeros(12)
    for _ in range(12):
        lifted = y + level[:, None]
        days = lifted[before] * (1.0 - share)[:, None] + lifted[after] * share[:, None]
        means = np.bincount(year.month_of_day, expit(days, daily) @ weights) / MONTH_LENGTHS
        level = level + logit(wanted, monthly) - logit(means, monthly)
    return level


def logits(climate):
    """A climate's quantiles in logit space.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate

    Returns
    -------
    float64 array [12, Q]
    """
    return logit(np.clip(climate.kt_quantiles, LEAST_KT, None), np.asarray(climate.kt_ceiling)[:, None])


def cached_on(climate, name, make):
    """Value computed from a climate, stored on it: a climate never changes.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate
    name : str
        Attribute that stores the value.
    make : callable
        Computes the value from the climate.

    Returns
    -------
    object
    """
    cache = vars(climate)
    if name not in cache:
        cache[name] = make(climate)
    return cache[name]


def logit(kt, ceiling):
    """Logit of clearness relative to a ceiling: ``log(s / (1 - s))`` with ``s = kt / ceiling``, below 1.

    Parameters
    ----------
    kt : float array [...]
        [-].
    ceiling : float array [...]
        Upper limit of daily clearness [-].

    Returns
    -------
    float64 array [...]
    """
    x = np.minimum(kt / ceiling, 1.0 - 1e-6)
    return np.log(x / (1.0 - x))
