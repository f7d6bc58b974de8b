"""What the long-run average may be at this site, given all that is not known: interval, best guess, probability.

Each parameter draw is one state of what is not known (climate, loads), and has a few years. The mean of its
years differs from its own long-run average by sampling error. That error is taken out before the draws are read
as the distribution of the long-run average.
"""

from typing import NamedTuple

import numpy as np

from darkspell.core.constants import constant
from darkspell.statistics.proportions import MEAN_LEVEL

FEWEST_DRAWS = 8
FEWEST_WITH_EVENTS = constant("statistics", "fewest_draws_with_events")
POWER = constant("statistics", "variance_power")
TYPICAL_SPREAD, SPREAD_KNOWN = constant("statistics", "log_spread"), constant("statistics", "log_spread_sd")
RARE_SPREAD, RARE_SHIFT = constant("statistics", "rare_log_spread"), constant("statistics", "rare_log_shift")
UNSEEN_SHARE = 0.7  # of an event added to those seen: the median of a Poisson rate (gamma, k + 1), rounded
LOGNORMAL, AS_DRAWN, ASSUMED, UNKNOWN = (
    "lognormal over parameter draws", "spread of parameter draws", "assumed spread of parameter draws", "no values",
)  # fmt: skip
NODES = np.linspace(-4.0, 4.0, 61)
_STEPS, _CLOSE, _REACH = 60, 1e-3, 16.0
_LOG_SPREADS = (-5.0, 1.5)
_PRIOR = np.log(TYPICAL_SPREAD)


class Site(NamedTuple):
    """Distribution of the long-run averages of K statistics over what is not known; arrays [K].

    Attributes
    ----------
    median : ndarray
        Best guess.
    low, high : ndarray
        Interval at the level asked for.
    centre, spread : ndarray
        Mean and standard deviation of the long-run average, or of its logarithm where `is_log`.
    is_log : ndarray of bool
    method : list of str
    """

    median: np.ndarray
    low: np.ndarray
    high: np.ndarray
    centre: np.ndarray
    spread: np.ndarray
    is_log: np.ndarray
    method: list

    def probability(self, limit, at_most=True):
        """Probability that the long-run average keeps a limit.

        Parameters
        ----------
        limit : float
            In the unit of the statistic.
        at_most : bool
            Whether the limit is the highest accepted value, else the lowest.

        Returns
        -------
        ndarray
            [K]; not a number where the distribution is not known.
        """
        from scipy.special import ndtr

        with np.errstate(divide="ignore", invalid="ignore"):
            distance = np.where(self.is_log, np.log(max(limit, 0.0)), limit) - self.centre
            below = ndtr(np.where(self.spread > 0.0, distance / self.spread, np.sign(distance) * np.inf))
        below = np.where(distance == 0.0, np.where(self.spread > 0.0, 0.5, 1.0), below)
        below = np.where(np.isnan(self.centre), np.nan, below)
        return below if at_most else 1.0 - below


def site_distribution(values, parameter_draw, skewed, unit_size=1.0, level=MEAN_LEVEL, asked=True):
    """Distribution of long-run averages, the draws' own sampling error taken out.

    Parameters
    ----------
    values : array_like
        Statistics by member, any unit; shape [members, K].
    parameter_draw : array_like of int
        Parameter draw of each member; shape [members].
    skewed : bool or array_like of bool
        Whether the statistic counts losses, which multiply with what is not known; scalar or [K].
    unit_size : array_like
        Size of one event, in the unit of the values; scalar or [K].
    level : float
        Probability inside the interval [-].
    asked : bool or array_like of bool
        Which statistics to fit; scalar or [K].

    Returns
    -------
    Site
        Not a number with fewer than eight parameter draws, or only one year in some; or where not asked for.

    Notes
    -----
    Skewed: the averages mu of the draws are lognormal, and the mean of n years varies about mu with variance
    phi mu^p / n, p = `POWER`, as a compound Poisson count does (M. C. K. Tweedie, 1984; from memory). phi follows
    from the pooled variance within draws. Mean and standard deviation s of log mu maximise the likelihood, by
    expectation maximisation on a grid of 61 points, with a normal prior on log s about `TYPICAL_SPREAD`: few events
    say little about s. Where fewer than three draws saw an event, `RARE_SPREAD` and `RARE_SHIFT` are assumed, and the
    interval begins at zero. On stores of known truth that no constant was set on, 95 % intervals contain 91 to 99 %.
    Others: deviations of the draws' means are scaled down to the variance that remains when the variance within
    draws over n is taken off (D. B. Rubin, J. Educ. Stat. 6 (1981) 377-401; T. A. Louis, J. Am. Stat. Assoc. 79
    (1984) 393-398; from memory).
    """
    values = np.asarray(values, float)
    count = values.shape[1]
    skewed = np.broadcast_to(np.asarray(skewed, bool), (count,))
    size = np.broadcast_to(np.asarray(unit_size, float), (count,))
    names, at, years = np.unique(parameter_draw, return_inverse=True, return_counts=True)
    known = asked & np.isfinite(values).all(axis=0) & (names.size >= FEWEST_DRAWS) & (years.min() >= 2)
    found, method = np.full((5, count), np.nan), [UNKNOWN] * count
    is_log = np.zeros(count, bool)
    means = np.zeros((names.size, count))
    np.add.at(means, at, values)
    means /= years[:, None]
    for k in np.flatnonzero(known):
        within = np.bincount(at, (values[:, k] - means[at, k]) ** 2) / (years - 1)
        if skewed[k] and (values[:, k] >= 0.0).all() and within.any() or skewed[k] and not values[:, k].any():
            is_log[k] = True
            found[:, k], method[k] = _losses(values[:, k], at, means[:, k], years, size[k], level)
        else:
            found[:, k], method[k] = _as_drawn(means[:, k], years, within, level), AS_DRAWN
    return Site(*found, is_log, method)


def _losses(values, at, means, years, size, level):
    """Median, bounds, centre and spread of log long-run averages of one loss statistic, and the method."""
    from scipy.special import ndtri, stdtrit

    draws, total = means.size, float(years @ means)
    if (means > 0.0).sum() < FEWEST_WITH_EVENTS:
        mean = (total + UNSEEN_SHARE * max(size, total / max((means > 0.0).sum(), 1))) / years.sum()
        centre, spread, method = np.log(mean) - RARE_SHIFT, RARE_SPREAD, ASSUMED
        reach = ndtri(0.5 + level / 2)
    else:
        centre, spread = _lognormal(values, at, means, years)
        reach, method = stdtrit(draws - 1, 0.5 + level / 2) * np.sqrt(1.0 + 1.0 / draws), LOGNORMAL
    bounds = np.exp(centre + spread * reach * np.array([-1.0, 1.0]))
    if method == ASSUMED:  # so few events do not exclude that there are none
        bounds[0] = 0.0
    return (np.exp(centre) if total else 0.0, *bounds, centre, spread), method


def _lognormal(values, at, means, years):
    """Mean and standard deviation of log mu, by penalised maximum likelihood of Tweedie means ``means``."""
    draws = means.size
    phi = dispersion(values, at, means, years)
    mean = (years @ means) / years.sum()
    between = max(means.var(ddof=1) - phi * (means**POWER).mean() * (1.0 / years).mean(), 0.01 * mean**2)
    spread = np.sqrt(np.log1p(between / mean**2))
    return fit_normal(tweedie(means, years / phi), np.log(mean) - spread**2 / 2, spread, draws)


def dispersion(values, at, means, years):
    """Dispersion of Tweedie's distribution, by the pooled variance within draws.

    Parameters
    ----------
    values : float64 array [members]
    at : int array [members]
        Index of each member's draw.
    means, years : arrays [draws]
        Mean and number of each draw's years.
    """
    variance = np.bincount(at, (values - means[at]) ** 2) / (years - 1.0)
    return variance.mean() / (means**POWER).mean()


def tweedie(means, known):
    """Log likelihood of the means of some draws' years, as Tweedie's of power `POWER`.

    Parameters
    ----------
    means : float64 array [draws]
    known : float64 array [draws]
        Years of each, over the dispersion.

    Returns
    -------
    callable
        From log averages, [nodes] or [draws, nodes], to [draws, nodes].
    """

    def log_chance(log_mu):
        rate = np.exp((1.0 - POWER) * log_mu) / (1.0 - POWER)
        return known[:, None] * (means[:, None] * rate - np.exp((2.0 - POWER) * log_mu) / (2.0 - POWER))

    return log_chance


def fit_normal(log_chance, centre, spread, draws):
    """Mean and standard deviation of a normal distribution of which each draw has one value, seen through its years.

    Parameters
    ----------
    log_chance : callable
        Log likelihood of each draw's years at some values; takes [nodes], returns [draws, nodes].
    centre, spread : float
        Where the search begins.
    draws : int

    Returns
    -------
    centre, spread : float
        They maximise the likelihood, by expectation maximisation on a grid, with a normal prior on log spread about
        `TYPICAL_SPREAD`.
    """

    def step(point):
        """One step of the maximisation of mean and log spread, and the likelihood before it."""
        at = point[0] + np.exp(point[1]) * NODES
        chance = log_chance(at) - NODES**2 / 2
        top = chance.max(axis=1, keepdims=True)
        chance = np.exp(chance - top)
        total = chance.sum(axis=1, keepdims=True)
        likelihood = (top + np.log(total)).sum() - ((point[1] - _PRIOR) / SPREAD_KNOWN) ** 2 / 2
        chance = (chance / total).mean(axis=0)
        middle = chance @ at
        variance = max(chance @ (at - middle) ** 2, 1e-12)
        return np.array([middle, _most_likely(draws, variance)]), likelihood

    centre, log_spread = fixed_point(step, np.array([centre, np.log(spread)]))
    return centre, np.exp(log_spread) * np.sqrt(draws / (draws - 1.0))


def _most_likely(draws, variance):
    """Log standard deviation of so many draws of that variance, with the prior on it; by Newton's method."""
    log_spread, weight = 0.5 * np.log(variance), SPREAD_KNOWN**-2
    for _ in range(4):
        pull = draws * variance * np.exp(-2.0 * log_spread)
        log_spread += (pull - draws - weight * (log_spread - _PRIOR)) / (2.0 * pull + weight)
    return log_spread


def fixed_point(step, point):
    """Fixed point of a slow iteration, by squared extrapolation; one that lowers the likelihood is dropped.

    Parameters
    ----------
    step : callable
        From a point to the next and the likelihood at the first.
    point : float64 array
        Where it begins; last, the logarithm of a standard deviation.

    Returns
    -------
    float64 array

    Notes
    -----
    R. Varadhan & C. Roland, Scand. J. Stat. 35 (2008) 335-353; from memory.
    """
    for _ in range(_STEPS):
        once, _ = step(point)
        twice, likelihood = step(once)
        first, second = once - point, twice - 2.0 * once + point
        if np.abs(first).max() < _CLOSE:
            return twice
        length = np.clip(np.linalg.norm(first) / max(np.linalg.norm(second), 1e-12), 1.0, _REACH)
        ahead = point + 2.0 * length * first + length**2 * second
        further, reached = step(np.array([*ahead[:-1], np.clip(ahead[-1], *_LOG_SPREADS)]))
        point = further if reached >= likelihood else twice
    return point


def _as_drawn(means, years, within, level):
    """Median, bounds, centre and spread of long-run averages of one statistic that needs no transform."""
    from scipy.special import stdtrit

    total, noise = means.var(ddof=1), (within / years).mean()
    between = max(total - noise, 0.0)
    scale = np.sqrt(between / total) if total > 0.0 else 0.0
    drawn = means.mean() + (means - means.mean()) * scale
    tail = 0.5 - level / 2
    if means.size * tail >= 1.0:
        low, high = np.quantile(drawn, [tail, 1.0 - tail], method="weibull")
    else:
        reach = stdtrit(means.size - 1, 1.0 - tail) * np.sqrt(between * (1.0 + 1.0 / means.size))
        low, high = drawn.mean() - reach, drawn.mean() + reach
    return np.median(drawn), low, high, drawn.mean(), np.sqrt(between)
