"""How dull days cluster, and how far the months of one year lie from the mean.

A latent Gaussian series of a fast and a slow part joins the days. The slow part is the same everywhere;
the fast part goes with the climate: days resemble their neighbours most in the trade-wind and monsoon
belt, where dull weather comes as a season.
"""

import numpy as np

from darkspell.calendar import Calendar
from darkspell.constants import constant

YEAR = Calendar(start_month=1)


def persistence(source, latitude):
    """The part of a `SiteClimate` that its shape does not tell: persistence, doubt and yearly spread.

    Parameters
    ----------
    source : {"atlas", "monthly", "typical_year"}
        The doubt about the monthly means goes with the source.
    latitude : float
        Of the site [degrees].

    Returns
    -------
    dict
        Keyword arguments of `darkspell.climate.SiteClimate`.
    """
    return {
        "fast_phi": _fast_phi(usual_lag_one(latitude)),
        "fast_weight": 1.0 - constant("climate", "slow_weight"),
        "slow_phi": constant("climate", "slow_phi"),
        "slow_weight": constant("climate", "slow_weight"),
        "world_sd": constant("climate", "world_sd", source),
        "year_sd": constant("climate", "year_sd"),
    }


def usual_lag_one(latitude):
    """Autocorrelation of the latent series from one day to the next, usual at a latitude [-]."""
    centre, width = constant("climate", "lag_one_belt")
    belt = np.exp(-(((abs(latitude) - centre) / width) ** 2))
    return constant("climate", "lag_one_base") + constant("climate", "lag_one_rise") * float(belt)


def fast_phi_of_record(kt, latitude):
    """Persistence of the fast part from one year of days, leaning on what is usual at the latitude [-].

    Parameters
    ----------
    kt : float array [365]
        Daily clearness, 1 January first; NaN where there is none.
    latitude : float
        Degrees.
    """
    own = lag_one(normal_scores(kt, YEAR.month_of_day)) + constant("climate", "lag_one_short_record")
    trust = constant("climate", "lag_one_trust")
    return _fast_phi(trust * own + (1.0 - trust) * usual_lag_one(latitude))


def normal_scores(kt, month):
    """Normal score of each day within its calendar month; NaN where `kt` is.

    Parameters
    ----------
    kt : float array [days]
    month : int array [days]
        Calendar month of each day.
    """
    from scipy.special import ndtri

    scores = np.full(len(kt), np.nan)
    for number in np.unique(month):
        days = np.flatnonzero((month == number) & np.isfinite(kt))
        scores[days] = ndtri((np.argsort(np.argsort(kt[days])) + 0.5) / max(days.size, 1))
    return scores


def lag_one(scores):
    """Mean product of the normal scores of neighbouring days [-]."""
    return float(np.nanmean(scores[1:] * scores[:-1]))


def _fast_phi(lag):
    """Lag-1 autocorrelation of the fast part, once the slow part has had its share."""
    weight = constant("climate", "slow_weight")
    low, high = constant("climate", "fast_phi_bounds")
    return float(np.clip((lag - weight * constant("climate", "slow_phi")) / (1.0 - weight), low, high))
