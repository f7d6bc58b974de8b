"""Build climatology.nc, mean clearness and terrain relief of the whole world, from open data.

    python workflow/data/build_climatology.py FOLDER

FOLDER holds ``power_monthly_ghi_1deg.csv`` (NASA POWER, 60 S to 60 N with holes) and ``sse6_monthly_ghi_1deg.gz``
(NASA SSE 6.0, the globe). The seasons are a weighted geometric mean of both, a little deeper; where POWER has a hole,
SSE times the median ratio of both at that latitude and month replaces it. The annual level is the geometric mean of
both. The file stores means of this blend over blocks of 1.5 degrees and the disagreement of the two sources, never
the sources themselves. The relief comes from the altitude map of pvlib.
"""

import gzip
import sys
from pathlib import Path

import h5py
import netCDF4
import numpy as np
import pandas as pd
import pvlib

from darkspell.climate.extraterrestrial import monthly_extraterrestrial
from darkspell.core.constants import constant

TARGET = Path(__file__).with_name("climatology.nc")
POWER, SSE = "power_monthly_ghi_1deg.csv", "sse6_monthly_ghi_1deg.gz"
SSE_HEADER_ROWS = 13
BLOCK = 1.5  # degrees; coarser than the sources
FINEST = 0.5  # degrees; divides both the blocks and the cells of the sources
# Weight of POWER in the seasons, and power of a month's GHI over the year's by which months are scaled: both sources
# are too bright in dark months, which decide the loss of load. Least squares on the months of 24 stations
# (fit_climate.py: 0.58 and 0.030; with a station and all within 800 km left out 0.52 to 0.66 and 0.020 to 0.039).
# RMS within the year of log (blend / measured), left out: 0.039; with POWER alone 0.043.
SEASON_WEIGHT, SEASON_DEPTH = 0.6, 0.03
DARKEST = 0.05  # of the year's mean GHI; months below are scaled as if they had it
ALTITUDE_STEP, ALTITUDE_OFFSET, SEA_CODE = (
    28.0,
    450.0,
    255,
)  # codes of pvlib's map, as pvlib.location reads them
PIXELS = 6  # of the map in half a degree
SOURCES = (
    "NASA Langley Research Center POWER Project, monthly GHI 2001-2020; NASA Surface meteorology and Solar Energy "
    "release 6.0, monthly GHI July 1983 to June 2005"
)


def main(folder):
    """Read both climatologies, blend them, write the file."""
    folder = Path(folder)
    map_ = altitude()
    blend, level_gap, season_gap = blended(power(folder / POWER), sse(folder / SSE))
    write(
        TARGET,
        *(block_means(field) for field in (blend, level_gap, season_gap)),
        relief(map_),
        altitude_of_grid(map_),
    )
    print(f"{TARGET.name}: {TARGET.stat().st_size / 1e6:.2f} MB")


def power(path):
    """GHI of NASA POWER [kWh/m2/day]; float64 [180, 360, 12] from 90 S and 180 W, NaN where there is none."""
    table = pd.read_csv(path).to_numpy(float)
    return _on_grid(table[:, 0] - 0.5, table[:, 1] - 0.5, table[:, 2:14])


def sse(path):
    """GHI of NASA SSE 6.0 [kWh/m2/day]; float64 [180, 360, 12]; its rows name the south-west corner."""
    with gzip.open(path, "rt") as file:
        table = np.loadtxt(file, skiprows=SSE_HEADER_ROWS + 1)
    return _on_grid(table[:, 0], table[:, 1], table[:, 2:14])


def _on_grid(south, west, values):
    grid = np.full((180, 360, 12), np.nan)
    grid[np.round(south + 90).astype(int), np.round(west + 180).astype(int)] = values
    return grid


def blended(power, sse, weight=SEASON_WEIGHT, depth=SEASON_DEPTH):
    """Mean clearness of the blend, and how far its sources differ.

    Parameters
    ----------
    power, sse : float64 arrays [180, 360, 12]
        GHI [kWh/m2/day]; NaN where there is none.
    weight, depth : float
        Weight of POWER in the seasons, and how much deeper than their mean the seasons are [-].

    Returns
    -------
    clearness : float64 array [180, 360, 12]
        NaN in months without sun outside the atmosphere.
    level_gap : float64 array [180, 360]
        Logarithm of the year's GHI of POWER over that of SSE.
    season_gap : float64 array [180, 360]
        RMS over the months of the logarithm of POWER over SSE, less `level_gap`.
    """
    extra = np.array([monthly_extraterrestrial(latitude) for latitude in np.arange(-89.5, 90.0)])[:, None, :]
    lit = extra >= constant("climate", "polar_night")
    one, two = (np.where(lit & (ghi > 0.0), ghi / np.maximum(extra, 1e-6), np.nan) for ghi in (power, sse))
    one = np.where(np.isfinite(one), one, two * np.exp(_ratio_by_latitude(np.log(one / two)))[:, None, :])
    level_one, level_two = (_of_year(kt, extra) for kt in (one, two))
    seasons = (one / level_one[..., None]) ** weight * (two / level_two[..., None]) ** (1.0 - weight)
    ghi = np.where(np.isfinite(seasons), seasons * extra, 0.0)
    darkness = np.log(np.maximum(ghi / ghi.mean(axis=2, keepdims=True), DARKEST))
    blend = seasons * np.exp(depth * darkness) * np.sqrt(level_two * level_one)[..., None]
    level_gap = np.log(level_one / level_two)
    season_gap = np.sqrt(np.nanmean((np.log(one / two) - level_gap[..., None]) ** 2, axis=2))
    return blend, level_gap, season_gap


def _ratio_by_latitude(log):
    """Median over the longitudes, by latitude and month; the nearest known latitude's where there is none."""
    out = np.empty((log.shape[0], 12))
    for month in range(12):
        rows = [
            np.median(row[np.isfinite(row)]) if np.isfinite(row).any() else np.nan for row in log[:, :, month]
        ]
        known = np.flatnonzero(np.isfinite(rows))
        out[:, month] = np.interp(np.arange(log.shape[0]), known, np.array(rows)[known])
    return out


def _of_year(kt, extra):
    """Mean clearness of the year, each month weighted by the light outside the atmosphere; [180, 360]."""
    known = np.isfinite(kt)
    light = np.where(known, extra, 0.0)
    return (np.where(known, kt, 0.0) * light).sum(axis=2) / light.sum(axis=2)


def block_means(field):
    """Means over the blocks of the file; [120, 240, ...] from a field of one degree [180, 360, ...]."""
    times, size = round(1.0 / FINEST), round(BLOCK / FINEST)
    fine = field.repeat(times, axis=0).repeat(times, axis=1)
    parts = fine.reshape(fine.shape[0] // size, size, fine.shape[1] // size, size, *fine.shape[2:])
    count = np.isfinite(parts).sum(axis=(1, 3))
    return np.where(count > 0, np.nansum(parts, axis=(1, 3)) / np.maximum(count, 1), np.nan)


def altitude():
    """Altitude above sea level from pvlib's map [m]; float64 [2160, 4320] from 90 S and 180 W."""
    with h5py.File(Path(pvlib.__file__).with_name("data") / "Altitude.h5") as file:
        codes = file["Altitude"][:][::-1].astype(float)
    return np.where(codes == SEA_CODE, 0.0, ALTITUDE_STEP * codes - ALTITUDE_OFFSET)


def relief(altitude):
    """Standard deviation of the altitude within blocks of half a degree [m]; float64 [360, 720]."""
    return altitude.reshape(360, PIXELS, 720, PIXELS).std(axis=(1, 3))


def altitude_of_grid(altitude):
    """Mean altitude within a quarter of a degree of whole degrees [m]; float64 [181, 360] from 90 S, 180 W."""
    half = PIXELS // 2
    padded = np.pad(altitude, ((half, half), (0, 0)), mode="edge")
    rows = [padded[2 * PIXELS * row : 2 * PIXELS * row + PIXELS] for row in range(181)]
    columns = (np.arange(360)[:, None] * 2 * PIXELS + np.arange(-half, half)) % altitude.shape[1]
    return np.array([row[:, columns].mean(axis=(0, 2)) for row in rows])


def write(path, clearness, level_gap, season_gap, relief, altitude):
    """Write the compact file: small integers with scale factors, compressed."""
    with netCDF4.Dataset(path, "w") as file:
        sizes = dict(zip(("lat", "lon", "month"), clearness.shape, strict=True))
        sizes |= dict(zip(("relief_lat", "relief_lon"), relief.shape, strict=True))
        sizes |= dict(zip(("point_lat", "point_lon"), altitude.shape, strict=True))
        for name, size in sizes.items():
            file.createDimension(name, size)
        file.title = (
            "Monthly mean clearness of darkspell; see README.md beside this file for sources and terms"
        )
        file.Conventions, file.source = "CF-1.10", SOURCES
        _put(file, "clearness", ("lat", "lon", "month"), clearness, "u2", 0.0005,
             "Monthly mean GHI over extraterrestrial irradiation, blocks of 1.5 degrees from 90 S 180 W")  # fmt: skip
        _put(file, "level_gap", ("lat", "lon"), level_gap, "i2", 0.001,
             "Logarithm of the year's GHI, POWER over SSE")  # fmt: skip
        _put(file, "season_gap", ("lat", "lon"), season_gap, "u2", 0.001,
             "RMS over the months of the logarithm of POWER over SSE, less level_gap")  # fmt: skip
        _put(file, "relief", ("relief_lat", "relief_lon"), relief, "u1", 5.0,
             "Standard deviation of altitude within blocks of half a degree from 90 S, 180 W", "m")  # fmt: skip
        _put(file, "altitude", ("point_lat", "point_lon"), altitude, "i2", 1.0,
             "Mean altitude round whole degrees from 90 S, 180 W, as temp_air of atlas.nc", "m")  # fmt: skip


def _put(file, name, dimensions, values, kind, scale, label, units="1"):
    fill = {"u1": 255, "u2": 65535, "i2": -32768}[kind]
    variable = file.createVariable(
        name, kind, dimensions, compression="zlib", complevel=9, shuffle=True, fill_value=fill
    )
    variable.units, variable.long_name, variable.scale_factor = units, label, scale
    variable[:] = np.ma.array(np.nan_to_num(values), mask=~np.isfinite(values))


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    main(sys.argv[1])
