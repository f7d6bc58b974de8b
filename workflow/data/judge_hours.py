"""Judge the hours within the day by small banks, on measured hours with the same energy each day.

    pip install --no-deps pvanalytics==0.2.2 pyarrow
    python workflow/data/judge_hours.py

Measured: irradiance in a module plane, every 15 minutes, February 2019 to October 2023, that pvanalytics carries as
``system_15_poa_irradiance``. The package does not name the location; a clear sky at 39.74 N, 105.17 W, 1,830 m in a
plane of 50 degrees, 5 degrees east of south, fits its clear days within 29 W/m2 (RMS). Three typical years of pvlib,
in part modelled, come second. Each day of the model has the measured energy, so only the hours are judged. The spread
within the day is that over the brightest days of the season, measured and modelled each over their own, since the way
from the horizontal to the plane errs alike on all clear days. For banks of 0.3 to 4 days the array is sized for
1 % of measured hours without supply.
"""

import sys
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
from numba import njit

from darkspell.climate.weather_file import find_weather_file, read_weather_file
from darkspell.core.calendar import Calendar
from darkspell.core.keyed_random import stream_key
from darkspell.weather.hourly_clearness import near_normals, noise_numbers, spread_day
from darkspell.weather.solar_geometry import site_sky
from darkspell.weather.surfaces import Plane

FILE = "data/system_15_poa_irradiance.parquet"
SITE = dict(latitude=39.74, longitude=-105.17, altitude=1830.0)
TILT, AZIMUTH, ZONE, UTC_OFFSET = 50.0, 175.0, "Etc/GMT+7", -7.0
TYPICAL = ("723170TYA.CSV", "12839.tm2", "703165TY.csv")
BANKS, WANTED = (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 1.0, 2.0, 4.0), 0.01
HIGHEST, LANES = 1500.0, 8
CLEARNESS = np.array([0.03, 0.07, 0.12, 0.17, 0.22, 0.28, 0.34, 0.4, 0.46, 0.52, 0.57, 0.62, 0.66, 0.69, 0.72, 0.75,
                      0.78, 0.8, 0.82])  # fmt: skip
# Of a day's energy over that of the season's brightest days: one in so many of those within so many days of a date.
CLASSES = 0.0, 0.2, 0.4, 0.55, 0.7, 0.85, 0.93, 1.1
NEAR_DAYS, BRIGHTEST = 12, 8
BRIGHT = 250.0  # least of their hours that count [W/m2]


def main():
    """Print the ratios of loss of load and the spread within the day."""
    measured, model, day = plane_days()
    print(f"measured plane, {len(measured)} days")
    print_losses(measured, model)
    for name, hours in (("measured", measured), ("model", model[0])):
        top = np.array([_brightest(_near(hours, day, date)) for date in range(365)])[day]
        print(f"  {name}: SD and lag-1 within the day", *_spread(hours, top))
    for name in TYPICAL:
        weather = read_weather_file(find_weather_file(f"pvlib:{name}"))
        sky = _sky(weather.latitude, weather.longitude, 100.0, weather.utc_offset)
        hours = weather.ghi.reshape(365, 24)
        drawn = model_hours(sky, np.clip(hours.sum(axis=1) / sky.daily_extra, 0.01, 0.82))
        print(f"{name}, horizontal")
        print_losses(hours, drawn * (hours.sum(axis=1) / np.maximum(drawn.sum(axis=2), 1e-6))[..., None])


def plane_days():
    """Measured hours of whole days, and the model's hours of the same energy in that plane.

    Returns
    -------
    measured : float64 array [days, 24]
    model : float64 array [lanes, days, 24]
        [W/m2].
    day : int array [days]
        Day of the year, from 0.
    """
    table = _measured()
    measured, day = table.to_numpy(), np.minimum(table.index.day_of_year.to_numpy() - 1, 364)
    drawn = np.array([_in_plane(kt) for kt in CLEARNESS])
    energy = drawn.sum(axis=3)
    model = np.empty((LANES, len(day), 24))
    for lane in range(LANES):
        nearest = np.abs(energy[:, lane, day] - measured.sum(axis=1)).argmin(axis=0)
        hours = drawn[nearest, lane, day]
        model[lane] = hours * (measured.sum(axis=1) / np.maximum(hours.sum(axis=1), 1e-6))[:, None]
    return measured, model, day


def _measured():
    package = find_spec("pvanalytics")
    if package is None:
        sys.exit("pvanalytics is missing: pip install --no-deps pvanalytics==0.2.2 pyarrow")
    table = pd.read_parquet(Path(package.submodule_search_locations[0], FILE))
    times = pd.to_datetime(table["measured_on"], utc=True).dt.tz_convert(ZONE)
    series = pd.Series(table.iloc[:, 1].to_numpy(), pd.DatetimeIndex(times))
    series = series[~series.index.duplicated()]
    series = series.where((series >= 0.0) & (series < HIGHEST))
    groups = series.resample("h")
    hours = groups.mean().where(groups.count() == 4)
    frame = pd.DataFrame({"value": hours.to_numpy(), "date": hours.index.date, "hour": hours.index.hour})
    frame = frame.pivot(index="date", columns="hour", values="value").dropna()
    return frame.set_axis(pd.DatetimeIndex(frame.index))


def _in_plane(kt):
    """Hours of a year of days of one clearness, in the measured plane; float64 [lanes, 365, 24]."""
    sky = _sky(SITE["latitude"], SITE["longitude"], SITE["altitude"], UTC_OFFSET)
    times = pd.date_range("2021-01-01 00:30", periods=8760, freq="h", tz=ZONE)
    sun, extra = pvlib.location.Location(tz=ZONE, **SITE).get_solarposition(times), _extra(times)
    lanes = []
    position = sun["apparent_zenith"].to_numpy(), sun["azimuth"].to_numpy()
    for ghi in model_hours(sky, np.full(365, kt)).reshape(LANES, -1):
        parts = pvlib.irradiance.erbs(ghi, sun["zenith"].to_numpy(), times)
        beam, diffuse = (np.asarray(parts[name]) for name in ("dni", "dhi"))
        plane = pvlib.irradiance.get_total_irradiance(
            TILT, AZIMUTH, *position, beam, ghi, diffuse, dni_extra=extra, albedo=0.2, model="haydavies"
        )
        lanes.append(np.nan_to_num(plane["poa_global"]).reshape(365, 24))
    return np.array(lanes)


def _extra(times):
    return pvlib.irradiance.get_extra_radiation(times).to_numpy()


def _sky(latitude, longitude, altitude, utc_offset):
    return site_sky(latitude, longitude, altitude, utc_offset, [Plane(((1, 1, 0.0),), 180.0)], Calendar(1))


def model_hours(sky, kt):
    """Hours of the model on the days of a year.

    Parameters
    ----------
    sky : darkspell.weather.solar_geometry.SiteSky
    kt : float array [365]
        Daily clearness [-].

    Returns
    -------
    float64 array [lanes, 365, 24]
        [W/m2].
    """
    clear, extra = (part.reshape(365, 24) for part in (sky.clear, sky.extra_horizontal))
    noise, ghi = np.zeros((24, LANES), np.float32), np.zeros((24, LANES), np.float32)
    state, out = np.zeros(LANES, np.float32), np.zeros((LANES, 365, 24))
    for day in range(365):
        lit = extra[day] > 0
        near_normals(stream_key(1, "judge/hours"), 3 * day, np.arange(LANES), lit, noise)
        energy = np.full(LANES, kt[day] * sky.daily_extra[day], np.float32)
        spread_day(energy, clear[day], extra[day], noise, state, noise_numbers(), ghi)
        out[:, day, lit] = ghi[lit].T
    return out


def print_losses(measured, model):
    """Ratio of hours without supply, model over measured, by bank; hours [days, 24] and [lanes, days, 24]."""
    flat, drawn = measured.reshape(1, -1), model.reshape(len(model), -1)
    ratios = []
    for bank in BANKS:
        low, high = 1e-6, 1e-1
        for _ in range(40):
            size = np.sqrt(low * high)
            low, high = (size, high) if short(flat, size, bank)[0] > WANTED else (low, size)
        ratios.append(f"{bank:g} d {short(drawn, high, bank).mean() / short(flat, high, bank)[0]:.2f}")
    print("  hours without supply, model over measured:", ", ".join(ratios))


@njit
def short(hours, size, bank):
    """Share of hours in which the bank is empty, with a constant load of one a day; `hours` [rows, hours]."""
    out = np.zeros(hours.shape[0])
    for row in range(hours.shape[0]):
        store = bank
        for hour in range(hours.shape[1]):
            store = min(store + hours[row, hour] * size - 1.0 / 24.0, bank)
            if store < 0.0:
                out[row] += 1.0
                store = 0.0
    return out / hours.shape[1]


def _brightest(hours):
    """Mean hours of the brightest eighth of some days."""
    order = np.argsort(hours.sum(axis=1))
    return hours[order[-max(len(order) // BRIGHTEST, 1) :]].mean(axis=0)


def _near(measured, day, date):
    return measured[np.abs((day - date + 182) % 365 - 182) <= NEAR_DAYS]


def _spread(hours, top):
    """SD and lag-1 of the hours over those of the season's brightest days, about the day's mean, by class."""
    lit = top > BRIGHT
    share = np.where(lit, hours / np.maximum(top, 1.0), np.nan)
    days = np.where(lit, hours, 0.0).sum(axis=1) / np.where(lit, top, 0.0).sum(axis=1)
    apart = share - np.nanmean(share, axis=1, keepdims=True)
    words = []
    for low, high in zip(CLASSES[:-1], CLASSES[1:], strict=True):
        chosen = apart[(days >= low) & (days < high)]
        lag = np.nanmean(chosen[:, 1:] * chosen[:, :-1]) / np.nanvar(chosen)
        words.append(f"{low:g}-{high:g}: {np.nanstd(chosen):.3f} {lag:.2f};")
    return words


if __name__ == "__main__":
    main()
