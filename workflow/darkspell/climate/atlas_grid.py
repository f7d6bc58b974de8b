"""Grids of the built-in atlas: daily clearness and annual irradiation of land, air temperature, precipitation."""

from dataclasses import dataclass
from functools import cache

import numpy as np

from darkspell.climate.data_files import data_file
from darkspell.core.constants import constant

EARTH_RADIUS = 6371.0


@dataclass(frozen=True)
class AtlasPoint:
    """Atlas values at one location.

    Parameters
    ----------
    kt_quantiles : float64 array [12, Q]
        Daily clearness; its width and shape are used, its mean is often too high [-].
    distance : float
        Distance to the centre of the nearest cell [km].
    cell : tuple of float
        Latitude and longitude of that cell's centre [degrees].
    """

    kt_quantiles: np.ndarray
    distance: float
    cell: tuple


def atlas_point(latitude, longitude):
    """Daily clearness at a location: bilinear mean of the quantiles of the surrounding cells.

    Parameters
    ----------
    latitude, longitude : float
        [degrees], north and east positive.

    Returns
    -------
    AtlasPoint or None
        None where the nearest cell is too far away.
    """
    cells = _atlas()
    distance = great_circle(latitude, longitude, cells["cell_latitude"], cells["cell_longitude"])
    nearest = int(np.argmin(distance))
    if distance[nearest] > constant("climate", "farthest_cell"):
        return None
    quantiles = np.tensordot(_bilinear(latitude, longitude, cells, nearest), cells["clearness"], axes=1)
    cell = float(cells["cell_latitude"][nearest]), float(cells["cell_longitude"][nearest])
    return AtlasPoint(quantiles, float(distance[nearest]), cell)


def annual_irradiation(latitude, longitude):
    """Annual mean GHI of the land within one degree.

    Parameters
    ----------
    latitude, longitude : float
        [degrees].

    Returns
    -------
    float or None
        [kWh/m2/day]; None where there is no land.
    """
    rows = np.abs(np.arange(-89.75, 90.0, 0.5) - latitude) <= 1.0
    columns = np.abs(_turn(np.arange(-179.75, 180.0, 0.5) - longitude)) <= 1.0
    near = _atlas()["annual_ghi"][rows][:, columns]
    return float(np.nanmean(near)) if np.isfinite(near).any() else None


def atlas_temperature(latitude, longitude):
    """Monthly mean 2 m air temperature, interpolated between the four surrounding grid points.

    Parameters
    ----------
    latitude, longitude : float
        [degrees].

    Returns
    -------
    float64 array [12]
        [degC].
    """
    return between_whole_degrees(_atlas()["temp_air"], latitude, longitude)


def atlas_precipitation(latitude, longitude):
    """Mean monthly precipitation, interpolated between the four surrounding grid points.

    Parameters
    ----------
    latitude, longitude : float
        [degrees].

    Returns
    -------
    float64 array [12]
        [mm/month].
    """
    return between_whole_degrees(_atlas()["precipitation"], latitude, longitude)


def between_whole_degrees(field, latitude, longitude):
    """Bilinear interpolation in a field that is given at whole degrees.

    Parameters
    ----------
    field : float array [n, 181, 360]
        From 90 S and 180 W.
    latitude, longitude : float
        [degrees].

    Returns
    -------
    float64 array [n]
    """
    row, column = int(min(np.floor(latitude + 90.0), 179)), int(np.floor(longitude + 180.0))
    north, east = latitude + 90.0 - row, longitude + 180.0 - column
    corners = field[:, row : row + 2][:, :, [column % 360, (column + 1) % 360]]
    return np.einsum("mij,i,j->m", corners, [1.0 - north, north], [1.0 - east, east])


def great_circle(latitude, longitude, latitudes, longitudes):
    """Great-circle distance by the haversine formula.

    Parameters
    ----------
    latitude, longitude : float
        One location [degrees].
    latitudes, longitudes : float or float array [n]
        Other locations [degrees].

    Returns
    -------
    float or float64 array [n]
        [km].
    """
    phi, phis = np.radians(latitude), np.radians(latitudes)
    half = np.sin((phis - phi) / 2.0) ** 2
    half = half + np.cos(phi) * np.cos(phis) * np.sin(np.radians(longitudes - longitude) / 2.0) ** 2
    return 2.0 * EARTH_RADIUS * np.arcsin(np.sqrt(np.minimum(half, 1.0)))


def _bilinear(latitude, longitude, cells, nearest):
    """Bilinear weights of all cells; the weight of missing cells (sea) goes to the others."""
    north = np.maximum(0.0, 1.0 - np.abs(cells["cell_latitude"] - latitude) / 3.0)
    east = np.maximum(0.0, 1.0 - np.abs(_turn(cells["cell_longitude"] - longitude)) / 3.0)
    weights = north * east
    if weights.sum() < 1e-3:
        weights[nearest] = 1.0
    return weights / weights.sum()


def _turn(degrees):
    return (degrees + 180.0) % 360.0 - 180.0


@cache
def _atlas():
    """Contents of the atlas file, unpacked, as float64 arrays by name."""
    import netCDF4

    with netCDF4.Dataset(data_file("atlas.nc")) as file:
        names = ("cell_latitude", "cell_longitude", "clearness", "annual_ghi", "temp_air", "precipitation")
        return {name: np.ma.filled(file[name][:].astype(float), np.nan) for name in names}
