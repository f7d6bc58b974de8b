"""Best guess of each statistic with the interval of this site and that of the simulation."""

from typing import NamedTuple

import numpy as np

from darkspell.statistics.bounded_means import bounded_intervals, event_size
from darkspell.statistics.registry import LOSSES, statistic
from darkspell.statistics.site_interval import ASSUMED, Site, site_distribution


class Figures(NamedTuple):
    """K statistics of one study or design, in their units; float64 arrays [K].

    Attributes
    ----------
    value : ndarray
        Best guess: of losses the median over what is not known, else the mean of years.
    mean : ndarray
        Of all years.
    place_low, place_high : ndarray
        What the long-run average may be at this site (95 %).
    simulation_low, simulation_high : ndarray
        Sampling error of the simulation alone (95 %). Of a median it is that of the mean, scaled alike.
    method : list of str
    site : Site
    """

    value: np.ndarray
    mean: np.ndarray
    place_low: np.ndarray
    place_high: np.ndarray
    simulation_low: np.ndarray
    simulation_high: np.ndarray
    method: list
    site: Site


def site_figures(values, parameter_draw, statistics, demand, seed=0):
    """Figures of some statistics with both kinds of interval.

    Parameters
    ----------
    values : array_like
        Statistics by member; shape [members, K].
    parameter_draw : array_like of int
        Parameter draw of each member; shape [members].
    statistics : sequence of str
        Key of each column, see `darkspell.statistics.registry`; length K.
    demand : float
        Mean energy asked for in a year [kWh].
    seed : int
        The study's seed.

    Returns
    -------
    Figures
    """
    values = np.asarray(values, float)
    low, high, method = bounded_intervals(values, parameter_draw, statistics, demand, seed)
    present = np.isfinite(values).sum(axis=0)
    with np.errstate(invalid="ignore"):
        mean = np.nansum(values, axis=0) / np.where(present, present, np.nan)
    skewed = np.array([name in LOSSES for name in statistics])
    sizes = [event_size(name, demand) for name in statistics]
    site = site_distribution(values, parameter_draw, skewed, sizes)
    best = site.is_log & (mean > 0.0) & np.isfinite(site.median)
    value = np.where(best, site.median, mean)
    scale = np.where(best, value / np.where(best, mean, 1.0), 1.0)
    limits = np.array([statistic(name).limits for name in statistics]).reshape(-1, 2)
    place_low, place_high = np.clip(site.low, *limits.T), np.clip(site.high, *limits.T)
    rare = np.array([name == ASSUMED for name in site.method])
    # Never below sampling error where no spread was measured, or where a mean's spread between draws is lost in it.
    wide = rare | (~best & np.isfinite(site.low) & np.isfinite(site.high))
    place_low = np.where(wide, np.fmin(place_low, low * scale), place_low)
    place_high = np.where(wide, np.fmax(place_high, high * scale), place_high)
    point = ["median over parameter draws" if b else "mean of years" for b in best]
    words = [f"{p}; site: {s}; simulation: {m}" for p, s, m in zip(point, site.method, method, strict=True)]
    return Figures(value, mean, place_low, place_high, low * scale, high * scale, words, site)


def probability_met(figures, limit, at_most=True):
    """Probability that the long-run average at this site keeps a limit.

    Parameters
    ----------
    figures : Figures
    limit : float
        In the unit of the statistics.
    at_most : bool
        Whether it is the highest accepted value, else the lowest.

    Returns
    -------
    ndarray
        [K]; where the draws are too few to tell, 1 or 0 as the mean keeps it.
    """
    known = figures.site.probability(limit, at_most)
    kept = figures.mean <= limit if at_most else figures.mean >= limit
    return np.where(np.isnan(known), kept.astype(float), known)
