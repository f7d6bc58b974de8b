"""Random factors with a mean of exactly one: the day's energy, and the uncertainty of the whole budget."""

from functools import cache
from math import log1p, sqrt
from statistics import NormalDist

import numpy as np

from darkspell.core.keyed_random import normals, stream_key

STEPS = 1024
_ROUND = 2.0**20  # rounding hides the last bits, in which platforms' exponentials differ


@cache
def day_factors(spread, largest=np.inf):
    """Equally likely factors on the energy of a day of use.

    A lognormal distribution cut into `STEPS` slices of equal probability, each represented by its own mean,
    so that the mean of the table is one. Where a day cannot hold more than `largest` times its mean energy
    (the window is full), the table is ``min(largest, a x)`` with ``a`` such that the mean stays one: the
    spread shrinks, the budget does not. An appliance that is always on has no spread at all.

    Parameters
    ----------
    spread : float
        Standard deviation of the factor before the limit.
    largest : float, optional
        Largest factor possible, at least 1.

    Returns
    -------
    numpy.ndarray
        Factors in rising order, float32 [STEPS], mean 1 within float32's last digit; read-only.
    """
    factors = _slices(spread)
    if largest <= 1.0 + 1e-9:
        factors = np.ones(STEPS)
    elif factors[-1] > largest:
        factors = np.minimum(largest, _stretch(factors, largest) * factors)
    factors = factors.astype(np.float32)
    factors.setflags(write=False)
    return factors


def _stretch(factors, largest):
    """The ``a`` for which ``min(largest, a x)`` has mean 1, by bisection."""
    low, high = 1.0, 2.0
    while np.minimum(largest, high * factors).mean() < 1.0:
        high *= 2.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if np.minimum(largest, middle * factors).mean() < 1.0 else (low, middle)
    return high


def uncertainty_factors(parameter_draw, seed, uncertainty_pct):
    """Factor on the whole budget of each member, one draw a parameter draw: people guess.

    Lognormal with mean 1 and a standard deviation of `uncertainty_pct` percent, stream ``loads/doubt``.

    Parameters
    ----------
    parameter_draw : array_like of int
        Parameter draw of each member, shape [L].
    seed : int
        The study's seed.
    uncertainty_pct : float
        Standard deviation [%].

    Returns
    -------
    numpy.ndarray
        Factor, float32 [L].
    """
    sigma = sqrt(log1p((uncertainty_pct / 100.0) ** 2))
    key = stream_key(seed, "loads/doubt")
    draws = np.array([normals(key, int(w), 1)[0] for w in np.asarray(parameter_draw)])
    return (np.round(np.exp(sigma * draws - 0.5 * sigma**2) * _ROUND) / _ROUND).astype(np.float32)


def _slices(spread):
    """Mean of each slice of the lognormal, from its partial expectations E[x; z < b] = Phi(b - sigma)."""
    if spread <= 0.0:
        return np.ones(STEPS)
    sigma = sqrt(log1p(spread**2))
    normal = NormalDist()
    edges = [normal.inv_cdf(i / STEPS) for i in range(1, STEPS)]
    below = np.array([0.0, *(normal.cdf(z - sigma) for z in edges), 1.0])
    return np.round(np.diff(below) * STEPS * _ROUND) / _ROUND
