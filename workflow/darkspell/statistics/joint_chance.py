"""Probability that a site meets several targets at once, from that of each and from how they go together."""

from functools import cache

import numpy as np

from darkspell.core.keyed_random import stream_key, uniforms
from darkspell.statistics.site_interval import FEWEST_DRAWS

POINTS = 8192  # normal scores; the error of a chance is at most 0.005; our choice


def joint_chance(chances, badness, parameter_draw):
    """Probability that the long-run averages of a site meet all of several targets.

    Parameters
    ----------
    chances : array_like
        Probability that the site meets each target; shape [targets].
    badness : array_like
        What each target limits from above, by member, any unit; shape [members, targets].
    parameter_draw : array_like of int
        Parameter draw of each member; shape [members].

    Returns
    -------
    float
        At most the least of `chances`.

    Notes
    -----
    A Gaussian copula. Its correlations are those of the draws' means of the square roots, with the covariance of the
    years within draws taken off; where that leaves nothing, the targets are taken as independent.
    """
    chances = np.asarray(chances, float)
    if chances.size == 1 or not (chances > 0.0).all():
        return float(chances.min())
    from scipy.special import ndtri

    scores = _scores(chances.size) @ _root(_correlation(np.asarray(badness, float), parameter_draw))
    with np.errstate(divide="ignore"):
        kept = (scores <= ndtri(chances)).all(axis=1).mean()
    return float(min(kept, chances.min()))


def _correlation(badness, parameter_draw):
    """Correlation of the draws' long-run averages; [targets, targets]."""
    unit, count = np.eye(badness.shape[1]), badness.shape[0]
    names, at, years = np.unique(parameter_draw, return_inverse=True, return_counts=True)
    if names.size < FEWEST_DRAWS or years.min() < 2:
        return unit
    values = np.sqrt(np.abs(badness)) * np.sign(badness)
    means = np.zeros((names.size, values.shape[1]))
    np.add.at(means, at, values)
    means /= years[:, None]
    rest = values - means[at]
    within = rest.T @ rest / (count - names.size)
    between = np.atleast_2d(np.cov(means.T)) - within * (1.0 / years).mean()
    spread = np.sqrt(np.maximum(np.diag(between), 0.0))
    known = (spread[:, None] > 0.0) & (spread > 0.0)
    found = np.divide(between, np.outer(spread, spread), out=unit.copy(), where=known)
    np.fill_diagonal(found, 1.0)
    return np.clip(found, -1.0, 1.0)


def _root(correlation):
    """Matrix whose product with its transpose is the nearest correlation matrix that is one."""
    values, vectors = np.linalg.eigh(correlation)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    return (root / np.sqrt((root**2).sum(axis=1, keepdims=True))).T


@cache
def _scores(targets):
    """Independent normal scores, the same in every run; float64 [POINTS, targets]."""
    from scipy.special import ndtri

    key = stream_key(0, "statistics/joint_chance")
    return np.stack([ndtri(uniforms(key, k, POINTS)) for k in range(targets)], axis=1)
