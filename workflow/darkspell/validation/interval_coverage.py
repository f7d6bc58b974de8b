"""What a climate with its stated doubt says of a measured share of lost days, before that share is looked at.

A parameter draw draws what is in doubt, and in each parameter draw as many years as the record has: what the
interval must hold is one
measured record, so it has the luck of so many years in it besides the doubt. Where the climate was given the record's
own monthly means, doubt about these has nothing to err on; where it was given single months of the record, their
choice alone can err. Luck that shows in the record's monthly means is then known already: it is taken out by
regression.
"""

from dataclasses import replace

import numpy as np

from darkspell.core.constants import constant
from darkspell.validation.daily_storage import LEVEL, plane_light, ratio_by_group
from darkspell.weather.daily_clearness import daily_clearness, uncertainty_draws

STATED_DRAWS = 240
LEAST = 0.02  # ratios below it count as it


def stated_draws(latitude, climate, calendar, cells, years, given, seed=1, worlds=STATED_DRAWS):
    """Logarithm of the share of lost days over the wanted one, in worlds of the stated doubt.

    Parameters
    ----------
    latitude : float
        Degrees.
    climate : darkspell.climate.SiteClimate
    calendar : darkspell.core.calendar.Calendar
    cells : list of dict
        From `darkspell.validation.daily_storage.measured_cells`.
    years : int
        Of the measured record.
    given : {"means", "months", "nothing"}
        What of the record itself the climate was made of.
    seed, parameter draws : int

    Returns
    -------
    float64 array [cells, parameter_draws]
    """
    if given != "nothing":
        chosen = constant("climate", "month_choice") if given == "months" else 0.0
        climate = replace(climate, annual_mean_sd=0.0, monthly_mean_sd=chosen)
    members = np.arange(worlds * years)
    kt = daily_clearness(climate, calendar, members, members // years, seed)
    light = plane_light(latitude, kt, calendar)
    log = np.log(np.maximum([ratio_by_group(light, cell, members // years) for cell in cells], LEAST))
    if given == "nothing":
        return log
    drawn, _, _ = uncertainty_draws(climate, members[::years], np.arange(worlds), seed)
    return at_the_means(log, monthly_means(kt, calendar, worlds) / drawn)


def monthly_means(kt, calendar, parameter_draws):
    """Mean clearness of each month in each parameter draw; float64 [parameter_draws, 12]."""
    months = [kt[:, calendar.month_of_day == month].mean(axis=1) for month in range(12)]
    return np.array(months).reshape(12, parameter_draws, -1).mean(axis=2).T


def at_the_means(log, means):
    """Values with what goes along with the months' means taken out, by least squares.

    Parameters
    ----------
    log : float array [cells, parameter_draws]
    means : float array [parameter_draws, 12]
        Over what each parameter draw drew for them.

    Returns
    -------
    float64 array [cells, parameter_draws]
    """
    apart = means - means.mean(axis=0)
    slopes = np.linalg.lstsq(apart, (log - log.mean(axis=1, keepdims=True)).T, rcond=None)[0]
    middle = np.median(log, axis=1, keepdims=True)
    rest = log - middle - (apart @ slopes).T
    freedom = np.sqrt((len(means) - 1.0) / max(len(means) - 1.0 - means.shape[1], 1.0))
    return middle + freedom * rest


def interval(log, level=LEVEL):
    """Lower and upper end and median over parameter draws; float64 [3, cells]."""
    return np.quantile(log, [(1.0 - level) / 2.0, (1.0 + level) / 2.0, 0.5], axis=1)
