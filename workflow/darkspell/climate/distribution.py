"""The shape of a month of daily clearness, and how to move it to another mean.

Two shapes: the one a climate has (quantiles from the atlas or a file), and a textbook curve known from
the monthly mean alone, for places where there is nothing better.
"""

import numpy as np

from darkspell.climate.site_climate import PROBABILITIES, quantile_weights
from darkspell.core.constants import constant

STEEPEST, HALVINGS = 12.0, 40


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


def usual_quantiles(atlas, mean, latitude):
    """Quantiles where the monthly means are known and the atlas tells how far days differ.

    The textbook curve has the better dull tail, the atlas the better width: the curve is stretched in logit
    space until its SD is that of the atlas at the same mean, smoothed over neighbouring months and corrected.

    Parameters
    ----------
    atlas : float array [12, Q]
        Quantiles of the atlas at `PROBABILITIES` [-].
    mean : float array [12]
        Monthly mean clearness [-].
    latitude : float
        Of the site [degrees].

    Returns
    -------
    float64 array [12, Q]
    """
    sd = shift_to_mean(atlas, mean).std(axis=1)
    smooth = 0.25 * np.roll(sd, 1) + 0.5 * sd + 0.25 * np.roll(sd, -1)
    width = constant("climate", "belt_width")
    belt = float(np.exp(-((abs(latitude) / width) ** 4)))
    return of_width(
        mean, smooth * np.exp(constant("climate", "width_base") + constant("climate", "width_belt") * belt)
    )


def of_width(mean, sd):
    """Textbook quantiles, stretched in logit space to the SD given, at the mean given; [12, Q].

    Parameters
    ----------
    mean, sd : float arrays [12]
        Mean and standard deviation of daily clearness [-].
    """
    curve = textbook_quantiles(mean)
    low, high = np.full(len(curve), -2.0), np.full(len(curve), 1.0)
    for _ in range(20):
        middle = (low + high) / 2.0
        narrow = shift_to_mean(stretched(curve, np.exp(middle)), mean).std(axis=1) < sd
        low, high = np.where(narrow, middle, low), np.where(narrow, high, middle)
    return shift_to_mean(stretched(curve, np.exp((low + high) / 2.0)), mean)


def stretched(quantiles, factor):
    """Quantiles moved away from their median in logit space by a factor; [months, Q]."""
    y = logit(quantiles)
    middle = np.median(y, axis=1, keepdims=True)
    return expit(middle + np.asarray(factor)[:, None] * (y - middle))


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
