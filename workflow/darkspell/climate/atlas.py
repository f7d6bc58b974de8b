"""The built-in atlas: daily clearness of land on a 3-degree grid, annual correction, air temperature."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from darkspell.climate.distribution import STEEPEST, expit, logit, typical_quantiles
from darkspell.climate.extraterrestrial import monthly_extraterrestrial
from darkspell.climate.persistence import typical_persistence
from darkspell.climate.site_climate import PROBABILITIES, SiteClimate
from darkspell.climate.temperature_defaults import daily_range, daily_sd
from darkspell.climate.uncertainty import source_uncertainty
from darkspell.core.constants import constant
from darkspell.core.errors import StudyError

EARTH_RADIUS = 6371.0
CURE = (
    "give climate.source: monthly with twelve values of ghi_kwh_m2_day from a solar atlas, "
    "climate.source: typical_year with a weather file, or climate.source: measured with a record"
)


@dataclass(frozen=True)
class AtlasPoint:
    """Atlas values at one location.

    Parameters
    ----------
    kt_quantiles : float64 array [12, Q]
        Daily clearness, corrected by the annual mean of the location [-].
    distance : float
        Distance to the centre of the nearest cell [km].
    cell : tuple of float
        Latitude and longitude of that cell's centre [degrees].
    correction : float or None
        Corrected over uncorrected annual irradiation [-]; None without an annual value nearby.
    """

    kt_quantiles: np.ndarray
    distance: float
    cell: tuple
    correction: float | None


def from_atlas(site):
    """Climate of a site from the atlas alone.

    Parameters
    ----------
    site : object
        With `latitude_deg` and `longitude_deg`.

    Returns
    -------
    darkspell.climate.SiteClimate

    Raises
    ------
    StudyError
        If the nearest cell is too far away (at sea, in polar regions).
    """
    point = atlas_point(site.latitude_deg, site.longitude_deg)
    if point is None:
        raise StudyError(_too_far(site))
    kt = point.kt_quantiles.mean(axis=1)
    temp_air = atlas_temperature(site.latitude_deg, site.longitude_deg)
    return SiteClimate(
        probabilities=PROBABILITIES,
        kt_quantiles=typical_quantiles(point.kt_quantiles, kt, site.latitude_deg),
        temp_air_mean=temp_air,
        temp_air_range=daily_range(kt),
        temp_air_sd=daily_sd(temp_air),
        **typical_persistence(site.latitude_deg),
        **source_uncertainty("atlas", site.latitude_deg),
        source=f"built-in atlas, nearest cell {_place(*point.cell)}, {point.distance:.0f} km away",
        notes=_notes(point),
    )


def atlas_point(latitude, longitude):
    """Clearness at a location, or None where the nearest cell is too far away.

    The quantiles of the surrounding cells are averaged with bilinear weights, then shifted together in
    logit space until the annual irradiation equals that of the finer annual field.

    Parameters
    ----------
    latitude, longitude : float
        [degrees], north and east positive.

    Returns
    -------
    AtlasPoint or None
    """
    cells = _atlas()
    distance = great_circle(latitude, longitude, cells["cell_latitude"], cells["cell_longitude"])
    nearest = int(np.argmin(distance))
    if distance[nearest] > constant("climate", "farthest_cell"):
        return None
    quantiles = np.tensordot(_bilinear(latitude, longitude, cells, nearest), cells["clearness"], axes=1)
    annual = annual_irradiation(latitude, longitude)
    cell = float(cells["cell_latitude"][nearest]), float(cells["cell_longitude"][nearest])
    if annual is None:
        return AtlasPoint(quantiles, float(distance[nearest]), cell, None)
    corrected, correction = _to_annual(quantiles, monthly_extraterrestrial(latitude), annual)
    return AtlasPoint(corrected, float(distance[nearest]), cell, correction)


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
    row, column = int(min(np.floor(latitude + 90.0), 179)), int(np.floor(longitude + 180.0))
    north, east = latitude + 90.0 - row, longitude + 180.0 - column
    corners = _atlas()["temp_air"][:, row : row + 2][:, :, [column % 360, (column + 1) % 360]]
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


def _to_annual(quantiles, extra, annual):
    """Shift all months equally in logit space until the annual irradiation has the given value.

    An equal shift changes dull months by a larger factor than bright ones, as the error of the source does.
    """
    y, before = logit(quantiles), (quantiles.mean(axis=1) * extra).mean()
    low, high = -STEEPEST, STEEPEST
    for _ in range(60):
        middle = (low + high) / 2.0
        short = (expit(y + middle).mean(axis=1) * extra).mean() < annual
        low, high = (middle, high) if short else (low, middle)
    return expit(y + low), annual / before


def _turn(degrees):
    return (degrees + 180.0) % 360.0 - 180.0


def _place(latitude, longitude):
    north, east = "N" if latitude >= 0 else "S", "E" if longitude >= 0 else "W"
    return f"{abs(latitude):g} {north} {abs(longitude):g} {east}"


def _too_far(site):
    cells, here = _atlas(), (site.latitude_deg, site.longitude_deg)
    reach = constant("climate", "farthest_cell")
    distance = great_circle(*here, cells["cell_latitude"], cells["cell_longitude"]).min()
    return (
        f"climate.source: the built-in atlas has no cell near {_place(*here)}: the nearest is "
        f"{distance:.0f} km away, and the limit is {reach:.0f} km "
        f"(land, up to 66 degrees north); {CURE}"
    )


def _notes(point):
    notes = [
        "Built-in atlas: coarse, from five years of reanalysis; twelve monthly values reduce the uncertainty."
    ]
    if point.correction is None:
        notes.append("No annual value near this location: the atlas is uncorrected, often 10 % too sunny.")
    return notes


@cache
def _atlas():
    """Contents of the atlas file, unpacked, as float64 arrays by name."""
    import netCDF4

    with netCDF4.Dataset(atlas_file()) as file:
        names = ("cell_latitude", "cell_longitude", "clearness", "annual_ghi", "temp_air")
        return {name: np.ma.filled(file[name][:].astype(float), np.nan) for name in names}


def atlas_file():
    """Path of the atlas: inside the installed package, or next to it in a checkout."""
    package = Path(__file__).parents[1]
    inside = package / "data" / "atlas.nc"
    return inside if inside.exists() else package.parent / "data" / "atlas.nc"
