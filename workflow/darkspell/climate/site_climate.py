"""What a study knows of its weather before any draw is made."""

from dataclasses import dataclass, field

import numpy as np

from darkspell.climate.extraterrestrial import monthly_extraterrestrial

# Mid-points of fifty equal classes: the mean of a distribution is then the plain mean of its quantiles.
PROBABILITIES = (np.arange(50) + 0.5) / 50.0


@dataclass(frozen=True)
class SiteClimate:
    """The climate of one site: by month, how clear the days are, how they cluster, how warm it is.

    Parameters
    ----------
    probabilities : float64 array [Q]
        Rising, within 0..1.
    kt_quantiles : float64 array [12, Q]
        Quantiles of daily clearness kt (GHI over extraterrestrial) at `probabilities`, January first [-].
    temp_air_mean, temp_air_range, temp_air_sd : float64 arrays [12]
        Air temperature: mean [degC], mean daily maximum less minimum [K], SD of the daily means about
        the mean of their month [K].
    fast_phi, slow_phi, slow_weight : float64 arrays [12]
        Persistence of the latent daily series: lag-1 autocorrelation of its fast and of its slow part, and
        the variance of the slow one; that of the fast one makes it up to 1 [-].
    level_sd, month_sd : float
        Doubt about the source: SD of the logarithm of mean kt, one draw a parameter draw for the whole year and one
        a parameter draw and month [-].
    width_sd, lag_sd : float
        Doubt about the source: SD of the logarithm of the width of the distribution in logit space, and of
        the lag-1 autocorrelation of the fast part; one draw a parameter draw [-].
    year_sd : float
        SD of the logarithm of monthly mean kt from year to year, beyond what persistence gives; one
        draw a member and month [-].
    source : str
        Where the knowledge comes from, in one sentence.
    notes : list of str
        What a reader of the study should know about it.
    """

    probabilities: np.ndarray
    kt_quantiles: np.ndarray
    temp_air_mean: np.ndarray
    temp_air_range: np.ndarray
    temp_air_sd: np.ndarray
    fast_phi: np.ndarray
    slow_phi: np.ndarray
    slow_weight: np.ndarray
    level_sd: float
    month_sd: float
    width_sd: float
    lag_sd: float
    year_sd: float
    source: str
    notes: list[str] = field(default_factory=list)

    def monthly_kt(self):
        """Mean daily clearness of each calendar month [-]; float64 [12]."""
        return self.kt_quantiles @ quantile_weights(self.probabilities)

    def monthly_ghi(self, latitude):
        """Mean daily global irradiation on the flat by calendar month [kWh/m2/day]; float64 [12].

        Parameters
        ----------
        latitude : float
            Of the site [degrees].
        """
        return self.monthly_kt() * monthly_extraterrestrial(latitude)


def quantile_weights(probabilities):
    """Weight of each quantile in the mean, for linear interpolation between them and flat ends; [Q]."""
    probabilities = np.asarray(probabilities, float)
    edges = np.concatenate([[0.0], (probabilities[1:] + probabilities[:-1]) / 2.0, [1.0]])
    return np.diff(edges)
