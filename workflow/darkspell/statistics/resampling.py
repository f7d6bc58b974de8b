"""Bootstrap over parameter draws, then members within them: weights once, then any number of statistics.

A plain two-stage bootstrap counts the scatter within a parameter draw twice, since parameter draw means
carry it already
(Davison & Hinkley, Bootstrap Methods and their Application, 1997, section 3.8). Here the deviations of parameter draw
means are shrunk to what the parameter draws themselves contribute, so that the variance comes out right.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from darkspell.core.constants import constant
from darkspell.core.jit import kernel
from darkspell.core.keyed_random import stream_key, uniforms

REPLICATES = constant("statistics", "replicates")
_BLOCK = 64


@dataclass(frozen=True)
class Resampling:
    """How often each parameter draw and each member was drawn.

    Attributes
    ----------
    order : ndarray
        Members sorted by parameter draw; shape [members].
    first, sizes : ndarray
        Place in `order` of each parameter_draw's first member, and its number of members; shape [parameter_draws].
    chosen : ndarray
        Times that each parameter draw was drawn; uint8 [replicates, parameter_draws].
    picked : ndarray
        Times that each member, sorted by parameter draw, was drawn within them; uint8 [replicates, members].
    """

    order: np.ndarray
    first: np.ndarray
    sizes: np.ndarray
    chosen: np.ndarray
    picked: np.ndarray


def resampling(parameter_draw, seed=0, replicates=REPLICATES):
    """Draw the weights; the key is ``(seed, "statistics/bootstrap", replicate)``.

    Parameters
    ----------
    parameter_draw : array_like of int
        Parameter draw of each member; shape [members].
    seed : int
        The study's seed.
    replicates : int
        Number of replicates.

    Returns
    -------
    Resampling
        The same object for the same arguments: it is kept for the next statistic.
    """
    parameter_draw = np.ascontiguousarray(parameter_draw, np.int64)
    return _resampling(parameter_draw.tobytes(), int(seed), int(replicates))


@lru_cache(maxsize=4)
def _resampling(world_bytes, seed, replicates):
    parameter_draw = np.frombuffer(world_bytes, np.int64)
    _, first, sizes = np.unique(np.sort(parameter_draw), return_index=True, return_counts=True)
    key = stream_key(seed, "statistics/bootstrap")
    chosen, picked = _draw(key, first, sizes, replicates)
    return Resampling(np.argsort(parameter_draw, kind="stable"), first, sizes, chosen, picked)


@kernel
def _draw(key, first, sizes, replicates):
    parameter_draws = sizes.size
    chosen = np.zeros((replicates, parameter_draws), np.uint8)  # about one each: 255 is out of reach
    picked = np.zeros((replicates, sizes.sum()), np.uint8)
    for r in range(replicates):
        u = uniforms(key, r, parameter_draws * (1 + sizes.max()))
        at = parameter_draws
        for i in range(parameter_draws):
            w = int(u[i] * parameter_draws)
            chosen[r, w] += 1
            for _ in range(sizes[w]):
                picked[r, first[w] + int(u[at] * sizes[w])] += 1
                at += 1
    return chosen, picked


def replicate_means(values, draws, stretch=1.0):
    """Means of every replicate.

    Parameters
    ----------
    values : ndarray
        Statistics by member; float64 [members, K].
    draws : Resampling
        Weights from `resampling`.
    stretch : float
        Factor on the deviations of parameter draws, for the uncertainty of a variance from few parameter draws [-].

    Returns
    -------
    means : ndarray
        Mean of each replicate; [replicates, K].
    influence : ndarray
        What each parameter draw, then each member adds to the mean's error; [parameter_draws + members, K].
    """
    members = values.shape[0]
    values = values[draws.order]
    between, within = _deviations(values, draws)
    influence = np.concatenate((between * stretch, within)) / members
    parameter_draws = draws.sizes.size
    means = weighted_sums(draws.chosen, influence[:parameter_draws]) + weighted_sums(
        draws.picked, influence[parameter_draws:]
    )
    return means + values.mean(axis=0), influence


def _deviations(values, draws):
    """Deviations of parameter draws (summed over their members, shrunk) and of members within (rescaled)."""
    members, parameter_draws = values.shape[0], draws.sizes.size
    sizes = draws.sizes[:, None]
    world_mean = np.add.reduceat(values, draws.first) / sizes
    of_world = world_mean - values.mean(axis=0)
    of_member = values - np.repeat(world_mean, draws.sizes, axis=0)
    keep = np.ones(values.shape[1])
    if members > parameter_draws > 1:
        mean_square_between = (sizes * of_world**2).sum(axis=0) / (parameter_draws - 1)
        mean_square_within = (of_member**2).sum(axis=0) / (members - parameter_draws)
        with np.errstate(divide="ignore", invalid="ignore"):
            keep = np.sqrt(np.maximum(1 - mean_square_within / mean_square_between, 0))
    unbias = np.sqrt(parameter_draws / max(parameter_draws - 1, 1))
    spread = np.repeat(np.sqrt(sizes / np.maximum(sizes - 1, 1)), draws.sizes, axis=0)
    return np.nan_to_num(of_world * sizes * keep * unbias), of_member * spread


def weighted_sums(weights, values):
    """Product of integer weights and values, summed in a fixed order so that the bits are the same anywhere.

    Parameters
    ----------
    weights : ndarray
        uint8 [replicates, members].
    values : ndarray
        float64 [members, K].

    Returns
    -------
    float64 array [replicates, K]
    """
    blocks = [
        _weighted_sums(weights, np.ascontiguousarray(values[:, k : k + _BLOCK]))
        for k in range(0, values.shape[1], _BLOCK)
    ]
    return np.concatenate(blocks, axis=1)


@kernel
def _weighted_sums(weights, values):
    out = np.zeros((weights.shape[0], values.shape[1]))
    for r in range(weights.shape[0]):
        for m in range(weights.shape[1]):
            weight = float(weights[r, m])
            if weight != 0.0:
                for k in range(values.shape[1]):
                    out[r, k] += weight * values[m, k]
    return out


def replicate_quantiles(values, draws, quantile):
    """Quantile of the members of every replicate of parameter draws (of members, where there is one parameter draw).

    Parameters
    ----------
    values : ndarray
        Statistics by member; float64 [members, draws a member].
    draws : Resampling
        Weights from `resampling`.
    quantile : float
        Which quantile, 0..1 [-].

    Returns
    -------
    ndarray
        Quantile of each replicate; float64 [replicates].
    """
    parameter_draws = draws.sizes.size
    weights, unit = (draws.chosen, np.repeat(np.arange(parameter_draws), draws.sizes))
    if parameter_draws == 1:
        weights, unit = draws.picked, np.arange(values.shape[0])
    flat, unit = values[draws.order].ravel(), np.repeat(unit, values.shape[1])
    order = np.argsort(flat, kind="stable")
    return _weighted_quantiles(weights, unit[order], flat[order], quantile)


@kernel
def _weighted_quantiles(weights, unit, ordered, quantile):
    found = np.empty(weights.shape[0])
    for r in range(found.size):
        total = 0
        for i in range(unit.size):
            total += weights[r, unit[i]]
        at, seen = 0, np.int64(weights[r, unit[0]])
        while seen < quantile * total:
            at += 1
            seen += weights[r, unit[at]]
        found[r] = ordered[at]
    return found
