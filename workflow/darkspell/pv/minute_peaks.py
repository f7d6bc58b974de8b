"""Energy that a controller's limit takes from the minutes of an hour whose mean it does not touch.

The minutes of an hour are taken as even between (1 - w) and (1 + w) times its mean; the half width w follows the
hour's clear-sky index, zero in clear and in overcast hours. A limit L then takes P (w - |1 - L / P|)^2 / (4 w) beyond
what it takes from the mean P. Shape and numbers: one-minute record of Payerne (Baseline Surface Radiation Network),
June 2016; every other two days fitted, the rest judge (`tests/pv/test_minute_peaks.py`).
"""

import numpy as np

from darkspell.core.constants import constant
from darkspell.core.jit import shared_inlined

ZERO, ONE, QUARTER = (np.float32(value) for value in (0.0, 1.0, 0.25))
LEAST_WIDTH, LEAST_INDEX = np.float32(1e-3), np.float32(0.05)


def peak_terms():
    """Greatest half width over the clear sky, index at which it is reached, and one over the distance to none.

    Returns
    -------
    tuple of three numpy.float32
        [-].
    """
    height, centre, reach = (constant("pv", "minutes", name) for name in ("height", "centre", "reach"))
    return np.float32(height), np.float32(centre), np.float32(1.0 / reach)


@shared_inlined
def relative_width(index, terms):
    """Half width of the minutes about their hour's mean, over that mean [-].

    Parameters
    ----------
    index : float32
        Clear-sky index of the hour [-].
    terms : tuple of float32
        From `peak_terms`.

    Returns
    -------
    float32
        [-]
    """
    height, centre, per_reach = terms
    away = (index - centre) * per_reach
    width = height * (ONE - away * away) / (index if index > LEAST_INDEX else LEAST_INDEX)
    return width if width > LEAST_WIDTH else LEAST_WIDTH


@shared_inlined
def without_peaks(power, width, limit):
    """Mean of the hour less what a limit takes from its minutes, but not what it takes from the mean [W].

    Parameters
    ----------
    power, width, limit : float32
        Mean [W], half width [-] and limit [W].

    Returns
    -------
    float32
        [W]
    """
    away = ONE - limit / power
    inside = width - (away if away > ZERO else -away)
    inside = inside if inside > ZERO else ZERO
    return power - power * (QUARTER * inside * inside / width) if power > ZERO else ZERO
