"""What the loads use in the hours without sun, against what other hours of use of the planned loads explain.

The bank's current shows these hours whole; those in which the charger limits the current it does not. A load that the
study does not know shows itself by night if it runs then, even where the use of a whole day cannot be told.
"""

from dataclasses import dataclass

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.offset_evidence import sampling_error
from darkspell.log_analysis.quantities import DRAWS
from darkspell.log_analysis.unserved_loads import serving_hours


@dataclass(frozen=True)
class NightUse:
    """Use of the loads in the hours without sun over what the study says for those hours [-].

    Parameters
    ----------
    middle, low, high : float
        Median and 95 % interval by the log.
    least, most : float
        Central 95 % of what a system as planned has, its loads at other hours of their windows.
    beyond : float
        Probability that the use is greater than such a system's.
    """

    middle: float
    low: float
    high: float
    least: float
    most: float
    beyond: float


def night_use(hours, expected, depth, offset, rng):
    """Use of the loads in the hours without sun; `NightUse`, None where the log has too few of them.

    Parameters
    ----------
    hours : darkspell.log_analysis.quantities.Hours
    expected : darkspell.log_analysis.quantities.Expected
    depth : float array [H]
        From `darkspell.log_analysis.full_charge.depth_of`.
    offset : float array [draws]
        Current shown when none flows [A].
    rng : numpy.random.Generator
    """
    if not hours.measured_current or hours.measured_load:
        return None
    dark = expected.envelope <= 0.0
    use = serving_hours(hours, expected, depth, offset) & dark & np.roll(dark, 1) & np.roll(dark, -1)
    count = int(use.sum())
    if count < constant("log_analysis", "least_night_hours"):
        return None
    volts = np.where(np.isfinite(hours.voltage), hours.voltage, expected.resting)[use]
    weight = np.bincount(np.flatnonzero(use) % 24, minlength=24) / count
    shown = -(hours.current[use] * volts).mean() + offset[rng.integers(0, offset.size, DRAWS)] * volts.mean()
    scale = "power_sd_measured" if np.isfinite(hours.voltage).any() else "power_sd_assumed"
    shown = shown * (1.0 + constant("log_analysis", scale) * rng.standard_normal(DRAWS))
    shown += sampling_error(hours) * volts.mean() / np.sqrt(count) * rng.standard_normal(DRAWS)
    if hours.coarse:
        shown += expected.parts.block_wh / 24.0 * rng.standard_normal(DRAWS)
    planned, ordinary = _ordinary(expected.parts, weight, rng)
    if planned <= 0.0:
        return None
    low, middle, high = np.quantile(shown / planned, [0.025, 0.5, 0.975])
    least, most = np.maximum(np.quantile(ordinary / planned, [0.025, 0.975]), 0.0)
    beyond = float((shown > ordinary).mean())
    return NightUse(*(float(part) for part in (middle, low, high, least, most)), beyond)


def _ordinary(parts, weight, rng):
    """Planned mean power in hours of these weights, and draws of that of systems as planned [W]."""
    count = len(parts.choices) - 1  # the last part is what the study does not know
    own = constant("log_analysis", "own_load_sd")
    planned, out = 0.0, np.zeros(DRAWS)
    for part in range(count):
        courses = parts.courses[part, : parts.by_night[part]] @ weight
        planned += courses.mean()
        drawn = courses[rng.integers(0, courses.size, DRAWS)]
        out += drawn * np.exp(own * rng.standard_normal(DRAWS))
    unknown = parts.courses[-1] @ weight
    unknown = unknown[rng.integers(0, unknown.size, DRAWS)] * rng.standard_normal(DRAWS)
    common = 1.0 + constant("log_analysis", "ordinary_load_sd") * rng.standard_normal(DRAWS)
    return float(planned), common * out + constant("log_analysis", "unknown_load_sd") * unknown
