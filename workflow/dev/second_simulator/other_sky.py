"""Another family of weather and arrays by minute, from other published parts than the package's.

Clear sky by the simplified Solis model, a clear-sky index from a logistic autoregressive process in days, hours and
minutes (our choice), diffuse light by Erbs, the tilted modules by Hay & Davies, reflection by Fresnel's law, module
efficiency by Huld's equation, all from pvlib; a horizon of some degrees, years brighter or duller than the climate.
"""

import numpy as np
import pandas as pd
from pvlib import clearsky, iam, irradiance, pvarray, solarposition, temperature

YEAR_SD = 0.05  # of a season's irradiation against the climate's, our choice


def other_weather(system, first, days, rng):
    """Minutes of irradiance and air temperature; columns as of `dev.second_simulator.sky.weather`.

    Parameters
    ----------
    system : dev.second_simulator.system.PlainSystem
    first : datetime64[D]
    days : int
    rng : numpy.random.Generator
    """
    stamps = pd.date_range(pd.Timestamp(first) + pd.Timedelta(seconds=30), periods=1440 * days, freq="min")
    utc = (stamps - pd.Timedelta(hours=system.utc_offset)).tz_localize("UTC")
    sun = solarposition.ephemeris(utc, system.latitude, system.longitude)
    zenith = sun["apparent_zenith"].to_numpy()
    extra = irradiance.get_extra_radiation(utc).to_numpy()
    haze, water = rng.uniform(0.05, 0.25), rng.uniform(0.5, 3.0)
    clear = clearsky.simplified_solis(
        90.0 - zenith, aod700=haze, precipitable_water=water,
        pressure=101325.0 * np.exp(-system.altitude / 8400.0), dni_extra=extra,
    )["ghi"]  # fmt: skip
    clear = np.nan_to_num(np.asarray(clear))
    sine = np.maximum(np.cos(np.radians(zenith)), 0.0)
    index = _index(system, stamps, clear, extra * sine, rng)
    ghi = np.minimum(index * clear, 1.1 * extra * sine + 20.0 * (sine > 0))
    split = irradiance.erbs(ghi, zenith, stamps.day_of_year.to_numpy())
    return pd.DataFrame(
        {
            "ghi": ghi, "dhi": np.nan_to_num(np.asarray(split["dhi"])),
            "dni": np.nan_to_num(np.asarray(split["dni"])),
            "temp_air": _air(system, stamps, rng), "zenith": zenith, "azimuth": sun["azimuth"].to_numpy(),
            "extra": extra,
        },
        index=stamps,
    )  # fmt: skip


def _index(system, stamps, clear, top, rng):
    """Clear-sky index by minute whose monthly mean is that of the climate, but for the year's own luck."""
    days, month = stamps.size // 1440, stamps.month.to_numpy()
    slow = np.repeat(_walk(days, 1.0, rng), 1440)
    hours = np.repeat(_walk(stamps.size // 60, 3.0, rng), 60)
    quick = _walk(stamps.size // 5, 3.0, rng).repeat(5)
    state = 1.6 * slow + 1.0 * hours + 1.2 * quick
    out, year = np.empty(stamps.size), float(np.exp(YEAR_SD * rng.standard_normal()))
    for m in np.unique(month):
        at = month == m
        wanted = min(system.clearness[m - 1] * year * top[at].mean() / clear[at].mean(), 0.97)
        low, high = -8.0, 8.0
        for _ in range(30):
            middle = 0.5 * (low + high)
            made = 0.08 + 0.98 / (1.0 + np.exp(-(state[at] + middle)))
            if (made * clear[at]).sum() > wanted * clear[at].sum():
                high = middle
            else:
                low = middle
        out[at] = made
    return out


def _walk(count, length, rng):
    """Autoregressive normal numbers with a correlation length in steps; float64 [count], variance 1."""
    from scipy.signal import lfilter

    keep = np.exp(-1.0 / length)
    noise = rng.standard_normal(count) * np.sqrt(1.0 - keep**2)
    return lfilter([1.0], [1.0, -keep], noise)


def _air(system, stamps, rng):
    """Air temperature by minute [degC], with cold and warm spells and wide days."""
    days = stamps.size // 1440
    middle = 30.4 * np.arange(-1, 13) + 15.2
    year = np.interp(
        stamps[::1440].day_of_year, middle, np.take(system.temperature, np.arange(-1, 13), mode="wrap")
    )
    spells = 5.5 * _walk(days, 4.0, rng)
    hour = np.arange(stamps.size) / 60.0 % 24.0
    swing = np.repeat(rng.uniform(2.0, 12.0, days), 1440)
    return np.repeat(year + spells, 1440) - swing * np.cos(2.0 * np.pi * (hour - 4.0) / 24.0)


def other_array_power(system, sky, rng):
    """Power of all modules by minute [W]; parameters as `dev.second_simulator.pv.array_power`."""
    total, horizon = np.zeros(len(sky)), rng.uniform(0.0, 7.0, 2)
    edge = np.where(sky["azimuth"] < 180.0, *horizon)
    seen = (90.0 - sky["zenith"].to_numpy()) > edge
    wind = np.repeat(rng.gamma(2.0, 1.2, len(sky) // 60 + 1), 60)[: len(sky)]
    for surface in system.surfaces:
        args = surface.tilt, surface.azimuth
        angle = irradiance.aoi(*args, sky["zenith"], sky["azimuth"])
        beam = np.where(seen, sky["dni"] * np.maximum(np.cos(np.radians(angle)), 0.0), 0.0)
        diffuse = irradiance.haydavies(
            *args, sky["dhi"], np.where(seen, sky["dni"], 0.0), sky["extra"], sky["zenith"], sky["azimuth"]
        )
        ground = irradiance.get_ground_diffuse(surface.tilt, sky["ghi"], albedo=system.albedo)
        front = beam * np.nan_to_num(iam.physical(angle)) + 0.95 * (np.nan_to_num(diffuse) + ground)
        front = np.clip(np.nan_to_num(np.asarray(front)), 0.0, 1500.0)
        cell = temperature.sapm_cell(front, sky["temp_air"].to_numpy(), wind, -3.47, -0.0594, 3.0)
        made = pvarray.huld(np.maximum(front, 0.5), cell, surface.watts, cell_type="csi")
        total += (1.0 - surface.loss) * np.maximum(np.nan_to_num(made), 0.0) * (front > 0.5)
    return total
