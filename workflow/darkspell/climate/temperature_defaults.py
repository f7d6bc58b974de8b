"""Daily range, day-to-day variability and altitude correction of air temperature, estimated from monthly means."""

import numpy as np

from darkspell.core.constants import constant


def daily_range(kt):
    """Mean daily maximum minus minimum of air temperature from mean clearness [K].

    Hargreaves' relation ``kt = k sqrt(range)``, solved for the range; Allen et al., FAO Irrigation and Drainage
    Paper 56 (1998), eq. 50.

    Parameters
    ----------
    kt : float array [12]
        Monthly mean clearness [-].

    Returns
    -------
    float64 array [12]
    """
    low, high = constant("climate", "range_bounds")
    return np.clip((np.asarray(kt) / constant("climate", "hargreaves")) ** 2, low, high)


def daily_sd(temp_air):
    """Standard deviation of daily mean temperature within its month [K].

    ``base + per_swing * (annual range of monthly means) + per_cold * (annual mean - monthly mean)``, fitted on
    typical years.

    Parameters
    ----------
    temp_air : float array [12]
        Monthly mean air temperature [degC].

    Returns
    -------
    float64 array [12]
    """
    temp_air = np.asarray(temp_air, float)
    sd = constant("climate", "temp_sd_base") + constant("climate", "temp_sd_per_swing") * np.ptp(temp_air)
    return np.maximum(
        sd + constant("climate", "temp_sd_per_cold") * (temp_air.mean() - temp_air),
        constant("climate", "temp_sd_least"),
    )


def with_sun(temp_air, relief):
    """Correlation of daily mean temperature with the latent series of clearness.

    Clear days are warm in the warm season. In the cold season they are cold in plains, under inversions, and neither
    cold nor warm among hills and mountains.

    Parameters
    ----------
    temp_air : float array [12]
        Monthly mean air temperature [degC].
    relief : float
        Standard deviation of the altitude around the site [m].

    Returns
    -------
    float64 array [12]
        [-].
    """
    mean = np.asarray(temp_air, float)
    half = max(np.ptp(mean) / 2.0, constant("climate", "least_swing"))
    season = np.clip((mean - (mean.max() + mean.min()) / 2.0) / half, -1.0, 1.0)
    flat = max(0.0, 1.0 - relief / constant("climate", "relief_of_hills"))
    return constant("climate", "temperature_with_sun") * np.where(season < 0.0, flat * season, season)


def at_altitude(temp_air, grid_altitude, altitude):
    """Monthly mean air temperature of a grid, corrected to the altitude of a site.

    Parameters
    ----------
    temp_air : float array [12]
        [degC].
    grid_altitude, altitude : float
        Mean altitude around the site, and that of the site [m]. A site at 0 m, the default, is left uncorrected.

    Returns
    -------
    float64 array [12]
        [degC].
    """
    if altitude == 0.0:
        return temp_air
    return temp_air + constant("climate", "lapse_rate") * (grid_altitude - altitude)
