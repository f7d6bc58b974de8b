"""Upper limit of daily clearness from a clean, cloudless sky."""

import numpy as np

from darkspell.core.constants import constant

MID_MONTH = np.array([15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349])  # day of the year
LOWEST_HEIGHT = 0.1  # sine of the elevation, for polar winters
LOW_BEAM = 0.15


def clear_sky_clearness(latitude, altitude, temp_air, temp_range):
    """Mean clearness of cloudless days with clean air.

    The clear-sky irradiation of the ASCE standardized reference evapotranspiration equation (Allen et al., ASCE 2005,
    appendix D, from memory): ``Kb = 0.98 exp(-0.00146 P / sin h - 0.075 (W / sin h)^0.4)``, ``Kd = 0.35 - 0.36 Kb``,
    with air pressure P [kPa], precipitable water ``W = 0.14 ea P + 2.1`` [mm] and the day's mean solar elevation h.
    The dew point is taken as the daily minimum of air temperature (FAO Irrigation and Drainage Paper 56, eq. 48).

    Parameters
    ----------
    latitude : float
        [degrees].
    altitude : float
        Above sea level [m].
    temp_air, temp_range : float arrays [12]
        Monthly mean [degC] and mean daily range [K] of air temperature.

    Returns
    -------
    float64 array [12]
        ``Kb + Kd`` [-].
    """
    pressure = 101.3 * ((293.0 - 0.0065 * altitude) / 293.0) ** 5.26
    dew_point = np.asarray(temp_air, float) - np.asarray(temp_range, float) / 2.0
    vapour = 0.6108 * np.exp(17.27 * dew_point / (dew_point + 237.3))
    phi = np.radians(latitude)
    height = np.sin(0.85 + 0.3 * phi * np.sin(2.0 * np.pi * MID_MONTH / 365.0 - 1.39) - 0.42 * phi**2)
    height = np.maximum(height, LOWEST_HEIGHT)
    water = 0.14 * vapour * pressure + 2.1
    beam = 0.98 * np.exp(-0.00146 * pressure / height - 0.075 * (water / height) ** 0.4)
    return beam + np.where(beam >= LOW_BEAM, 0.35 - 0.36 * beam, 0.18 + 0.82 * beam)


def clearness_ceiling(site, temp_air, temp_range, kt, highest=0.0):
    """Upper limit of daily clearness by calendar month.

    A fixed factor above the clear sky; never below what the data of the site contain.

    Parameters
    ----------
    site : object
        With `latitude_deg` and `altitude_m`.
    temp_air, temp_range : float arrays [12]
        Monthly mean [degC] and mean daily range [K] of air temperature.
    kt : float array [12]
        Monthly mean clearness [-].
    highest : float array [12], optional
        Largest daily clearness that is known from data [-].

    Returns
    -------
    float64 array [12]
        [-].
    """
    clear = clear_sky_clearness(site.latitude_deg, site.altitude_m, temp_air, temp_range)
    over_clear, over_mean, over_highest = (
        constant("climate", "ceiling", name) for name in ("over_clear", "over_mean", "over_highest")
    )
    data = np.maximum(over_mean * np.asarray(kt, float), np.asarray(highest, float) + over_highest)
    ceiling = np.maximum(over_clear * clear, data)
    return np.round(np.minimum(ceiling, constant("climate", "ceiling", "highest")), 6)
