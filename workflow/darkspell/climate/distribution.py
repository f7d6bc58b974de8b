"""Distribution of daily clearness within a month, and its adjustment to another mean or width.

Two shapes are used: quantiles of a climate source (atlas or file), and a published curve that needs only the
monthly mean.
"""

import numpy as np

from darkspell.climate.site_climate import PROBABILITIES, quantile_weights
from darkspell.core.constants import constant

STEEPEST, HALVINGS = 12.0, 40


def shift_to_mean(quantiles, mean, ceiling, probabilities=PROBABILITIES):
    """Shift quantiles of clearness in logit space until their mean has the given value.

    Parameters
    ----------
    quantiles : float array [..., Q]
        Ascending along the last axis [-].
    mean : float array [...]
        Target means, between 0 and the ceiling, both excluded [-].
    ceiling : float array [...]
        Upper limit of daily clearness [-].
    probabilities : float array [Q]
        Probabilities of the quantiles.

    Returns
    -------
    float64 array [..., Q]
        Ascending, between 0 and the ceiling.
    """
    ceiling = np.asarray(ceiling, float)[..., None]
    y = logit(quantiles, ceiling)
    weights = quantile_weights(probabilities)
    mean = np.asarray(mean, float)
    low, high = np.full(mean.shape, -STEEPEST), np.full(mean.shape, STEEPEST)
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        short = expit(y + middle[..., None], ceiling) @ weights < mean
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return expit(y + ((low + high) / 2.0)[..., None], ceiling)


def logit(kt, ceiling):
    """Logit of clearness relative to the ceiling: ``log(s / (1 - s))`` with ``s = kt / ceiling``.

    Parameters
    ----------
    kt : float array [...]
        Daily clearness [-]; `s` is limited to 0.001 to 0.999.
    ceiling : float array [...]
        Upper limit of daily clearness [-].

    Returns
    -------
    float64 array [...]
    """
    share = np.clip(np.asarray(kt, float) / ceiling, 1e-3, 1.0 - 1e-3)
    return np.log(share / (1.0 - share))


def expit(y, ceiling):
    """Inverse of `logit`.

    Parameters
    ----------
    y : float array [...]
    ceiling : float array [...]
        Upper limit of daily clearness [-].

    Returns
    -------
    float64 array [...]
        Clearness [-].
    """
    return ceiling / (1.0 + np.exp(-y))


def typical_quantiles(atlas, mean, ceiling):
    """Quantiles from known monthly means and the width of the atlas distribution.

    The published curve has the better dull tail, the atlas the better width. The curve is stretched in logit
    space until its standard deviation is that of the atlas at the same mean, smoothed over neighbouring months
    and corrected.

    Parameters
    ----------
    atlas : float array [12, Q]
        Quantiles of the atlas at `PROBABILITIES` [-].
    mean : float array [12]
        Monthly mean clearness [-].
    ceiling : float array [12]
        Upper limit of daily clearness [-].

    Returns
    -------
    float64 array [12, Q]
    """
    sd = shift_to_mean(atlas, mean, ceiling).std(axis=1)
    smooth = 0.25 * np.roll(sd, 1) + 0.5 * sd + 0.25 * np.roll(sd, -1)
    return of_width(mean, smooth * np.exp(constant("climate", "width_over_atlas")), ceiling)


def quantiles_without_atlas(mean, temp_air, ceiling):
    """Quantiles from monthly means and air temperature, where no atlas cell is near (sea, small islands).

    The published curve is too wide where it is warm: its standard deviation is multiplied by
    ``exp(base + slope * temp_air)``, fitted at the stations.

    Parameters
    ----------
    mean : float array [12]
        Monthly mean clearness [-].
    temp_air : float array [12]
        Monthly mean air temperature [degC].
    ceiling : float array [12]
        Upper limit of daily clearness [-].

    Returns
    -------
    float64 array [12, Q]
    """
    base, slope, low, high = constant("climate", "width_by_temperature")
    factor = np.exp(base + slope * np.clip(temp_air, low, high))
    return of_width(
        mean, shift_to_mean(textbook_quantiles(mean), mean, ceiling).std(axis=1) * factor, ceiling
    )


def of_width(mean, sd, ceiling):
    """Published curve, stretched in logit space to a given standard deviation and mean.

    Parameters
    ----------
    mean, sd : float arrays [12]
        Mean and standard deviation of daily clearness [-].
    ceiling : float array [12]
        Upper limit of daily clearness [-].

    Returns
    -------
    float64 array [12, Q]
    """
    curve = textbook_quantiles(mean)
    low, high = np.full(len(curve), -2.0), np.full(len(curve), 1.0)
    for _ in range(20):
        middle = (low + high) / 2.0
        narrow = shift_to_mean(stretched(curve, np.exp(middle), ceiling), mean, ceiling).std(axis=1) < sd
        low, high = np.where(narrow, middle, low), np.where(narrow, high, middle)
    return shift_to_mean(stretched(curve, np.exp((low + high) / 2.0), ceiling), mean, ceiling)


def stretched(quantiles, factor, ceiling):
    """Quantiles stretched about their median in logit space.

    Parameters
    ----------
    quantiles : float array [months, Q]
        Daily clearness [-].
    factor : float array [months]
        Factor on the distance from the median [-].
    ceiling : float array [months]
        Upper limit of daily clearness [-].

    Returns
    -------
    float64 array [months, Q]
    """
    ceiling = np.asarray(ceiling, float)[:, None]
    y = logit(quantiles, ceiling)
    middle = np.median(y, axis=1, keepdims=True)
    return expit(middle + np.asarray(factor)[:, None] * (y - middle), ceiling)


def smoothed_quantiles(kt, month, means, ceiling):
    """Quantiles of each month from its own days and those of its neighbours, shifted to its mean.

    Parameters
    ----------
    kt : float array [days]
        Daily clearness; NaN where unknown [-].
    month : int array [days]
        Calendar month of each day, 0-11.
    means : float array [12]
        Monthly means [-].
    ceiling : float array [12]
        Upper limit of daily clearness [-].

    Returns
    -------
    float64 array [12, Q]
    """
    middle = logit(means, ceiling)
    apart = logit(kt, ceiling[month]) - middle[month]
    quantiles = np.empty((12, PROBABILITIES.size))
    for number in range(12):
        near = np.abs((month - number + 6) % 12 - 6) <= 1
        days = apart[near & np.isfinite(apart)]
        if days.size == 0:
            days = apart[np.isfinite(apart)]
        deviations = np.quantile(days, PROBABILITIES, method="hazen")
        quantiles[number] = expit(middle[number] + deviations, ceiling[number])
    return shift_to_mean(quantiles, means, ceiling)


def textbook_distribution(kt, mean):
    """Cumulative distribution of daily clearness, from the monthly mean alone.

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
    """Quantiles of daily clearness from monthly means alone: the inverse of `textbook_distribution`.

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
    """Lowest and highest daily clearness, and the exponent gamma, of the published curve."""
    mean = np.asarray(mean, float)
    lowest = 0.05
    highest = 0.6313 + 0.267 * mean - 11.9 * (mean - 0.75) ** 8
    xi = (highest - lowest) / (highest - mean)
    gamma = -1.498 + (1.184 * xi - 27.182 * np.exp(-1.5 * xi)) / (highest - lowest)
    return np.full_like(mean, lowest), highest, gamma
