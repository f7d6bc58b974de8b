"""Default air temperature, precipitation and terrain of a site, from the built-in grids."""

import numpy as np

from darkspell.climate.atlas_grid import annual_irradiation, atlas_precipitation, atlas_temperature
from darkspell.climate.mean_clearness import grid_altitude, terrain_relief
from darkspell.climate.temperature_defaults import at_altitude, daily_range, with_sun
from darkspell.core.constants import constant


def grid_temperature(site):
    """Monthly mean air temperature of a site from the built-in grid, corrected to its altitude.

    Parameters
    ----------
    site : object
        With `latitude_deg`, `longitude_deg` and `altitude_m`.

    Returns
    -------
    float64 array [12]
        [degC].
    """
    location = site.latitude_deg, site.longitude_deg
    return at_altitude(atlas_temperature(*location), grid_altitude(*location), site.altitude_m)


def grid_range(site, kt):
    """Mean daily maximum minus minimum of air temperature of a site; smaller at sea than on land.

    Parameters
    ----------
    site : object
        With `latitude_deg` and `longitude_deg`.
    kt : float array [12]
        Monthly mean clearness [-].

    Returns
    -------
    float64 array [12]
        [K].
    """
    most = (
        np.inf
        if annual_irradiation(site.latitude_deg, site.longitude_deg)
        else constant("climate", "range_at_sea")
    )
    return np.minimum(daily_range(kt), most)


def terrain(site, temp_air):
    """Fields of `SiteClimate` that depend on the terrain and on precipitation.

    Parameters
    ----------
    site : object
        With `latitude_deg` and `longitude_deg`.
    temp_air : float array [12]
        Monthly mean air temperature [degC].

    Returns
    -------
    dict
        `relief`, `precipitation` and `temp_air_with_sun`.
    """
    location = site.latitude_deg, site.longitude_deg
    relief = terrain_relief(*location)
    return {
        "relief": relief,
        "precipitation": atlas_precipitation(*location),
        "temp_air_with_sun": with_sun(temp_air, relief),
    }
