"""Shares of years or starts that keep something, at this site: best estimate, interval, probability."""

from typing import NamedTuple

import numpy as np

from darkspell.statistics.proportions import MEAN_LEVEL, share_interval
from darkspell.statistics.site_interval import FEWEST_DRAWS, FEWEST_WITH_EVENTS, fit_normal, site_distribution

PROBIT = "probit-normal over parameter draws"
_LEAST_SPREAD = 0.05  # where the search for the spread of the score begins at least
_LEAST_VARIANCE = 0.01  # of a draw's years, over that of a binomial share


class Shares(NamedTuple):
    """Shares of years or starts that keep something, by column; float64 arrays [K].

    Attributes
    ----------
    value : ndarray
        Mean of all years [-].
    low, high : ndarray
        95 % at this site, never narrower than the sampling error [-].
    simulation_low, simulation_high : ndarray
        Sampling error of the simulation alone [-].
    centre, spread : ndarray
        Mean and standard deviation over what is not known of the score of which the share is the normal probability;
        not a number where too few draws, or too few that keep or fail it, were seen.
    failing, keeping : Site
        Distribution of the share where hardly a draw fails it, or hardly one keeps it; not a number elsewhere.
    method : list of str
    """

    value: np.ndarray
    low: np.ndarray
    high: np.ndarray
    simulation_low: np.ndarray
    simulation_high: np.ndarray
    centre: np.ndarray
    spread: np.ndarray
    failing: tuple
    keeping: tuple
    method: list

    def probability(self, wanted):
        """Probability that the site's share is at least the one wanted.

        Parameters
        ----------
        wanted : float
            Lowest share accepted [-].

        Returns
        -------
        ndarray
            [-], shape [K].
        """
        from scipy.special import ndtr, ndtri

        with np.errstate(divide="ignore", invalid="ignore"):
            known = ndtr((self.centre - ndtri(wanted)) / self.spread)
        known = np.where(np.isnan(known), self.failing.probability(1.0 - wanted), known)
        known = np.where(np.isnan(known), self.keeping.probability(wanted, at_most=False), known)
        return np.where(np.isnan(known), self.value >= wanted, known)


def site_shares(kept, parameter_draw, level=MEAN_LEVEL):
    """Shares that keep something, at this site.

    Parameters
    ----------
    kept : array_like
        1 where a year keeps it, else 0, or the share of its starts that do; shape [members, K].
    parameter_draw : array_like of int
        Parameter draw of each member; shape [members].
    level : float
        Probability inside the intervals [-].

    Returns
    -------
    Shares

    Notes
    -----
    Probit-normal: a year fails where its supply is short of a threshold. Supply is taken as normal from year to year,
    and its mean as normal over the draws, so that a draw's share is the normal probability of a normal score. The
    years of a draw are binomial; shares of starts vary phi times as much, phi by the pooled variance within draws
    (quasi-likelihood: P. McCullagh & J. A. Nelder, Generalized Linear Models, 2nd ed. (1989), chapters 4 and 9; from
    memory). Mean and spread of the score are fitted as those of a loss are, see `site_distribution`, which also
    serves where fewer than three draws fail, or keep, what is asked.
    """
    kept = np.asarray(kept, float)
    bounds = share_interval(kept, parameter_draw, level)
    columns, at = np.unique(kept, axis=1, return_inverse=True)  # many days of autonomy are alike
    names, draw, years = np.unique(parameter_draw, return_inverse=True, return_counts=True)
    means = np.zeros((names.size, columns.shape[1]))
    np.add.at(means, draw, columns)
    means /= years[:, None]
    failing = _rare(1.0 - columns, 1.0 - means, parameter_draw, level)
    keeping = _rare(columns, means, parameter_draw, level)
    centre, spread, low, high = _scores(columns, means, draw, years, level, failing, keeping)
    low, high = (np.where(np.isnan(a), np.where(np.isnan(b), c, 1.0 - b), a) for a, b, c in (
        (low, failing.high, keeping.low), (high, failing.low, keeping.high)))  # fmt: skip
    fitted, rare = np.isfinite(centre), np.isfinite(failing.high)
    method = [
        PROBIT if fitted[k] else (failing if rare[k] else keeping).method[k] for k in range(fitted.size)
    ]
    at = at.ravel()
    failing, keeping = (type(site)(*(part[at] for part in site[:6]), []) for site in (failing, keeping))
    low, high = np.clip(low, 0.0, 1.0)[at], np.clip(high, 0.0, 1.0)[at]
    return Shares(
        kept.mean(axis=0), np.fmin(bounds[0], low), np.fmax(bounds[1], high), *bounds, centre[at], spread[at],
        failing, keeping, [method[k] for k in at],
    )  # fmt: skip


class YearsWith(NamedTuple):
    """Shares of years that have an event, by column; float64 arrays [K].

    Attributes
    ----------
    value : ndarray
        Mean of all years: the chance that a coming year has one, over all that is not known [-].
    place_low, place_high : ndarray
        What the long-run share may be at this site, 95 % [-].
    simulation_low, simulation_high : ndarray
        Sampling error of the simulation, 95 % [-].
    method : list of str
    """

    value: np.ndarray
    place_low: np.ndarray
    place_high: np.ndarray
    simulation_low: np.ndarray
    simulation_high: np.ndarray
    method: list


def years_with(counts, parameter_draw):
    """Chance that a coming year has an event, with what its long-run share may be at this site.

    Parameters
    ----------
    counts : array_like
        Events of each year; shape [members, K].
    parameter_draw : array_like of int
        Parameter draw of each member; shape [members].

    Returns
    -------
    YearsWith

    Notes
    -----
    The mean, not the median over parameter draws: the probability of an event in one coming year is the share of
    years with it, averaged over all that is not known (posterior predictive probability: A. Gelman et al., Bayesian
    Data Analysis, 3rd ed. (2013), chapter 1; from memory).
    """
    without = site_shares((np.asarray(counts, float) <= 0.0).astype(float), parameter_draw)
    value = 1.0 - without.value
    place_low, place_high = np.fmin(1.0 - without.high, value), np.fmax(1.0 - without.low, value)
    bounds = 1.0 - without.simulation_high, 1.0 - without.simulation_low
    return YearsWith(value, place_low, place_high, *bounds, without.method)


def _rare(events, means, parameter_draw, level):
    """Distribution of a share that hardly a draw saw; not a number in other columns."""
    few = (means > 0.0).sum(axis=0) < FEWEST_WITH_EVENTS
    return site_distribution(events, parameter_draw, True, 1.0, level, asked=few)


def _scores(kept, means, draw, years, level, failing, keeping):
    """Centre and spread of the score, bounds of the share; not a number where a side is rare or draws are few."""
    from scipy.special import log_ndtr, ndtr, ndtri, stdtrit

    found = np.full((4, kept.shape[1]), np.nan)
    draws = years.size
    if draws < FEWEST_DRAWS or years.min() < 2:
        return found
    reach = stdtrit(draws - 1, 0.5 + level / 2) * np.sqrt(1.0 + 1.0 / draws)
    for k in np.flatnonzero(np.isnan(failing.high) & np.isnan(keeping.high)):
        of, mean = means[:, k], (years @ means[:, k]) / years.sum()
        within = np.bincount(draw, (kept[:, k] - of[draw]) ** 2) / (years - 1)
        binomial = (of * (1.0 - of)).mean() + (within / years).mean()
        phi = within.mean() / binomial if binomial > 0.0 else 1.0
        known = (years / max(phi, _LEAST_VARIANCE))[:, None]
        noise = phi * mean * (1.0 - mean) * (1.0 / years).mean()
        middle = ndtri(mean)
        slope = np.exp(-(middle**2) / 2.0) / np.sqrt(2.0 * np.pi)  # of the share, by the score
        start = np.sqrt(max(of.var(ddof=1) - noise, 0.0)) / slope

        def log_chance(score, known=known, of=of[:, None]):
            return known * (of * log_ndtr(score) + (1.0 - of) * log_ndtr(-score))

        centre, spread = fit_normal(log_chance, middle, max(start, _LEAST_SPREAD), draws)
        found[:, k] = centre, spread, *ndtr(centre + spread * reach * np.array([-1.0, 1.0]))
    return found
