"""The distributions of clearness day by day: between the middles of two months they lie between theirs.

A step at the end of a month would be one of the tables, not of the weather. The months' means stay what they are.
"""

from typing import NamedTuple

import numpy as np

from darkspell.climate.site_climate import quantile_weights
from darkspell.core.calendar import DAYS, MONTH_LENGTHS, Calendar
from darkspell.core.constants import constant

SCORE_END, SCORE_STEP = 4.0, 0.05


class Months(NamedTuple):
    """A climate as the compiled loop takes it.

    `scores` [365, Z] is clearness in logit space by study day at evenly spaced normal scores, `middle` [365] its
    median; the persistence is by calendar month.
    """

    scores: np.ndarray
    middle: np.ndarray
    slow_phi: np.ndarray
    slow_weight: np.ndarray


def months_of(climate, calendar):
    """A climate's quantiles at even normal scores by study day, made once a climate and calendar."""
    return kept(climate, f"_months_{calendar.start_month}", lambda one: _makemonths_of(one, calendar))


def _makemonths_of(climate, calendar):
    from scipy.special import ndtr

    scores = ndtr(np.arange(-SCORE_END, SCORE_END + SCORE_STEP / 2, SCORE_STEP))
    y = logits(climate)
    before, after, share = betweenmonths_of(calendar)
    lifted = y + level_ofmonths_of(climate, y)[:, None]
    table = np.array([np.interp(scores, climate.probabilities, row) for row in lifted])
    middle = np.median(lifted, axis=1)
    by_day = [
        np.round((one[before].T * (1.0 - share) + one[after].T * share).T, 9) for one in (table, middle)
    ]
    parts = (np.ascontiguousarray(part, float) for part in (climate.slow_phi, climate.slow_weight))
    return Months(*map(np.ascontiguousarray, by_day), *parts)


def betweenmonths_of(calendar):
    """Months whose middles lie about each study day, and the share of the later one; three arrays [365]."""
    middles = np.cumsum(MONTH_LENGTHS) - MONTH_LENGTHS / 2.0
    days = calendar.day_of_year - 0.5
    after = np.searchsorted(middles, days) % 12
    before = (after - 1) % 12
    gap = (middles[after] - middles[before]) % DAYS
    return before, after, np.round((days - middles[before]) % DAYS / gap, 9)


def level_ofmonths_of(climate, y):
    """What the months' quantiles, y [12, Q] in logit space, move by so that days drawn between the middles keep
    the months' means; [12].

    Between the middles of two months the distribution is between theirs, without a step at the end of a month;
    left as they are, the months' own values would cut off the tops and fill the hollows of the year.
    """
    year = Calendar(1)
    before, after, share = betweenmonths_of(year)
    weights = quantile_weights(climate.probabilities)
    wanted, level = expit(y, ceiling()) @ weights, np.zeros(12)
    for _ in range(12):
        lifted = y + level[:, None]
        days = lifted[before] * (1.0 - share)[:, None] + lifted[after] * share[:, None]
        means = np.bincount(year.month_of_day, expit(days, ceiling()) @ weights) / MONTH_LENGTHS
        level = level + logit(wanted, ceiling()) - logit(means, ceiling())
    return level


def logits(climate):
    """A climate's quantiles in logit space; [12, Q]."""
    return logit(np.clip(climate.kt_quantiles, 1e-4, None), ceiling())


def kept(climate, name, make):
    """What `make` makes of a climate, kept with it: a climate never changes."""
    kept = vars(climate)
    if name not in kept:
        kept[name] = make(climate)
    return kept[name]


def ceiling():
    """Clearness that no day passes [-]."""
    return float(constant("weather", "clearness_ceiling"))


def logit(kt, ceiling):
    """Logit of clearness below a ceiling; values at or above it are taken just below."""
    x = np.minimum(kt / ceiling, 1.0 - 1e-6)
    return np.log(x / (1.0 - x))


def expit(y, ceiling):
    """Inverse of `logit`."""
    return ceiling / (1.0 + np.exp(-y))
