"""Persistence of daily clearness: typical of a climate, or fitted to a record.

A latent Gaussian series with a fast, a slow and an annual component connects the days. Without a record, the
persistence follows from the monthly mean clearness: it is high where the sky is clear, where clearness has strong
seasons, and in the trade-wind and monsoon belt. A record of several years gives fast and slow component by month.
"""

import numpy as np

from darkspell.core.calendar import Calendar
from darkspell.core.constants import constant

YEAR = Calendar(start_month=1)
LAGS = np.array([1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 15, 20, 25, 30])
# Storage of a few days is emptied by correlation over a few days: short lags get more weight.
LAG_WEIGHTS = np.array([3.0, 2.0, 1.5, 1.0, 1.0, 0.7, 0.7, 0.6, 0.5, 0.5, 0.4, 0.4, 0.3, 0.3])
FAST_PHI, SLOW_WEIGHT = np.arange(0.0, 0.8, 0.02), np.arange(0.0, 0.46, 0.02)
SLOW_PHI = np.array([0.85, 0.90, 0.93, 0.95, 0.97])
LEAST_PAIRS = 30
LATER = np.arange(3, 9)
ITERATIONS = 30
NAMES = ("fast_phi", "slow_phi", "slow_weight")


def typical_persistence(latitude, kt):
    """Persistence where there is no record.

    Two autocorrelations are linear in what is known of any location: that of the next day, and the mean of days 3 to
    8. The fast and slow components follow from both.

    Parameters
    ----------
    latitude : float
        Latitude of the site [degrees].
    kt : float array [12]
        Monthly mean clearness [-].

    Returns
    -------
    dict
        `fast_phi`, `slow_phi`, `slow_weight` (float64 arrays [12]) and `annual_weight` of
        `darkspell.climate.SiteClimate`.
    """
    kt = np.asarray(kt, float)
    centre, width = constant("climate", "persistence_belt")
    belt = float(np.exp(-(((abs(latitude) - centre) / width) ** 2)))
    season = (np.roll(kt, 1) + kt + np.roll(kt, -1)) / 3.0
    terms = np.array([np.ones(12), season, np.full(12, belt), np.full(12, kt.std())])
    return components(
        np.array(constant("climate", "lag_one")) @ terms, np.array(constant("climate", "later")) @ terms
    )


def components(lag_one, later):
    """Fast and slow components with given autocorrelations.

    Solves ``(1 - w) f + w s = lag_one`` and the same for the mean of days 3 to 8, with the constant slow_phi as s.

    Parameters
    ----------
    lag_one : float array [12]
        Autocorrelation of consecutive days [-].
    later : float array [12]
        Mean autocorrelation at lags of 3 to 8 days [-].

    Returns
    -------
    dict
        As `typical_persistence`.
    """
    slow, bounds = constant("climate", "slow_phi"), constant("climate", "fast_phi_bounds")
    low, high = constant("climate", "slow_weight_bounds")
    annual = constant("climate", "annual_weight")
    lag_one, later = ((np.asarray(value, float) - annual) / (1.0 - annual) for value in (lag_one, later))
    weight = np.full(12, low)
    for _ in range(ITERATIONS):
        fast = np.clip((lag_one - weight * slow) / (1.0 - weight), *bounds)
        rest = later - (1.0 - weight) * (fast[:, None] ** LATER).mean(axis=1)
        weight = np.clip(rest / (slow**LATER).mean(), low, high)
    fast = np.clip((lag_one - weight * slow) / (1.0 - weight), *bounds)
    return dict(zip(NAMES, (fast, np.full(12, slow), weight), strict=True)) | {"annual_weight": annual}


def persistence_of_record(kt, month, latitude):
    """Persistence of a record by month, shrunk towards the typical one where the record is short.

    Parameters
    ----------
    kt : float array [days]
        Daily clearness of consecutive days (with or without 29 February); NaN where unknown.
    month : int array [days]
        Calendar month of each day, 0-11.
    latitude : float
        Latitude of the site [degrees].

    Returns
    -------
    dict
        As `typical_persistence`.
    """
    kt, month = np.asarray(kt, float), np.asarray(month)
    years = max(np.isfinite(kt).sum() / 365.0, 0.1)
    whole = np.nanmean(kt)
    means = np.array([_mean_or(kt[month == number], whole) for number in range(12)])
    typical = typical_persistence(latitude, means)
    expected = autocorrelation(*(typical[name][:, None] for name in NAMES))
    few = years < constant("climate", "few_years")
    own = windowed_autocorrelation(normal_scores(kt, month), month, whole=few)
    # Normal scores within the months of few years lose what these years have in common.
    own = own + constant("climate", "lag_one_short_record") / years * expected / expected[:, :1]
    own = (own - typical["annual_weight"]) / (1.0 - typical["annual_weight"])
    trust = years / (years + constant("climate", "usual_years"))
    blended = np.where(np.isfinite(own), trust * own + (1.0 - trust) * expected, expected)
    columns = np.array([nearest_parts(row) for row in blended]).T
    return dict(zip(NAMES, columns, strict=True)) | {"annual_weight": typical["annual_weight"]}


def _mean_or(values, default):
    """Mean of the known values, or a default where there is none."""
    return np.nanmean(values) if np.isfinite(values).any() else default


def autocorrelation(fast_phi, slow_phi, slow_weight):
    """Autocorrelation of the sum of both components at `LAGS`.

    ``(1 - w) fast_phi^k + w slow_phi^k`` at lag ``k``.

    Parameters
    ----------
    fast_phi, slow_phi, slow_weight : float or float array [..., 1]
        As in `darkspell.climate.SiteClimate` [-].

    Returns
    -------
    float64 array [..., lags]
    """
    return (1.0 - slow_weight) * fast_phi**LAGS + slow_weight * slow_phi**LAGS


def nearest_parts(wanted):
    """Components whose autocorrelation is closest to a given one, by weighted least squares on a grid.

    Parameters
    ----------
    wanted : float array [lags]
        Autocorrelation at `LAGS` [-].

    Returns
    -------
    fast_phi, slow_phi, slow_weight : float
    """
    fast, slow, weight = (
        axis.ravel()[:, None] for axis in np.meshgrid(FAST_PHI, SLOW_PHI, SLOW_WEIGHT, indexing="ij")
    )
    error = ((autocorrelation(fast, slow, weight) - wanted) ** 2) @ LAG_WEIGHTS
    best = int(np.argmin(error))
    return float(fast[best, 0]), float(slow[best, 0]), float(weight[best, 0])


def windowed_autocorrelation(scores, month, whole=False):
    """Autocorrelation of normal scores, in windows of three months round each month.

    Parameters
    ----------
    scores : float array [days]
        From `normal_scores`; NaN where unknown.
    month : int array [days]
        Calendar month, 0-11.
    whole : bool
        Pool the whole year, for records of few years.

    Returns
    -------
    float64 array [12, lags]
        NaN where fewer than thirty pairs are known.
    """
    out = np.full((12, LAGS.size), np.nan)
    for middle in range(12):
        near = np.full(month.size, whole) | (np.abs((month - middle + 6) % 12 - 6) <= 1)
        known = scores[near & np.isfinite(scores)]
        variance = (known**2).mean() if known.size else np.nan
        for at, lag in enumerate(LAGS):
            products = (scores[lag:] * scores[:-lag])[near[lag:]]
            if np.isfinite(products).sum() >= LEAST_PAIRS:
                out[middle, at] = np.nanmean(products) / variance
    return out


def normal_scores(kt, month):
    """Normal score of each day within its calendar month.

    Parameters
    ----------
    kt : float array [days]
        Daily clearness [-].
    month : int array [days]
        Calendar month of each day.

    Returns
    -------
    float64 array [days]
        NaN where `kt` is.
    """
    from scipy.special import ndtri

    scores = np.full(len(kt), np.nan)
    for number in np.unique(month):
        days = np.flatnonzero((month == number) & np.isfinite(kt))
        scores[days] = ndtri((np.argsort(np.argsort(kt[days])) + 0.5) / max(days.size, 1))
    return scores


def lag_one(scores):
    """Mean product of the normal scores of consecutive days.

    Parameters
    ----------
    scores : float array [days]
        From `normal_scores`.

    Returns
    -------
    float
        [-].
    """
    return float(np.nanmean(scores[1:] * scores[:-1]))
