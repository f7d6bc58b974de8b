"""Days with precipitation, and the water of one, from the mean precipitation of the months."""

import numpy as np

from darkspell.core.constants import constant


def wet_days(precipitation):
    """Days with 1 mm of rain or snow or more in each month.

    ``a P^b``, in the form of New, Hulme & Jones, Journal of Climate 13 (2000) 2217-2238 (from memory); not more than
    give each wet day the least water.

    Parameters
    ----------
    precipitation : float array [12]
        Mean precipitation of each month [mm/month].

    Returns
    -------
    float64 array [12]
        [days/month].
    """
    precipitation = np.asarray(precipitation, float)
    factor, exponent, least_water = constant("climate", "wet_days")
    return np.minimum(factor * precipitation**exponent, precipitation / least_water)


def water_of_wet_day(climate):
    """Mean water of a wet day in the three coldest months.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate

    Returns
    -------
    float
        [mm].
    """
    cold = np.argsort(climate.temp_air_mean, kind="stable")[:3]
    water, days = climate.precipitation[cold].sum(), wet_days(climate.precipitation[cold]).sum()
    return float(water / days) if days > 0.0 else constant("climate", "wet_days")[2]
