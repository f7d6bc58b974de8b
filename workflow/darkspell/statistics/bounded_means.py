"""Intervals of means, kept within what a statistic can be."""

import numpy as np

from darkspell.core.constants import constant
from darkspell.statistics.intervals import mean_intervals
from darkspell.statistics.registry import A_DAY, A_DAY_OF_LOAD
from darkspell.statistics.registry import statistic as statistic_of

UNSEEN_EVENT = constant("statistics", "unseen_event")


def event_size(statistic, demand):
    """Size of an event where none was seen: one day of load or of hours, or one of what is counted.

    Parameters
    ----------
    statistic : str
        Its key, see `darkspell.statistics.registry`.
    demand : float
        Mean energy asked for in a year [kWh].

    Returns
    -------
    float
        Size in the unit of the statistic, for ``unit_size`` of `mean_intervals`.
    """
    event = statistic_of(statistic).event
    if event == A_DAY_OF_LOAD:
        return demand / 365 * UNSEEN_EVENT / 24
    return float(UNSEEN_EVENT) if event == A_DAY else 1.0


def bounded_intervals(values, parameter_draw, statistics, demand, seed=0):
    """Intervals of means, kept within what the quantity can be.

    Parameters
    ----------
    values : array_like
        Statistics by member; shape [members, K].
    parameter_draw : array_like of int
        Parameter draw of each member; shape [members].
    statistics : sequence of str
        Key of each column; length K.
    demand : float
        Mean energy asked for in a year [kWh].
    seed : int
        The study's seed.

    Returns
    -------
    low, high : ndarray
        Bounds of the means; shape [K].
    method : list of str
        As `mean_intervals`.
    """
    sizes = [event_size(name, demand) for name in statistics]
    low, high, method = mean_intervals(values, parameter_draw, seed=seed, unit_size=sizes)
    with np.errstate(invalid="ignore"):
        signed = (np.asarray(values) < 0).any(axis=0)
    most = np.array([statistic_of(name).limits[1] for name in statistics])
    return np.where(signed, low, np.maximum(low, 0)), np.minimum(high, most), method
