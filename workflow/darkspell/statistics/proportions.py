"""Intervals of a share: k of n, with independent members or with members that share parameter draws."""

import numpy as np

from darkspell.core.constants import constant

MEAN_LEVEL = constant("statistics", "mean_level")
DRAW_SPREAD = constant("statistics", "draw_spread")
EXCLUDED_EVENTS = constant("statistics", "excluded_events")


def wilson(k, n, level=MEAN_LEVEL):
    """Score interval of a share.

    Parameters
    ----------
    k, n : array_like
        Successes and trials [-]; fractions are allowed, for effective numbers.
    level : float
        Confidence level [-].

    Returns
    -------
    low, high : ndarray
        Bounds of the share [-].

    References
    ----------
    E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212; method 3 of R. G. Newcombe, Stat. Med. 17 (1998)
    857-872.
    """
    from scipy.special import ndtri

    k, n = np.asarray(k, float), np.asarray(n, float)
    z = ndtri(0.5 + level / 2)
    centre = (2 * k + z * z) / (2 * (n + z * z))
    half = z * np.sqrt(z * z + 4 * k * (1 - k / n)) / (2 * (n + z * z))
    return np.clip(centre - half, 0, 1), np.clip(centre + half, 0, 1)


def clopper_pearson(k, n, level=MEAN_LEVEL):
    """Exact interval of a share.

    Parameters
    ----------
    k : int or array
        Successes.
    n : int
        Trials.
    level : float
        Confidence level [-].

    Returns
    -------
    low, high : float or ndarray
        Bounds of the share [-], shape of `k`.

    References
    ----------
    C. J. Clopper & E. S. Pearson, Biometrika 26 (1934) 404-413; method 5 of Newcombe (1998).
    """
    k, n = np.asarray(k, float), np.asarray(n, float)
    return beta_bound(k, n - k + 1, (1 - level) / 2), beta_bound(k + 1, n - k, (1 + level) / 2)


def beta_bound(a, b, probability):
    """Quantile of the beta distribution, 0 where `a` is not positive and 1 where `b` is not.

    Parameters
    ----------
    a, b : float or array
        Parameters of the beta distribution.
    probability : float
        [-]

    Returns
    -------
    float or ndarray
        In 0..1, shape of `a`.
    """
    from scipy.special import betaincinv

    tiny = np.finfo(float).tiny
    inside = betaincinv(np.maximum(a, tiny), np.maximum(b, tiny), probability)
    return np.where(a <= 0, 0.0, np.where(b <= 0, 1.0, inside))


def assumed_design_effect(members, parameter_draws):
    """Design effect of members that share parameter draws, for events too few to measure it [-].

    With a chance of an event that varies over parameter draws with coefficient of variation v, the correlation within
    a parameter draw is about p v^2, and p is at most about 3 / members when hardly any event was seen.

    Parameters
    ----------
    members, parameter_draws : int
        Numbers of members and of parameter draws.

    Returns
    -------
    float
        At least 1.
    """
    inflation = EXCLUDED_EVENTS * DRAW_SPREAD**2 / parameter_draws
    return 1 + min(members / parameter_draws - 1, inflation)


def share_interval(values, parameter_draw, level=MEAN_LEVEL):
    """Interval of mean shares over members in parameter draws: Wilson's, with an effective number of members.

    Parameters
    ----------
    values : array_like
        Shares in 0..1 by member [-]; shape [members] or [members, K].
    parameter_draw : array_like
        Parameter draw of each member; shape [members].
    level : float
        Confidence level [-].

    Returns
    -------
    low, high : ndarray
        Bounds of the mean [-]; shape [] or [K].
    """
    values = np.asarray(values, float)
    members = values.shape[0]
    mean = values.mean(axis=0)
    variance, parameter_draws = _variance_of_mean(values, np.asarray(parameter_draw))
    largest = members / assumed_design_effect(members, parameter_draws)
    with np.errstate(divide="ignore", invalid="ignore"):
        effective = np.where(variance > 0, mean * (1 - mean) / variance, largest)
    effective = np.clip(effective, 1.0, largest)
    return wilson(mean * effective, effective, level)


def _variance_of_mean(values, parameter_draw):
    """Variance of the mean: the larger of that of parameter draw means and that of independent members."""
    names, at = np.unique(parameter_draw, return_inverse=True)
    members, parameter_draws = values.shape[0], names.size
    centred = values - values.mean(axis=0)
    independent = (centred**2).sum(axis=0) / (members * max(members - 1, 1))
    if parameter_draws < 2:
        return independent, parameter_draws
    totals = np.zeros((parameter_draws, *values.shape[1:]))
    np.add.at(totals, at, centred)
    clustered = (totals**2).sum(axis=0) / members**2 * parameter_draws / (parameter_draws - 1)
    return np.maximum(clustered, independent), parameter_draws
