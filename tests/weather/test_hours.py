"""Hours of the sky model against the hours of typical years that pvlib carries, from the same days."""

import numpy as np
import pytest
from numba import njit

from darkspell.climate.weather_file import find_weather_file, read_weather_file
from darkspell.core.calendar import Calendar
from darkspell.core.keyed_random import stream_key
from darkspell.weather.hourly_clearness import near_normals, noise_numbers, spread_day
from darkspell.weather.solar_geometry import site_sky
from darkspell.weather.surfaces import Plane

LANES = 8


def hours_of(sky, kt):
    """Drawn hours of days of given clearness; [lanes, 365, 24]."""
    clear, extra = (part.reshape(365, 24) for part in (sky.clear, sky.extra_horizontal))
    noise, ghi = np.zeros((24, LANES), np.float32), np.zeros((24, LANES), np.float32)
    state, out = np.zeros(LANES, np.float32), np.zeros((LANES, 365, 24))
    for day in range(365):
        lit = extra[day] > 0
        near_normals(stream_key(1, "test/hours"), 3 * day, np.arange(LANES), lit, noise)
        days = np.full(LANES, kt[day])
        energy = (days * sky.daily_extra[day]).astype(np.float32)
        spread_day(energy, clear[day], extra[day], noise, state, noise_numbers(), ghi)
        out[:, day, lit] = ghi[lit].T
    return out


def clearness(ghi, sky):
    """Hourly clearness while the sun is more than 10 degrees high, else NaN; [..., 365, 24]."""
    high = sky.cos_zenith.reshape(365, 24) > np.sin(np.radians(10.0))
    return np.where(high, ghi / np.maximum(sky.extra_horizontal.reshape(365, 24), 1.0), np.nan)


def clear_sky_index(ghi, sky):
    """Hourly irradiance over the clear sky while the sun is more than 10 degrees high, else NaN; [..., 365, 24]."""
    high = sky.cos_zenith.reshape(365, 24) > np.sin(np.radians(10.0))
    return np.where(high, ghi / np.maximum(sky.clear.reshape(365, 24), 1.0), np.nan)


def within_the_day(index):
    """Standard deviation about the mean of the day, and lag-1 autocorrelation within the day."""
    apart = index - np.nanmean(index, axis=-1, keepdims=True)
    products = apart[..., 1:] * apart[..., :-1]
    return np.nanstd(apart), np.nanmean(products) / np.nanvar(apart)


def of_file(name):
    """Sky, hours and daily clearness of a typical year of pvlib."""
    weather = read_weather_file(find_weather_file(f"pvlib:{name}"))
    place = weather.latitude, weather.longitude, 100.0, weather.utc_offset
    sky = site_sky(*place, [Plane(((1, 1, 0.0),), 180.0)], Calendar(1))
    measured = weather.ghi.reshape(365, 24)
    return sky, measured, np.clip(measured.sum(axis=1) / sky.daily_extra, 0.01, 0.82)


# Measured hours of stations (kept outside the project): on days of kt 0.45 to 0.6 the clear-sky index has a standard
# deviation of 0.23 to 0.26 within the day and a lag-1 autocorrelation of 0.49 to 0.55. One figure in the second digit
# is the rounding of theirs.
@pytest.mark.parametrize("place", [(52.1, 5.2, 0.0, 0.0), (47.1, 15.4, 340.0, 1.0)])
def test_partly_cloudy_days_are_as_restless_as_measured_ones(place):
    sky = site_sky(*place, [Plane(((1, 1, 0.0),), 180.0)], Calendar(1))
    kt = np.random.default_rng(1).uniform(0.45, 0.6, 365)
    spread, lag = within_the_day(clear_sky_index(hours_of(sky, kt), sky))
    assert 0.22 <= spread <= 0.27
    assert 0.48 <= lag <= 0.56


# The typical years that pvlib carries are in part modelled, and smoother than measured hours on partly cloudy days
# (0.18 to 0.20), so their brightest hours say little; clear days, dull days and the lower three quarters of hourly
# clearness are held to them.
@pytest.mark.parametrize("file", ["723170TYA.CSV", "12839.tm2"])
def test_clear_and_dull_days_are_as_calm_as_in_the_file(file):
    sky, measured, kt = of_file(file)
    ours = hours_of(sky, kt)
    index = measured.sum(axis=1) / sky.clear.reshape(365, 24).sum(axis=1)
    for low, high in ((0.15, 0.4), (0.97, 1.1)):
        days = (index > low) & (index < high)
        theirs = within_the_day(clear_sky_index(measured, sky)[days])[0]
        assert within_the_day(clear_sky_index(ours, sky)[:, days])[0] == pytest.approx(theirs, abs=0.05)
    for share in (0.05, 0.25, 0.5, 0.75):
        quantiles = [np.nanquantile(clearness(hours, sky), share) for hours in (ours, measured)]
        assert quantiles[0] == pytest.approx(quantiles[1], abs=0.03)


@njit
def hours_short(hours, size, bank):
    """Share of hours with an empty bank, for a constant load of one a day."""
    out = np.zeros(hours.shape[0])
    for row in range(hours.shape[0]):
        store = bank
        for hour in range(hours.shape[1]):
            store = min(store + hours[row, hour] * size - 1.0 / 24.0, bank)
            out[row] += store < 0.0
            store = max(store, 0.0)
    return out / hours.shape[1]


# Small banks, sized for 1 % of the file's hours; the model's days have the file's energy, so the hours alone differ.
# Against measured hours (workflow/data/judge_hours.py, data outside the project) the ratio is 0.92 to 1.21.
@pytest.mark.parametrize("file", ["723170TYA.CSV", "12839.tm2", "703165TY.csv"])
@pytest.mark.parametrize("bank", [0.35, 0.5, 1.0])
def test_small_banks_run_short_as_often_as_on_the_hours_of_the_file(file, bank):
    sky, measured, kt = of_file(file)
    ours = hours_of(sky, kt)
    ours *= (measured.sum(axis=1) / ours.sum(axis=2))[..., None]
    flat, low, high = measured.reshape(1, -1).astype(float), 1e-6, 0.1
    for _ in range(40):
        size = np.sqrt(low * high)
        low, high = (size, high) if hours_short(flat, size, bank)[0] > 0.01 else (low, size)
    ratio = hours_short(ours.reshape(LANES, -1), high, bank).mean() / hours_short(flat, high, bank)[0]
    assert 1 / 1.7 < ratio < 1.7


# Before, overcast days had the shape of the clear sky at mid-hour: 0.2 to 0.45 of the measured share.
@pytest.mark.parametrize("file", ["723170TYA.CSV", "12839.tm2", "703165TY.csv"])
def test_the_first_and_last_hours_of_winter_days_have_their_light(file):
    sky, measured, kt = of_file(file)
    lit = sky.extra_horizontal.reshape(365, 24) > 0.0
    days = np.r_[0:31, 304:365]
    first, last = (np.argmax(part[days], axis=1) for part in (lit, lit[:, ::-1]))
    shares = []
    for hours in (hours_of(sky, kt).mean(axis=0), measured):
        ends = hours[days, first] + hours[days, 23 - last]
        shares.append(ends.sum() / hours[days].sum())
    assert 0.55 < shares[0] / shares[1] < 1.3
