"""Two kinds of interval, never mixed: of the mean (how well it is known), of a year (what may come)."""

import numpy as np

from darkspell.core.constants import constant
from darkspell.statistics.proportions import (
    MEAN_LEVEL,
    assumed_design_effect,
    beta_bound,
    clopper_pearson,
    share_interval,
    wilson,
)

__all__ = [
    "clopper_pearson", "difference_interval", "mean_interval", "mean_intervals", "quantile_interval",
    "share_interval", "verdict", "wilson", "year_interval",
]  # fmt: skip

YEAR_LEVEL = constant("statistics", "year_level")
RARE_MEMBERS = constant("statistics", "rare_members")
RARE_DRAWS = constant("statistics", "rare_draws")
BOOTSTRAP = "bootstrap over parameter draws, then years"
EXACT = "exact bounds on the share of years with an event"
UNKNOWN = "no values"
_BLOCK = 128


def mean_interval(values, parameter_draw, level=MEAN_LEVEL, seed=0, unit_size=1.0):
    """Interval of one mean; see `mean_intervals`.

    Parameters
    ----------
    values : array_like [members]
        Any unit.
    parameter_draw : array_like of int [members]
    level : float
        Confidence level [-].
    seed : int
        The study's seed, for the bootstrap.
    unit_size : float
        Size of one event, in the unit of the values, where none was seen.

    Returns
    -------
    low, high : float
        Bounds of the mean.
    method : str
    """
    low, high, method = mean_intervals(
        np.asarray(values, float)[:, None], parameter_draw, level, seed, unit_size
    )
    return float(low[0]), float(high[0]), method[0]


def mean_intervals(values, parameter_draw, level=MEAN_LEVEL, seed=0, unit_size=1.0):
    """Intervals of the means of many statistics over members that share parameter draws.

    Parameters
    ----------
    values : array_like
        Statistics by member, any unit; shape [members, K]. Members that are not a number are left out.
    parameter_draw : array_like of int
        Parameter draw of each member; shape [members].
    level : float
        Confidence level [-].
    seed : int
        The study's seed, for the bootstrap.
    unit_size : array_like
        Size of one event, in the unit of the values, where none was seen; scalar or [K].

    Returns
    -------
    low, high : ndarray
        Bounds of the mean; shape [K].
    method : list of str
        `BOOTSTRAP`, `EXACT` or `UNKNOWN`, by statistic.

    Notes
    -----
    The bootstrap's limits are corrected for bias and skewness (BCa; Efron, J. Am. Stat. Assoc. 82 (1987)
    171-185), with the bias correction of a mean, which equals the acceleration. `EXACT` serves where values
    are never negative, some are zero, and fewer than 20 members or fewer than 10 parameter draws saw an
    event (a value
    above zero): see `_rare_bounds`.
    """
    values, parameter_draw = np.asarray(values, float), np.asarray(parameter_draw)
    count = values.shape[1]
    size = np.broadcast_to(np.asarray(unit_size, float), (count,))
    low, high, method = np.full(count, np.nan), np.full(count, np.nan), [UNKNOWN] * count
    present = np.isfinite(values)
    for rows in {column.tobytes() for column in present.T}:
        keep = np.frombuffer(rows, bool)
        columns = np.flatnonzero((present == keep[:, None]).all(axis=0))
        if keep.any():
            part = _complete_intervals(
                values[np.ix_(keep, columns)], parameter_draw[keep], level, seed, size[columns]
            )
            low[columns], high[columns] = part[:2]
            for column, name in zip(columns, part[2], strict=True):
                method[column] = name
    return low, high, method


def _complete_intervals(values, parameter_draw, level, seed, size):
    rare = _is_rare(values, parameter_draw)
    low, high = np.empty(rare.size), np.empty(rare.size)
    low[rare], high[rare] = _rare_bounds(values[:, rare], parameter_draw, level, size[rare])
    common = np.flatnonzero(~rare)
    for columns in np.split(common, range(_BLOCK, common.size, _BLOCK)):
        if columns.size:
            low[columns], high[columns] = _bootstrap_bounds(values[:, columns], parameter_draw, level, seed)
    return low, high, [EXACT if r else BOOTSTRAP for r in rare]


def _draw_totals(values, parameter_draw):
    names, at = np.unique(parameter_draw, return_inverse=True)
    totals = np.zeros((names.size, values.shape[1]))
    np.add.at(totals, at, values)
    return totals


def _is_rare(values, parameter_draw):
    members_seen = (values > 0).sum(axis=0)
    totals = _draw_totals(values, parameter_draw)
    draws_seen = (totals > 0).sum(axis=0)
    few_draws = (draws_seen < RARE_DRAWS) & (draws_seen < totals.shape[0])
    few = (members_seen < RARE_MEMBERS) | few_draws
    return (values >= 0).all(axis=0) & (members_seen < values.shape[0]) & few


def _rare_bounds(values, parameter_draw, level, unit_size):
    """Exact bounds on the share of years with an event, times the size of an event.

    With events of one size in independent years this is Clopper & Pearson's interval times the size. Sizes
    that differ, and events that share a parameter draw, count as fewer events: (sum T)^2 / sum T^2 over
    parameter draw totals
    T. The upper bound adds one event of the largest total seen, or of `unit_size` if that is larger, as M. P.
    Fay & E. J. Feuer, Stat. Med. 16 (1997) 791-801, do for weighted sums of Poisson counts.
    """
    members = values.shape[0]
    totals = _draw_totals(values, parameter_draw)
    effect = assumed_design_effect(members, totals.shape[0])
    total = values.sum(axis=0)
    square = np.maximum((totals**2).sum(axis=0), effect * (values**2).sum(axis=0))
    extra = np.maximum(np.maximum(totals.max(axis=0), values.max(axis=0) * effect), unit_size * effect)
    lower_size, lower_count = _size_and_count(total, square)
    upper_size, upper_count = _size_and_count(total + extra, square + extra**2)
    events = np.maximum((values > 0).sum(axis=0), 1)
    years = members * np.where(total > 0, lower_count / events, 1 / effect)
    scale = np.where(total > 0, total / events, 0.0)
    low = scale * beta_bound(lower_count, years - lower_count + 1, (1 - level) / 2)
    high = upper_size * years / members * beta_bound(upper_count, years - upper_count + 1, (1 + level) / 2)
    return low, np.maximum(high, values.mean(axis=0))


def _size_and_count(total, square):
    with np.errstate(divide="ignore", invalid="ignore"):
        size = np.where(total > 0, square / total, 0.0)
        return size, np.where(total > 0, total / size, 0.0)


def _bootstrap_bounds(values, parameter_draw, level, seed):
    from scipy.special import ndtr, ndtri

    from darkspell.statistics.resampling import replicate_means, resampling

    draws = resampling(parameter_draw, seed)
    z = ndtri(0.5 + np.array([-level, level]) / 2)
    means, influence = replicate_means(values, draws, _few_draws(draws.sizes.size, level))
    means.sort(axis=0)
    spread = np.sqrt((influence**2).sum(axis=0))
    skew = ((influence / np.where(spread > 0, spread, 1)) ** 3).sum(axis=0) / 6
    shifted = skew + z[:, None]
    probability = ndtr(skew + shifted / np.maximum(1 - skew * shifted, 0.1))
    low, high = (_sorted_quantile(means, p) for p in probability)
    return low, high


def _few_draws(parameter_draws, level):
    """How much wider than normal an interval is whose spread was learnt from so many parameter draws: Student's t."""
    from scipy.special import ndtri, stdtrit

    tail = 0.5 + level / 2
    return stdtrit(parameter_draws - 1, tail) / ndtri(tail) if parameter_draws > 1 else 1.0


def _sorted_quantile(ordered, probability):
    """Quantile of each column of sorted values, each at its own probability; linear between values."""
    place = probability * (ordered.shape[0] - 1)
    lower = np.floor(place).astype(int)
    upper = np.minimum(lower + 1, ordered.shape[0] - 1)
    column = np.arange(ordered.shape[1])
    return ordered[lower, column] + (place - lower) * (ordered[upper, column] - ordered[lower, column])


def quantile_interval(values, parameter_draw, quantile, level=MEAN_LEVEL, seed=0):
    """Interval of a quantile over members, from a bootstrap over parameter draws.

    Parameters
    ----------
    values : array_like
        Statistic by member, any unit; shape [members] or [members, draws a member].
    parameter_draw : array_like of int
        Parameter draw of each member; shape [members].
    quantile : float
        Which quantile, 0..1 [-].
    level : float
        Confidence level [-].
    seed : int
        Keys the bootstrap's resamples.

    Returns
    -------
    low, high : float
        Bounds of the quantile; by percentiles of the bootstrap, taken further out where parameter draws are few.
    """
    from scipy.special import ndtr, ndtri

    from darkspell.statistics.resampling import replicate_quantiles, resampling

    draws = resampling(parameter_draw, seed)
    parameter_draws = draws.sizes.size
    found = replicate_quantiles(np.asarray(values, float).reshape(len(parameter_draw), -1), draws, quantile)
    unbias = np.sqrt(parameter_draws / max(parameter_draws - 1, 1))
    tail = ndtr(-ndtri(0.5 + level / 2) * _few_draws(parameter_draws, level) * unbias)
    low, high = np.quantile(found, [tail, 1 - tail])
    return float(low), float(high)


def year_interval(values, level=YEAR_LEVEL):
    """What a single coming year may bring: central quantiles over members.

    Parameters
    ----------
    values : array_like
        Statistic by member, any unit; shape [members] or [members, K].
    level : float
        Share of years inside [-].

    Returns
    -------
    low, high : float or ndarray
        From the 10th to the 90th percentile by default.
    """
    low, high = np.quantile(np.asarray(values, float), [(1 - level) / 2, (1 + level) / 2], axis=0)
    return low, high


def difference_interval(a, b, parameter_draw, level=MEAN_LEVEL, seed=0, unit_size=1.0):
    """Interval of the mean of ``b - a``, two designs that met the same draws member by member.

    Parameters
    ----------
    a, b : array_like
        The same statistic under either design; shape [members].
    parameter_draw, level, seed, unit_size
        As in `mean_intervals`.

    Returns
    -------
    low, high : float
        Bounds of the mean difference, in the unit of the values.

    Notes
    -----
    Where few members differ, gains and losses get exact bounds each, joined as G. Y. Zou & A. Donner, Stat.
    Med. 27 (2008) 1693-1702, do for a difference of two means.
    """
    change = np.asarray(b, float) - np.asarray(a, float)
    either_way = np.abs(change)[:, None]
    if not _is_rare(either_way, np.asarray(parameter_draw))[0]:
        return mean_interval(change, parameter_draw, level, seed)[:2]
    parts = np.maximum(np.stack((change, -change), axis=1), 0)
    low, high = _rare_bounds(parts, np.asarray(parameter_draw), level, np.full(2, unit_size))
    mean = parts.mean(axis=0)
    down = np.hypot(mean[0] - low[0], high[1] - mean[1])
    up = np.hypot(high[0] - mean[0], mean[1] - low[1])
    return float(change.mean() - down), float(change.mean() + up)


def verdict(low, high):
    """Say ``"real"`` of a difference whose interval leaves out zero, else ``"not told apart"``.

    Parameters
    ----------
    low, high : float
        Bounds of a difference.

    Returns
    -------
    str
    """
    return "real" if low > 0 or high < 0 else "not told apart"
