"""Monthly mean clearness anywhere on land and sea: a blend of two satellite climatologies and a land field."""

from functools import cache
from typing import NamedTuple

import numpy as np

from darkspell.climate.atlas_grid import annual_irradiation, between_whole_degrees
from darkspell.climate.data_files import data_file
from darkspell.climate.extraterrestrial import monthly_extraterrestrial
from darkspell.core.constants import constant

BLOCK = 1.5  # degrees of latitude and longitude
RELIEF_BLOCK = 0.5
POWER_LIMIT = 60.0  # degrees; NASA POWER in the file ends there


class MeanClearness(NamedTuple):
    """Mean clearness of a location and the disagreement of its sources.

    Parameters
    ----------
    kt : float64 array [12]
        Monthly mean clearness, January first; in the polar night the mean of the other months [-].
    level_sd : float
        Standard deviation of the logarithm of the sources' annual means [-].
    season_gap : float
        RMS over the months of the logarithm of one satellite source over the other, without its mean [-].
    on_land : bool
        Whether the land field covers the location.
    two_satellites : bool
        Whether both satellite climatologies cover the latitude.
    """

    kt: np.ndarray
    level_sd: float
    season_gap: float
    on_land: bool
    two_satellites: bool


def mean_clearness(latitude, longitude):
    """Mean clearness by month at a location.

    The seasons are a weighted mean of NASA POWER and NASA SSE. The annual level is the geometric mean of both and of
    GLDAS (at sea of the first two), lowered to the level of ground stations.

    Parameters
    ----------
    latitude, longitude : float
        [degrees].

    Returns
    -------
    MeanClearness
    """
    field, extra = climatology(), monthly_extraterrestrial(latitude)
    corners = blocks_round(latitude, longitude, BLOCK)
    kt = bilinear_mean(field["clearness"], *corners)
    lit = np.isfinite(kt) & (extra >= constant("climate", "polar_night"))
    kt = np.where(lit, kt, kt[lit].mean())
    year, gap = (kt * extra).mean(), float(bilinear_mean(field["level_gap"], *corners))
    land = annual_irradiation(latitude, longitude)
    levels = np.log(year) + np.array([gap / 2.0, -gap / 2.0])
    levels = levels if land is None else np.append(levels, np.log(land))
    factor = np.exp(levels.mean()) / year * constant("climate", "ground_over_satellite")
    season_gap = float(bilinear_mean(field["season_gap"], *corners))
    return MeanClearness(
        kt * factor, float(levels.std()), season_gap, land is not None, abs(latitude) <= POWER_LIMIT
    )


def terrain_relief(latitude, longitude):
    """Standard deviation of the altitude within about a quarter of a degree.

    Parameters
    ----------
    latitude, longitude : float
        [degrees].

    Returns
    -------
    float
        [m]; below 100 in plains, 300 to 500 in high mountains.
    """
    return float(bilinear_mean(climatology()["relief"], *blocks_round(latitude, longitude, RELIEF_BLOCK)))


def grid_altitude(latitude, longitude):
    """Altitude of the built-in air temperature: interpolated between whole degrees as that is.

    Parameters
    ----------
    latitude, longitude : float
        [degrees].

    Returns
    -------
    float
        Above sea level [m].
    """
    return float(between_whole_degrees(climatology()["altitude"][None], latitude, longitude)[0])


def blocks_round(latitude, longitude, block):
    """Rows and columns of the four blocks round a location, and their bilinear weights.

    Parameters
    ----------
    latitude, longitude, block : float
        Location, and size of the blocks [degrees].

    Returns
    -------
    at : tuple of int arrays
        Index of the field.
    weights : float64 array [2, 2]
        [-].
    """
    rows, columns = round(180.0 / block), round(360.0 / block)
    north, east = (latitude + 90.0) / block - 0.5, (longitude + 180.0) / block - 0.5
    row, column = int(np.floor(north)), int(np.floor(east))
    north, east = north - row, east - column
    at = np.ix_(np.clip([row, row + 1], 0, rows - 1), np.array([column, column + 1]) % columns)
    return at, np.outer([1.0 - north, north], [1.0 - east, east])


def bilinear_mean(field, at, weights):
    """Bilinear mean of a field; the weight of blocks without a value goes to the others.

    Parameters
    ----------
    field : float64 array [rows, columns, ...]
    at, weights
        From `blocks_round`.

    Returns
    -------
    float64 array [...]
    """
    values = field[at]
    weights = weights.reshape(2, 2, *[1] * (values.ndim - 2)) * np.isfinite(values)
    total = weights.sum(axis=(0, 1))
    return np.where(total > 0.0, np.nansum(values * weights, axis=(0, 1)) / np.maximum(total, 1e-9), np.nan)


@cache
def climatology():
    """Contents of climatology.nc: clearness, disagreement of the sources, relief, altitude.

    Returns
    -------
    dict of float64 array
        By name, unpacked; the same object at each call.
    """
    import netCDF4

    with netCDF4.Dataset(data_file("climatology.nc")) as file:
        names = ("clearness", "level_gap", "season_gap", "relief", "altitude")
        return {name: np.ma.filled(file[name][:].astype(float), np.nan) for name in names}
