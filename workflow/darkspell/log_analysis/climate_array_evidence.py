"""Array output where the weather of the log's dates is not known, from its brighter hours.

A given share of the hours of one time of day is brighter than a certain light, in the log as in drawn years of the
climate. The current that this share of the log's hours exceeds is compared with that of each drawn year. An hour in
which the charger limits the current counts as brighter: it never makes the array seem small.
"""

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.full_charge import bulk_hours
from darkspell.log_analysis.quantities import DRAWS

LEAST_DAYS = 20  # of one time of day
STRONG = 3.0  # light over the load: else the load's own uncertainty hides the array's


def climate_array_draws(hours, expected, depth, offset, courses, high, frost, rng):
    """Draws of the array factor [-], float64 [draws]; None where too few hours show it.

    Parameters
    ----------
    hours, expected, depth, offset, courses, rng
        As for `darkspell.log_analysis.array_evidence.array_draws`.
    high : bool array [H]
        Hours of high sun.
    frost : float
        How far snow has to be reckoned with, 0 to 1.
    """
    volts = np.where(np.isfinite(hours.voltage), hours.voltage, 1.02 * expected.resting)
    load = np.median(courses, axis=0)
    clock = np.arange(volts.size) % 24
    given = hours.current - np.median(offset) + load[clock] / volts
    given = np.where(bulk_hours(hours, expected, depth), given, np.inf)
    known, share = high & np.isfinite(hours.current), constant("log_analysis", "bright_share")
    seen, usual, error = 0.0, 0.0, 0.0
    for h in range(24):
        at = known & (clock == h)
        if at.sum() < LEAST_DAYS:
            continue
        level, light = (
            np.quantile(given[at], share, method="inverted_cdf"),
            np.quantile(expected.array[at], share),
        )
        if not np.isfinite(level) or light < STRONG * load[h] / volts[at].mean():
            continue
        seen += level
        usual = usual + np.quantile(expected.array[at].astype(float), share, axis=0)
        error = error + (courses[:, h] - load[h]) / volts[at].mean() - (offset - np.median(offset))
    if seen <= 0.0 or np.min(usual) <= 0.0:
        return None
    own = [constant("log_analysis", name) for name in ("array_model_sd", "bright_hours_sd")]
    own.append(constant("log_analysis", "snow_sd") * frost)
    own.append(constant("log_analysis", "coarse_rows_sd") if hours.coarse else 0.0)
    noise = np.exp(np.hypot.reduce(own) * rng.standard_normal(DRAWS))
    hidden = constant("log_analysis", "snow_hides") * frost * rng.random(DRAWS)
    year = usual[rng.integers(0, usual.size, DRAWS)]
    return np.maximum((seen + error) / year * noise / (1.0 - hidden), 0.02)
