"""The climate of a site: what the weather generator needs, and how uncertain it is."""

from dataclasses import dataclass, field

import numpy as np

from darkspell.climate.extraterrestrial import monthly_extraterrestrial

# Mid-points of fifty equal classes: the mean of a distribution is then the plain mean of its quantiles.
PROBABILITIES = (np.arange(50) + 0.5) / 50.0


@dataclass(frozen=True)
class SiteClimate:
    """Monthly distributions of daily clearness, day-to-day persistence and air temperature of one site.

    Parameters
    ----------
    probabilities : float64 array [Q]
        Ascending, between 0 and 1.
    kt_quantiles : float64 array [12, Q]
        Quantiles of the daily clearness index kt (GHI over extraterrestrial horizontal irradiation) at
        `probabilities`; January first [-].
    kt_ceiling : float64 array [12]
        Upper limit of daily clearness by calendar month: the asymptote of the logit transform [-].
    temp_air_mean, temp_air_range, temp_air_sd : float64 arrays [12]
        Air temperature: monthly mean [degC], mean daily maximum minus minimum [K], standard deviation of
        the daily means within the month [K].
    temp_air_with_sun : float64 array [12]
        Correlation of daily mean temperature with the latent series of clearness [-].
    relief : float
        Standard deviation of the altitude around the site, a measure of mountains [m].
    precipitation : float64 array [12]
        Mean precipitation of each month [mm/month].
    fast_phi, slow_phi, slow_weight : float64 arrays [12]
        Persistence of the latent daily Gaussian series: lag-1 autocorrelation of its fast and of its slow
        component, and the slow component's share of their variance [-].
    annual_weight : float
        Variance of a component that is constant within each member's year; the fast and slow components
        have the rest [-].
    annual_mean_sd : float
        Uncertainty of the source: standard deviation of the logarithm of mean kt. One value is sampled per
        parameter draw for the whole year [-].
    monthly_mean_sd : float or float64 array [12]
        The same, one value per parameter draw and month; an array where some months are less certain [-].
    width_sd, lag_one_sd : float
        Uncertainty of the source: standard deviation of the logarithm of the distribution's width in logit
        space, and standard deviation of the lag-1 autocorrelation of the fast component; one value per
        parameter draw [-].
    slow_sd : float
        Uncertainty of the source: standard deviation of the logarithm of the slow component's variance; one
        value per parameter draw [-].
    interannual_sd : float
        Standard deviation of the logarithm of monthly mean kt between years, beyond what persistence
        produces; one value per member and month [-].
    source : str
        Origin of the data, in one sentence.
    notes : list of str
        Remarks for the reader of the study.
    wind : float, optional
        Mean wind at the modules in sunlight [m/s]; 0 where the source does not give it.
    """

    probabilities: np.ndarray
    kt_quantiles: np.ndarray
    kt_ceiling: np.ndarray
    temp_air_mean: np.ndarray
    temp_air_range: np.ndarray
    temp_air_sd: np.ndarray
    temp_air_with_sun: np.ndarray
    relief: float
    precipitation: np.ndarray
    fast_phi: np.ndarray
    slow_phi: np.ndarray
    slow_weight: np.ndarray
    annual_weight: float
    annual_mean_sd: float
    monthly_mean_sd: float | np.ndarray
    width_sd: float
    lag_one_sd: float
    slow_sd: float
    interannual_sd: float
    source: str
    notes: list[str] = field(default_factory=list)
    wind: float = 0.0

    def monthly_kt(self):
        """Mean daily clearness of each calendar month [-]; float64 [12]."""
        return self.kt_quantiles @ quantile_weights(self.probabilities)

    def monthly_ghi(self, latitude):
        """Mean daily global horizontal irradiation by calendar month [kWh/m2/day].

        Parameters
        ----------
        latitude : float
            Latitude of the site [degrees].

        Returns
        -------
        float64 [12]
        """
        return self.monthly_kt() * monthly_extraterrestrial(latitude)


def quantile_weights(probabilities):
    """Weight of each quantile in the mean of the distribution.

    Quantiles are interpolated linearly and constant beyond the outermost probabilities.

    Parameters
    ----------
    probabilities : float array [Q]
        Ascending, between 0 and 1.

    Returns
    -------
    float64 array [Q]
        Sums to 1.
    """
    probabilities = np.asarray(probabilities, float)
    edges = np.concatenate([[0.0], (probabilities[1:] + probabilities[:-1]) / 2.0, [1.0]])
    return np.diff(edges)
