"""Daily distributions of clearness, interpolated between the middles of the months.

Interpolation avoids artificial steps at the ends of months. The monthly means are preserved.
"""

from typing import NamedTuple

import numpy as np

from darkspell.climate.site_climate import quantile_weights
from darkspell.core.calendar import DAYS, MONTH_LENGTHS, Calendar
from darkspell.core.constants import constant

SCORE_END, SCORE_STEP = 4.0, 0.05


class MonthlyInterpolation(NamedTuple):
    """A climate in the form that the compiled loop reads.

    Parameters
    ----------
    scores : float64 array [365, Z]
        Clearness in logit space by study day, at evenly spaced normal scores.
    middle : float64 array [365]
        Median of the same.
    slow_phi, slow_weight : float64 arrays [12]
        Persistence by calendar month, as in `darkspell.climate.SiteClimate`.
    """

    scores: np.ndarray
    middle: np.ndarray
    slow_phi: np.ndarray
    slow_weight: np.ndarray


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
    from scipy.special import ndtr

    scores = ndtr(np.arange(-SCORE_END, SCORE_END + SCORE_STEP / 2, SCORE_STEP))
    y = logits(climate)
    before, after, share = neighbouring_months(calendar)
    lifted = y + level_corrections(climate, y)[:, None]
    table = np.array([np.interp(scores, climate.probabilities, row) for row in lifted])
    middle = np.median(lifted, axis=1)
    by_day = [
        np.round((values[before].T * (1.0 - share) + values[after].T * share).T, 9)
        for values in (table, middle)
    ]
    parts = (np.ascontiguousarray(part, float) for part in (climate.slow_phi, climate.slow_weight))
    return MonthlyInterpolation(*map(np.ascontiguousarray, by_day), *parts)


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
    wanted, level = expit(y, ceiling()) @ weights, np.zeros(12)
    for _ in range(12):
        lifted = y + level[:, None]
        days = lifted[before] * (1.0 - share)[:, None] + lifted[after] * share[:, None]
        means = np.bincount(year.month_of_day, expit(days, ceiling()) @ weights) / MONTH_LENGTHS
        level = level + logit(wanted, ceiling()) - logit(means, ceiling())
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
    return logit(np.clip(climate.kt_quantiles, 1e-4, None), ceiling())


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


def ceiling():
    """Upper limit of daily clearness [-]."""
    return float(constant("weather", "clearness_ceiling"))


def logit(kt, ceiling):
    """Logit of clearness relative to a ceiling: ``log(s / (1 - s))`` with ``s = kt / ceiling``, below 1.

    Parameters
    ----------
    kt : float array [...]
        [-].
    ceiling : float
        [-].

    Returns
    -------
    float64 array [...]
    """
    x = np.minimum(kt / ceiling, 1.0 - 1e-6)
    return np.log(x / (1.0 - x))


def expit(y, ceiling):
    """Inverse of `logit`.

    Parameters
    ----------
    y : float array [...]
    ceiling : float
        [-].

    Returns
    -------
    float64 array [...]
        Clearness [-].
    """
    return ceiling / (1.0 + np.exp(-y))
