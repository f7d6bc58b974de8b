"""Monthly means of a few years, combined with the built-in atlas.

A few years differ from the long-term mean by sampling error, the atlas by its own. Both errors have a part common to
all months and a part of each month; the combination weights them by their inverse variances.
"""

from typing import NamedTuple

import numpy as np

from darkspell.climate.missing_months import interpolated, month_sd
from darkspell.core.calendar import MONTH_LENGTHS
from darkspell.core.constants import constant

DAYS_OF_YEAR = 365.0
LEAST = 1e-4  # of standard deviations, so that matrices can be inverted


class CombinedMeans(NamedTuple):
    """Monthly mean clearness of a few years and the atlas together.

    Parameters
    ----------
    kt : float64 array [12]
        [-].
    annual_sd : float
        Standard deviation of the logarithm of the true means over `kt`, common to all months.
    monthly_sd : float or float64 array [12]
        The same of each month; an array where empty months were filled.
    weight : float
        Share of the given years in the annual mean [-].
    """

    kt: np.ndarray
    annual_sd: float
    monthly_sd: float | np.ndarray
    weight: float


def combined_means(kt, days, prior, empty=None):
    """Combine monthly means of a few years with those of the atlas.

    With d the logarithm of `kt` over the atlas, A the covariance of the atlas's errors and O that of the sampling
    errors, the logarithm of the atlas is raised by ``G d``, ``G = A (A + O)^-1``; its error has the covariance
    ``(1 - G) A (1 - G)' + G O G'``. For G, the sampling errors are those beyond a record of many years, which keeps
    its own means.

    Parameters
    ----------
    kt : float array [12]
        Monthly mean clearness of the years given; NaN where a month has no value [-].
    days : float array [12]
        Days behind each mean.
    prior : darkspell.climate.SiteClimate
        From the atlas.
    empty : bool array [12], optional
        Months without enough days, which are filled by `darkspell.climate.missing_months`.

    Returns
    -------
    CombinedMeans
    """
    empty = np.zeros(12, bool) if empty is None else np.asarray(empty)
    known = (np.asarray(days, float) > 0.0) & np.isfinite(kt) & ~empty
    days = np.where(known, days, np.nan)
    enough = constant("climate", "own_years")
    apart = np.where(known, np.log(np.where(known, kt, 1.0) / prior.monthly_kt()), 0.0)
    atlas = _covariance(prior.annual_mean_sd, np.full(12, prior.monthly_mean_sd))
    day_sd = monthly_sampling_sd(prior, 1.0)
    beyond = np.maximum(1.0 / days - 1.0 / (MONTH_LENGTHS * enough), 0.0)
    gain = _gain(atlas, beyond, day_sd, known)
    rest = np.eye(12) - gain
    error = rest @ atlas @ rest.T + gain @ _sampling(1.0 / days, day_sd, known) @ gain.T
    annual, monthly = _parts(error[np.ix_(~empty, ~empty)])
    combined = prior.monthly_kt() * np.exp(gain @ apart)
    if empty.any():
        combined = interpolated(combined, prior.monthly_kt(), empty)
        monthly = month_sd(monthly, empty)
    return CombinedMeans(combined, annual, monthly, float(gain.sum() / 12.0))


def _parts(error):
    """Standard deviations of the part common to all months and of each month's own, of a covariance."""
    count = len(error)
    annual = error[~np.eye(count, dtype=bool)].mean()
    monthly = max(np.trace(error) / count - max(annual, 0.0), 0.0)
    return np.sqrt(max(annual, 0.0)), np.sqrt(monthly)


def monthly_sampling_sd(climate, days):
    """Standard deviation of the logarithm of mean clearness over some days of a month.

    ``SD of days / mean * sqrt(r / days)``; r, the integral of the autocorrelation, is
    ``(1 - w) (1 + f) / (1 - f) + w (1 + s) / (1 - s)`` for the fast and slow components f and s.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate
    days : float or float array [12]

    Returns
    -------
    float64 array [12]
    """
    slow = climate.slow_weight * slow_days(climate.slow_phi)
    correlated = (1.0 - climate.slow_weight) * (1.0 + climate.fast_phi) / (1.0 - climate.fast_phi) + slow
    return climate.kt_quantiles.std(axis=1) / climate.monthly_kt() * np.sqrt(correlated / days)


def slow_days(slow_phi):
    """Integral of the slow component's autocorrelation within a month of thirty days [days]."""
    lags = np.arange(1, 30)
    inside = (np.asarray(slow_phi)[..., None] ** lags) @ (1.0 - lags / 30.0)
    return 1.0 + 2.0 * inside


def own_share(years):
    """Share of a record's own days in the mix of clear and dull days, against that of the climate.

    Parameters
    ----------
    years : float
        Length of the record.

    Returns
    -------
    float
        1 for a record of many years [-].
    """
    beyond = max(1.0 / max(years, 1.0 / DAYS_OF_YEAR) - 1.0 / constant("climate", "own_years"), 0.0)
    return 1.0 / (1.0 + constant("climate", "years_of_shape") * beyond)


def _covariance(annual, monthly):
    """Covariance of errors with a common part and a part of each month; float64 [12, 12]."""
    return annual**2 + np.diag(np.asarray(monthly) ** 2)


def _sampling(per_day, day_sd, known):
    """Covariance of sampling errors, of unknown months zero; `per_day` one over the days of each month."""
    per_year = np.where(known, per_day, 0.0) * MONTH_LENGTHS
    annual = constant("climate", "one_year_sd", "annual_mean") * np.sqrt(per_year)
    monthly = day_sd * np.sqrt(np.where(known, per_day, 0.0))
    return np.outer(annual, annual) + np.diag(monthly**2)


def _gain(atlas, beyond, day_sd, known):
    """Gain G of `combined_means`; columns of unknown months are zero."""
    gain = np.zeros((12, 12))
    total = (atlas + _sampling(beyond, day_sd, known) + np.diag(np.full(12, LEAST**2)))[np.ix_(known, known)]
    gain[:, known] = np.linalg.solve(total, atlas[:, known].T).T
    return gain
