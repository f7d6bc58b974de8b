"""Snow parameters of a site and its arrays.

Snowfall is more likely on dull days near freezing, and less likely on cold days. The wet days of the month and the
day's clearness and temperature give the probability; a random stream of its own draws day and hour
(`darkspell.weather.snowfall`). A snowfall covers the whole array. Snow slides while air and irradiance allow (Marion
et al., Solar Energy 97 (2013) 112-121, as `pvlib.snow.coverage_nrel`) and melts above freezing
(`darkspell.weather.snow_cover`). An array gives no power until all of it is gone.
"""

from dataclasses import dataclass, replace

import numpy as np

from darkspell.climate.itinerary import by_place, parts_of
from darkspell.climate.precipitation import water_of_wet_day
from darkspell.climate.precipitation import wet_days as usual_wet_days
from darkspell.climate.site_climate import quantile_weights
from darkspell.core.calendar import DAYS, MONTH_LENGTHS, Calendar
from darkspell.core.constants import constant
from darkspell.weather.snow_cover import caught
from darkspell.weather.snowfall import falling_days, warmest
from darkspell.weather.surfaces import tilt_by_day
from darkspell.weather.temperature import by_day

LIKELY_SD = 4.0  # standard deviations of the daily mean that are considered possible
ANOMALIES, HALVINGS, STEEPEST_LOGIT = 25, 40, 12.0
WET_BOUNDS = 0.001, 0.98  # share of wet days that a logit can give


@dataclass(frozen=True)
class Snow:
    """Snow parameters of a site and its arrays.

    Parameters
    ----------
    mean, spread : float64 arrays [365]
        Air temperature by study day: mean [degC] and standard deviation of the daily means [K].
    base, per_sd : float64 arrays [365]
        Logit of the probability of precipitation on a day of zero clearness that is not cold, and its slope with the
        cold [-].
    melt : float
        Melting per hour and kelvin above freezing, as a share of one snowfall [1/(K h)].
    scale : float
        Factor on the probability of snowfall [-].
    catch : float32 array [365, arrays]
        Share of snowfalls that cover an array [-].
    slide : float32 array [365, arrays]
        Sliding per hour in which snow can slide, as a share of the slope's length [1/h].
    """

    mean: np.ndarray
    spread: np.ndarray
    base: np.ndarray
    per_sd: np.ndarray
    melt: float
    scale: float
    catch: np.ndarray
    slide: np.ndarray

    def only(self, array):
        """The same for one array.

        Parameters
        ----------
        array : int
            Number of the array.

        Returns
        -------
        Snow
        """
        return replace(self, catch=_single(self.catch[:, [array]]), slide=_single(self.slide[:, [array]]))


def snow_of(planes, habits, climate, calendar, wet_days=None):
    """Snow parameters of a study; None where no snow can fall or stay.

    Parameters
    ----------
    planes : sequence of darkspell.weather.surfaces.Plane
    habits : sequence of {"slides", "held", "swept"}
        Behaviour of snow on each array.
    climate : darkspell.climate.SiteClimate or darkspell.climate.itinerary.Route
    calendar : darkspell.core.calendar.Calendar
    wet_days : float array [12], optional
        Days with 1 mm of precipitation or more in each calendar month; without them those of the climate.

    Returns
    -------
    Snow or None
    """
    mean, spread = (
        by_place([by_day(getattr(one, name), calendar) for one in parts_of(climate)], climate, calendar)
        for name in ("temp_air_mean", "temp_air_sd")
    )
    tilt = np.array([tilt_by_day(plane, calendar) for plane in planes]).T
    catch = np.where(np.array(habits) == "held", 1.0, caught(tilt)) * (np.array(habits) != "swept")
    if not catch.any() or (mean - LIKELY_SD * spread).min() > warmest():
        return None
    slide = constant("weather", "snow", "slide") * np.sin(np.radians(tilt)) * (np.array(habits) == "slides")
    base, per_sd, melt = _precipitation(climate, calendar, wet_days)
    return Snow(mean, spread, base, per_sd, melt, 1.0, _single(catch), _single(np.round(slide, 6)))


def _precipitation(climate, calendar, wet_days):
    """Base and slope of the probability of precipitation by day, and melting."""
    parts, days = parts_of(climate), calendar.month_of_day
    per_sd = [_slope_with_cold(part) for part in parts]
    base = [base_of_wet_days(*pair, wet_days) for pair in zip(parts, per_sd, strict=True)]
    by_day_ = [by_place([values[days] for values in base], climate, calendar)]
    by_day_.append(by_place([np.full(DAYS, value) for value in per_sd], climate, calendar))
    fall = by_place([np.full(DAYS, water_of_wet_day(part)) for part in parts], climate, calendar).mean()
    return *(np.round(values, 9) for values in by_day_), constant("weather", "snow", "melt") / 24.0 / fall


def _slope_with_cold(climate):
    """Slope of the logit with the cold: that of plains, that of mountains, or between by relief [-]."""
    plain, high = constant("weather", "snow", "per_sd")
    mountain = min(climate.relief / constant("weather", "snow", "relief_of_mountains"), 1.0)
    return plain + mountain * (high - plain)


def base_of_wet_days(climate, per_sd, wet_days=None):
    """Base of the probability of precipitation that gives each month its number of wet days.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate
    per_sd : float
        Slope with the cold [-].
    wet_days : float array [12], optional
        Days with 1 mm of precipitation or more by calendar month; without them those of the climate.

    Returns
    -------
    float64 array [12]
        Logit [-].
    """
    if wet_days is None:
        wet_days = usual_wet_days(climate.precipitation)
    rest, weights = _logit_rest(climate, per_sd), quantile_weights(climate.probabilities)
    wanted = np.clip(np.asarray(wet_days, float) / MONTH_LENGTHS, *WET_BOUNDS)
    low, high = np.full(12, -STEEPEST_LOGIT), np.full(12, STEEPEST_LOGIT)
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        wet = _logistic(middle[:, None, None] + rest).mean(axis=2) @ weights
        low, high = np.where(wet < wanted, middle, low), np.where(wet < wanted, high, middle)
    return (low + high) / 2.0


def expected_days(climate, wet_days=None):
    """Days with snowfall of a mean year, clearness and temperature taken as independent.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate
    wet_days : float array [12], optional
        As in `snow_of`.

    Returns
    -------
    float
        [days/year].
    """
    year = Calendar(1)
    base, per_sd, _ = _precipitation(climate, year, wet_days)
    anomaly = _anomalies()
    temp = np.asarray(climate.temp_air_mean)[:, None] + np.asarray(climate.temp_air_sd)[:, None] * anomaly
    threshold, width = (constant("weather", "snow", name) for name in ("threshold", "threshold_width"))
    middle = np.cumsum(MONTH_LENGTHS) - MONTH_LENGTHS // 2 - 1
    wet = _logistic(base[middle][:, None, None] + _logit_rest(climate, per_sd[0]))
    cold = _logistic((threshold - temp) / width)[:, None, :]
    return float(((wet * cold).mean(axis=2) @ quantile_weights(climate.probabilities)) @ MONTH_LENGTHS)


def _logit_rest(climate, per_sd):
    """Logit of precipitation without its base, by month, quantile of clearness and temperature anomaly."""
    per_kt, most = constant("weather", "snow", "per_kt"), constant("weather", "snow", "most_sd")
    mean, spread = np.asarray(climate.temp_air_mean, float), np.asarray(climate.temp_air_sd, float)
    milder = np.maximum(mean - constant("weather", "snow", "dry_below"), 0.0) / spread
    cold = np.clip(_anomalies() + milder[:, None], -most, 0.0)
    return per_kt * np.asarray(climate.kt_quantiles)[..., None] + per_sd * cold[:, None, :]


def _anomalies():
    """Temperature anomalies of equal probability [standard deviations]."""
    from scipy.special import ndtri

    return ndtri((np.arange(ANOMALIES) + 0.5) / ANOMALIES)


def _logistic(x):
    return 1.0 / (1.0 + np.exp(-x))


def _single(values):
    return np.ascontiguousarray(values, np.float32)


def scaled(snow, days, wanted):
    """Scale the probability of snowfall to a given number of days per year.

    Parameters
    ----------
    snow : Snow or None
    days : darkspell.weather.days.Days
        Days of many years.
    wanted : float
        Days with snowfall per year; at most the number of days that are cold enough.

    Returns
    -------
    Snow or None
    """
    if snow is None or wanted == 0.0:
        return None
    low, high = 0.0, 1000.0
    for _ in range(40):
        middle = (low * high) ** 0.5 if low else high / 1000.0
        short = falling_days(replace(snow, scale=middle), days).mean() < wanted
        low, high = (middle, high) if short else (low, middle)
    return replace(snow, scale=round(high, 6))
