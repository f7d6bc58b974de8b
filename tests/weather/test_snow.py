"""Snow on the arrays: against a published model and measured days, and nothing at all where it never freezes."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pvlib
import pytest
from numba import njit

from climate.record.series import wageningen_weather
from darkspell.climate.atlas import from_atlas
from darkspell.climate.atlas_grid import atlas_precipitation
from darkspell.climate.precipitation import wet_days
from darkspell.core.calendar import Calendar
from darkspell.core.constants import table
from darkspell.pv.dc_power import array_numbers
from darkspell.simulation.input_series import BankPlace, fill_hours, stochastic_days
from darkspell.study.arrays import Array, Controller
from darkspell.validation.judge import without_uncertainty
from darkspell.weather.days import Days
from darkspell.weather.snow import expected_days, scaled, snow_of
from darkspell.weather.snow_cover import caught, sliding_irradiance, snow_hour
from darkspell.weather.snowfall import falling_days, snowfalls
from darkspell.weather.solar_geometry import site_sky
from darkspell.weather.surfaces import Plane
from weather.test_weather import climate

CALENDAR, MEMBERS = Calendar(7), np.arange(64)
SLOPED = Plane(tilt=((1, 1, 40.0),), azimuth=180.0)


@njit
def cover_of(falls, air, poa, slide, slides_at, melt):
    """Our snow on one array, hour by hour."""
    cover, out = np.zeros(1, np.float32), np.zeros(falls.size, np.float32)
    for hour in range(falls.size):
        odds = np.full(1, np.float32(0.0 if falls[hour] else 2.0))
        now = np.zeros(1, np.int8)
        snow_hour(
            cover,
            odds,
            now,
            0,
            np.float32(1.0),
            slide,
            air[hour : hour + 1],
            poa[hour : hour + 1],
            slides_at,
            melt,
        )
        out[hour] = cover[0]
    return out


@pytest.mark.parametrize("tilt", [10.0, 35.0, 55.0])
def test_snow_slides_as_in_the_published_model(tilt):
    """Marion et al. (2013) in the form of pvlib.snow.coverage_nrel, on weather at random; there nothing melts."""
    rng = np.random.default_rng(5)
    hours = pd.date_range("2021-01-01", periods=2000, freq="h")
    air = rng.normal(-3.0, 5.0, 2000).astype(np.float32)
    poa = np.maximum(rng.normal(100.0, 250.0, 2000), 0.0).astype(np.float32)
    falls = rng.uniform(size=2000) < 0.03
    falls[0] = True
    theirs = pvlib.snow.coverage_nrel(
        pd.Series(2.0 * falls, hours), pd.Series(poa, hours), pd.Series(air, hours), tilt
    )
    slide = np.float32(0.197 * np.sin(np.radians(tilt)))
    ours = cover_of(falls, air, poa, slide, sliding_irradiance(), np.float32(0.0))
    np.testing.assert_allclose(ours, theirs.to_numpy(), atol=2e-6)  # a float32 sum of a few dozen terms
    assert 0.05 < ours.mean() < 0.95


def test_flat_snow_goes_with_the_thaw_alone():
    """5 mm at 4 mm a kelvin and day (constants) are gone after 6 hours at 5 degrees, and never below freezing."""
    falls = np.arange(48) == 0
    melt = np.float32(4.0 / 24.0 / 5.0)
    for air, gone in ((5.0, 6), (-1.0, 48)):
        air = np.full(48, air, np.float32)
        cover = cover_of(falls, air, 0.0 * air, np.float32(0.0), sliding_irradiance(), melt)
        assert (cover > 1e-6).sum() == gone


def test_the_slopes_that_hold_snow():
    """EN 1991-1-3:2003, table 5.2: 0.8 up to 30 degrees, 0.8 (60 - slope) / 30 up to 60, nought beyond."""
    tilt = np.array([0.0, 30.0, 45.0, 60.0, 85.0])
    np.testing.assert_allclose(0.8 * caught(tilt), [0.8, 0.8, 0.4, 0.0, 0.0], atol=1e-12)


def test_snow_falls_as_often_as_measured_days_say():
    """Wageningen 1976-1999: days of 1 mm or more with a mean below freezing, against the model on the same days.

    The level comes from the mean precipitation of the built-in grid; the slopes were fitted on the rain of those
    winters, not on the cold days alone. Snow in the model is the part of precipitation that is not rain at that
    temperature: about four fifths.
    """
    weather = wageningen_weather()
    mean, spread = (weather.groupby("month")["temp"].transform(name) for name in ("mean", "std"))
    there = from_atlas(SimpleNamespace(latitude_deg=51.97, longitude_deg=5.67, altitude_m=0.0))
    snow = replace(
        snow_of([SLOPED], ["slides"], there, Calendar(1)),  # the rows below begin in January
        mean=mean.to_numpy()[:365],
        spread=spread.to_numpy()[:365],
    )
    kt, temp = (weather[name].to_numpy().reshape(-1, 365) for name in ("kt", "temp"))
    measured = ((weather["temp"] < 0.0) & (weather["rain"] >= 1.0)).sum() / len(kt)
    drawn = falling_days(snow, Days(kt, np.where(temp < 0.0, temp, 30.0), temp)).mean()
    assert drawn == pytest.approx(measured, rel=0.2)


def hours(climate_of_place, snow, seed=11):
    """Array output of some members."""
    arrays = array_numbers([Array(power_wp=100, tilt_deg=40, azimuth_deg=180)], Controller(kind="mppt"), 13.0)
    days = stochastic_days(climate_of_place, CALENDAR, MEMBERS, MEMBERS, seed)
    sky = site_sky(47.0, 13.0, 1300.0, 1.0, [SLOPED], CALENDAR)
    return days, fill_hours(sky, days, arrays, 0.05, BankPlace(18.0), 0.2, MEMBERS, seed, snow)


def test_where_it_never_freezes_there_is_none():
    """No snow is made for a warm place, nor on walls or swept arrays."""
    warm = climate(temp_air_mean=np.full(12, 22.0))
    wall = replace(SLOPED, tilt=((1, 1, 75.0),))
    assert snow_of([SLOPED], ["slides"], warm, CALENDAR) is None
    assert snow_of([wall], ["slides"], climate(), CALENDAR) is None
    assert snow_of([SLOPED], ["swept"], climate(), CALENDAR) is None
    assert snow_of([wall], ["held"], climate(), CALENDAR) is not None


def test_snow_takes_light_and_nothing_else():
    """Days without snow about have the same bits; output is never more; the draws hang on no block."""
    place = climate()
    snow = snow_of([SLOPED], ["slides"], place, CALENDAR)
    days, clear = hours(place, None)
    _, white = hours(place, snow)
    odds, _ = snowfalls(snow, days, MEMBERS, 11)
    some, _ = snowfalls(snow, Days(*(part[9:12] for part in (days.kt, days.temp_air_mean, days.temp_air_range))),
                        MEMBERS[9:12], 11)  # fmt: skip
    assert np.array_equal(odds[:, 9:12], some)
    assert (white[0] <= clear[0]).all() and (white[0] < clear[0]).any()
    untouched = (
        np.minimum.accumulate(odds, axis=0) >= 1.0
    )  # until the first snow of the study year, from July
    assert np.array_equal(white[0].reshape(365, 24, -1).swapaxes(1, 2)[untouched],
                          clear[0].reshape(365, 24, -1).swapaxes(1, 2)[untouched])  # fmt: skip
    assert all(np.array_equal(*pair) for pair in zip(white[2:], clear[2:], strict=True))


def test_drawn_days_have_the_stated_chance():
    """Days with snow among those drawn, against the sum of their chances; 4 standard errors of a Poisson count."""
    place = climate()
    snow = snow_of([SLOPED], ["held"], place, CALENDAR)
    days = stochastic_days(place, CALENDAR, MEMBERS, MEMBERS, 3)
    expected = falling_days(snow, days).sum()
    found = (snowfalls(snow, days, MEMBERS, 3)[0] < 1.0).sum()
    assert abs(found - expected) < 4.0 * expected**0.5
    assert falling_days(scaled(snow, days, 12.0), days).mean() == pytest.approx(12.0, rel=1e-3)


COL_DE_PORTE = SimpleNamespace(latitude_deg=45.295, longitude_deg=5.766, altitude_m=1325.0)


@pytest.fixture(scope="module")
def mountain():
    """Climate of the built-in atlas at a pass in the French Alps, without its uncertainty."""
    return without_uncertainty(from_atlas(COL_DE_PORTE))


# Col de Porte, 1,325 m, 45.3 N, 1993-2017: 50 days a year with 1 cm of fresh snow or more; with that number an array
# of 30 degrees from which snow slides loses 32 % of its energy from December to February (an earlier model). Within a
# third, also with the pass left out: the slope with cold of Wageningen everywhere.
@pytest.mark.parametrize("slopes", [None, "plain"])
def test_a_mountain_pass_has_its_snow_without_being_told(mountain, slopes, monkeypatch):
    if slopes == "plain":
        entry = table("weather")["snow"]["per_sd"]
        monkeypatch.setitem(entry, "value", [entry["value"][0]] * 2)
    plane = Plane(tilt=((1, 1, 30.0),), azimuth=180.0)
    snow = snow_of([plane], ["slides"], mountain, CALENDAR)
    days = stochastic_days(mountain, CALENDAR, MEMBERS, MEMBERS, 1)
    assert falling_days(snow, days).mean() == pytest.approx(50.0, rel=1 / 3)
    sky = site_sky(COL_DE_PORTE.latitude_deg, COL_DE_PORTE.longitude_deg, 1325.0, 1.0, [plane], CALENDAR)
    arrays = array_numbers([Array(power_wp=100, tilt_deg=30, azimuth_deg=180)], Controller(kind="mppt"), 13.0)
    clear, white = (
        fill_hours(sky, days, arrays, 0.05, BankPlace(18.0), 0.2, MEMBERS, 1, one)[0] for one in (None, snow)
    )
    winter = np.isin(CALENDAR.month_of_hour, (11, 0, 1))
    assert 1.0 - white[winter].sum() / clear[winter].sum() == pytest.approx(0.32, rel=1 / 3)


def test_expected_days_are_those_that_are_drawn(mountain):
    """The integral over independent clearness and temperature; both are nearly so in mountains."""
    snow = snow_of([SLOPED], ["slides"], mountain, CALENDAR)
    days = stochastic_days(mountain, CALENDAR, MEMBERS, MEMBERS, 1)
    assert expected_days(mountain) == pytest.approx(falling_days(snow, days).mean(), rel=0.1)


def test_given_wet_days_set_the_snowfall(mountain):
    """Where every day is wet, each cold day has snow; where hardly any is, none has; half as many wet days, less."""
    all_, half, none = (expected_days(mountain, np.full(12, wet)) for wet in (30.0, 15.0, 0.0))
    assert none < 0.5 < half < all_
    dry = snow_of([SLOPED], ["slides"], mountain, CALENDAR, np.full(12, 3.0))
    days = stochastic_days(mountain, CALENDAR, MEMBERS, MEMBERS, 1)
    assert falling_days(dry, days).mean() == pytest.approx(
        expected_days(mountain, np.full(12, 3.0)), rel=0.15
    )


# Wet days of 1 mm or more in a month. De Bilt 1991-2020 (KNMI; memory): 131 a year, and 11 to 14 in a winter month.
# Minneapolis (NOAA; memory): 6 to 8 in a winter month. Within a third, as a power of mean precipitation gives them.
@pytest.mark.parametrize(("where", "days"), [((52.10, 5.18), 12.0), ((44.98, -93.27), 6.5)])
def test_wet_days_follow_from_mean_precipitation(where, days):
    winter = wet_days(atlas_precipitation(*where))[[11, 0, 1]]
    assert winter.mean() == pytest.approx(days, rel=1 / 3)
    assert (wet_days(np.array([0.0, 1.0])) == [0.0, 0.5]).all()


def test_snow_grows_with_altitude_and_relief():
    plain, hills = (
        expected_days(from_atlas(SimpleNamespace(latitude_deg=lat, longitude_deg=lon, altitude_m=0.0)))
        for lat, lon in ((52.1, 5.2), (47.1, 15.4))
    )
    high = expected_days(
        from_atlas(SimpleNamespace(latitude_deg=47.1, longitude_deg=15.4, altitude_m=1500.0))
    )
    assert plain < hills < high
