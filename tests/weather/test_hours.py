"""Hours of the sky model against the hours of typical years that pvlib carries, from the same days."""

import numpy as np
import pytest

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
        spread_day(energy, days, clear[day], extra[day], noise, state, noise_numbers(), ghi)
        out[:, day, lit] = ghi[lit].T
    return out


def clearness(ghi, sky):
    """Hourly clearness while the sun is more than 10 degrees high, else NaN; [..., 365, 24]."""
    high = sky.cos_zenith.reshape(365, 24) > np.sin(np.radians(10.0))
    return np.where(high, ghi / np.maximum(sky.extra_horizontal.reshape(365, 24), 1.0), np.nan)


def within_the_day(kt):
    """Spread of hourly clearness about the mean of its day, and its lag-1 autocorrelation."""
    apart = kt - np.nanmean(kt, axis=-1, keepdims=True)
    products = apart[..., 1:] * apart[..., :-1]
    return np.nanstd(apart), np.nanmean(products) / np.nanvar(apart)


# Tolerances: the model's misses on the two files, whose days differ in kind (continental, subtropical); the
# published noise alone leaves the lag-1 at 0.31 where the files have 0.45 and 0.41.
@pytest.mark.parametrize("file", ["723170TYA.CSV", "12839.tm2"])
def test_hourly_clearness_is_spread_and_persistent_as_in_the_file(file):
    weather = read_weather_file(find_weather_file(f"pvlib:{file}"))
    place = weather.latitude, weather.longitude, 100.0, weather.utc_offset
    sky = site_sky(*place, [Plane(((1, 1, 0.0),), 180.0)], Calendar(1))
    measured = weather.ghi.reshape(365, 24)
    kt = np.clip(measured.sum(axis=1) / sky.daily_extra, 0.01, 0.82)
    theirs, ours = clearness(measured, sky), clearness(hours_of(sky, kt), sky)
    (spread, lag), (our_spread, our_lag) = within_the_day(theirs), within_the_day(ours)
    assert our_spread == pytest.approx(spread, rel=0.1)
    assert our_lag == pytest.approx(lag, abs=0.1)
    for share in (0.25, 0.5, 0.75, 0.95):
        assert np.nanquantile(ours, share) == pytest.approx(np.nanquantile(theirs, share), abs=0.025)
