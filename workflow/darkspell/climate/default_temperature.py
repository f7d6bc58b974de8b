"""Default air temperature, precipitation and terrain of a site, from the built-in grids."""

from darkspell.climate.atlas_grid import atlas_precipitation, atlas_temperature
from darkspell.climate.mean_clearness import grid_altitude, terrain_relief
from darkspell.climate.temperature_defaults import at_altitude, with_sun


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
