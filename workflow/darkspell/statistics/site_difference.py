"""The difference that a change makes at this site: best guess, interval of the site, sampling error."""

from typing import NamedTuple

import numpy as np

from darkspell.statistics.bounded_means import event_size
from darkspell.statistics.intervals import difference_interval
from darkspell.statistics.proportions import MEAN_LEVEL
from darkspell.statistics.registry import LOSSES
from darkspell.statistics.site_interval import site_distribution

SMALL_PART = 0.05  # of the larger of gains and losses; our choice
MEDIAN, MEAN = "median over parameter draws", "mean of years"


class Difference(NamedTuple):
    """A changed study minus the study, in the unit of the statistic.

    Attributes
    ----------
    study_value, value : float
        Best guess of the study's own statistic, and of the difference.
    low, high : float
        What the long-run difference may be at this site, never narrower than the sampling error.
    simulation_low, simulation_high : float
        Sampling error of the simulation alone; of a median it is that of the mean, scaled alike.
    study_mean, mean : float
        Means of all years, of the study's statistic and of the difference.
    point : str
        What the best guesses are, `MEDIAN` or `MEAN`.
    """

    study_value: float
    value: float
    low: float
    high: float
    simulation_low: float
    simulation_high: float
    study_mean: float
    mean: float
    point: str


def site_difference(a, b, parameter_draw, statistic, demand, level=MEAN_LEVEL, seed=0):
    """Difference of a statistic under two systems that met the same draws member by member.

    Parameters
    ----------
    a, b : array_like
        The statistic of the study and of the changed study; shape [members].
    parameter_draw : array_like of int
        Parameter draw of each member; shape [members].
    statistic : str
        Key, see `darkspell.statistics.registry`.
    demand : float
        Mean energy asked for in a year [kWh].
    level : float
        Probability inside the intervals [-].
    seed : int
        The study's seed.

    Returns
    -------
    Difference

    Notes
    -----
    A loss may grow in some years and shrink in others. Gains and losses each get the distribution of
    `site_distribution`; their bounds are joined as G. Y. Zou & A. Donner, Stat. Med. 27 (2008) 1693-1702, do for a
    difference of two means. That takes the two parts as independent, so mixed changes get intervals that are
    rather too wide (97 to 100 % where 95 % is stated, in tests/statistics/test_site_interval.py).
    """
    a, b = np.asarray(a, float), np.asarray(b, float)
    change, size = b - a, event_size(statistic, demand)
    sampling = difference_interval(a, b, parameter_draw, level, seed, size)
    study_mean, mean = float(a.mean()), float(change.mean())
    study_value, value, low, high, point = study_mean, mean, np.nan, np.nan, MEAN
    if statistic in LOSSES:
        columns = np.stack([a, np.maximum(change, 0.0), np.maximum(-change, 0.0)], axis=1)
        site = site_distribution(columns, parameter_draw, True, size, level)
        if np.isfinite(site.median).all():
            point, study_value = MEDIAN, float(site.median[0])
            value, low, high = _joined(site, columns)
            if value <= -study_value:  # as much as there is: what remains has a best guess of its own
                left = site_distribution(b[:, None], parameter_draw, True, size, level).median[0]
                value = min(left, study_value) - study_value
    else:
        site = site_distribution(change[:, None], parameter_draw, False, level=level)
        low, high = site.low[0], site.high[0]
    scale = np.clip(value / mean, 0.0, 1.0) if mean and value * mean > 0.0 else 1.0
    sampling = sorted((scale * sampling[0], scale * sampling[1]))
    ends = np.array([low, high, *sampling, value])
    return Difference(
        study_value, float(value), float(np.nanmin(ends)), float(np.nanmax(ends)), *map(float, sampling),
        study_mean, mean, point,
    )  # fmt: skip


def _joined(site, columns):
    """Best guess and bounds of what grows less what shrinks; a small part counts with its mean alone."""
    mean = columns[:, 1:].mean(axis=0)
    large = mean > SMALL_PART * mean.max()
    middle, low, high = (np.where(large, ends[1:], mean) for ends in (site.median, site.low, site.high))
    value = middle[0] - middle[1]
    down, up = (
        np.hypot(middle[0] - low[0], high[1] - middle[1]),
        np.hypot(high[0] - middle[0], middle[1] - low[1]),
    )
    return value, value - down, value + up
