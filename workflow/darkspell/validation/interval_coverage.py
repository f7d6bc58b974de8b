"""Predictive interval of the measured share of lost days, from a climate and its stated uncertainty.

Each parameter draw has as many years as the record: the interval must contain one measured record, so it includes
the sampling error of that many years. If the climate was given the record's own monthly means, the uncertainty of
means does not apply; if it was given single months of the record, only their choice is uncertain. Sampling error
that shows in the record's monthly means is then known, and is removed by regression.
"""

from dataclasses import replace

import numpy as np

from darkspell.core.constants import constant
from darkspell.validation.daily_storage import LEVEL, plane_light, ratio_by_group
from darkspell.weather.daily_clearness import daily_clearness, uncertainty_draws

STATED_DRAWS = 240
LEAST = 0.02  # smaller ratios are set to it


def stated_draws(latitude, climate, calendar, cells, years, given, seed=1, draws=STATED_DRAWS):
    """Logarithm of the share of lost days over the wanted one, in draws of the stated uncertainty.

    Parameters
    ----------
    latitude : float
        [degrees].
    climate : darkspell.climate.SiteClimate
    calendar : darkspell.core.calendar.Calendar
    cells : list of dict
        From `darkspell.validation.daily_storage.measured_cells`.
    years : int
        Length of the measured record.
    given : {"means", "months", "nothing"}
        What the climate was given of the record itself.
    seed, draws : int
        Seed, and number of parameter draws.

    Returns
    -------
    float64 array [cells, draws]
    """
    if given != "nothing":
        chosen = constant("climate", "month_choice") if given == "months" else 0.0
        climate = replace(climate, annual_mean_sd=0.0, monthly_mean_sd=chosen)
    members = np.arange(draws * years)
    kt = daily_clearness(climate, calendar, members, members // years, seed)
    light = plane_light(latitude, kt, calendar)
    log = np.log(np.maximum([ratio_by_group(light, cell, members // years) for cell in cells], LEAST))
    if given == "nothing":
        return log
    drawn, *_ = uncertainty_draws(climate, members[::years], np.arange(draws), seed)
    return at_the_means(log, monthly_means(kt, calendar, draws) / drawn)


def monthly_means(kt, calendar, draws):
    """Mean clearness of each month in each parameter draw.

    Parameters
    ----------
    kt : float array [members, 365]
        Daily clearness [-]; the members of a draw are consecutive.
    calendar : darkspell.core.calendar.Calendar
    draws : int

    Returns
    -------
    float64 array [draws, 12]
    """
    months = [kt[:, calendar.month_of_day == month].mean(axis=1) for month in range(12)]
    return np.array(months).reshape(12, draws, -1).mean(axis=2).T


def at_the_means(log, means):
    """Remove by least squares the part of values that depends on the monthly means.

    Parameters
    ----------
    log : float array [cells, draws]
    means : float array [draws, 12]
        Monthly means over their sampled factor.

    Returns
    -------
    float64 array [cells, draws]
    """
    apart = means - means.mean(axis=0)
    slopes = np.linalg.lstsq(apart, (log - log.mean(axis=1, keepdims=True)).T, rcond=None)[0]
    middle = np.median(log, axis=1, keepdims=True)
    rest = log - middle - (apart @ slopes).T
    freedom = np.sqrt((len(means) - 1.0) / max(len(means) - 1.0 - means.shape[1], 1.0))
    return middle + freedom * rest


def interval(log, level=LEVEL):
    """Interval and median over parameter draws.

    Parameters
    ----------
    log : float array [cells, draws]
    level : float
        Nominal coverage [-].

    Returns
    -------
    float64 array [3, cells]
        Lower end, upper end, median.
    """
    return np.quantile(log, [(1.0 - level) / 2.0, (1.0 + level) / 2.0, 0.5], axis=1)
