"""The shape of a month of daily clearness, and how to move it to another mean.

Two shapes: the one a climate has (quantiles from the atlas or a file), and a textbook curve known from
the monthly mean alone, for places where there is nothing better.
"""

import numpy as np

from darkspell.climate.model import PROBABILITIES, quantile_weights
from darkspell.constants import constant

STEEPEST, HALVINGS = 12.0, 60


def shift_to_mean(quantiles, mean, probabilities=PROBABILITIES):
    """Move quantiles of clearness in logit space, below the ceiling, until their mean is the one given.

    Parameters
    ----------
    quantiles : float array [..., Q]
        Rising along the last axis [-].
    mean : float array [...]
        Wanted means, between 0 and the ceiling (both excluded) [-].
    probabilities : float array [Q]

    Returns
    -------
    float64 array [..., Q]
        Rising, within 0 and the ceiling.
    """
    y = logit(quantiles)
    weights = quantile_weights(probabilities)
    mean = np.asarray(mean, float)
    low, high = np.full(mean.shape, -STEEPEST), np.full(mean.shape, STEEPEST)
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        short = expit(y + middle[..., None]) @ weights < mean
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return expit(y + ((low + high) / 2.0)[..., None])


def logit(kt):
    """Logit of clearness below the ceiling; values at 0 or at the ceiling are taken just inside."""
    share = np.clip(np.asarray(kt, float) / constant("climate", "ceiling"), 1e-3, 1.0 - 1e-3)
    return np.log(share / (1.0 - share))


def expit(y):
    """Inverse of `logit`."""
    return constant("climate", "ceiling") / (1.0 + np.exp(-y))


def textbook_distribution(kt, mean):
    """Share of days with a clearness up to `kt`, from the monthly mean alone.

    Bendt, Collares-Pereira & Rabl (1981) with the limits of Hollands & Huget (1983); Duffie & Beckman,
    Solar Engineering of Thermal Processes, eqs 2.9.4-2.9.6.

    Parameters
    ----------
    kt : float array [...]
        Daily clearness [-].
    mean : float
        Monthly mean clearness [-].

    Returns
    -------
    float64 array [...]
    """
    lowest, highest, gamma = _textbook_limits(mean)
    kt = np.clip(kt, lowest, highest)
    start, end = np.exp(gamma * lowest), np.exp(gamma * highest)
    return (start - np.exp(gamma * kt)) / (start - end)


def textbook_quantiles(mean, probabilities=PROBABILITIES):
    """Quantiles of daily clearness from monthly means alone; the inverse of `textbook_distribution`.

    Parameters
    ----------
    mean : float array [months]
        Monthly mean clearness [-].
    probabilities : float array [Q]

    Returns
    -------
    float64 array [months, Q]
    """
    lowest, highest, gamma = (part[:, None] for part in _textbook_limits(np.atleast_1d(mean)))
    start, end = np.exp(gamma * lowest), np.exp(gamma * highest)
    return np.log(start - np.asarray(probabilities) * (start - end)) / gamma


def _textbook_limits(mean):
    """Lowest and highest daily clearness, and gamma, of the textbook curve."""
    mean = np.asarray(mean, float)
    lowest = 0.05
    highest = 0.6313 + 0.267 * mean - 11.9 * (mean - 0.75) ** 8
    xi = (highest - lowest) / (highest - mean)
    gamma = -1.498 + (1.184 * xi - 27.182 * np.exp(-1.5 * xi)) / (highest - lowest)
    return np.full_like(mean, lowest), highest, gamma
