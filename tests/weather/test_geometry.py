"""Sun and clear sky: smoke tests of our calls of pvlib against printed worked examples."""

import numpy as np
import pandas as pd
import pvlib
import pytest

from darkspell.climate.extraterrestrial import daily_extraterrestrial
from darkspell.core.calendar import Calendar
from darkspell.weather.solar_geometry import REFERENCE_YEAR, site_sky
from darkspell.weather.surfaces import Plane


def test_nrel_worked_example():
    """Reda & Andreas, NREL/TP-560-34302 (2003): zenith 50.11162, azimuth 194.34024."""
    when = pd.DatetimeIndex(["2003-10-17 12:30:30"]).tz_localize("Etc/GMT+7")
    sun = pvlib.solarposition.get_solarposition(
        when, 39.742476, -105.1786, altitude=1830.14, pressure=82000, temperature=11, delta_t=67
    )
    assert sun["apparent_zenith"].iloc[0] == pytest.approx(50.11162, abs=5e-4)
    assert sun["azimuth"].iloc[0] == pytest.approx(194.34024, abs=5e-4)


def test_extraterrestrial_day():
    """Duffie & Beckman, example 1.10.1: 43 N, 15 April, 33.8 MJ/m2; 1.5 % for the solar constant."""
    assert daily_extraterrestrial(43.0, 105) * 3.6 == pytest.approx(33.8, rel=0.015)


# Duffie & Beckman, examples 1.6.2a, 1.6.2b and 1.6.3: 43 N, solar time; zenith in degrees.
@pytest.mark.parametrize(
    "month, day, hour, zenith", [(2, 13, 9.5, 66.5), (7, 1, 18.5, 79.6), (3, 16, 16.0, 70.3)]
)
def test_zenith_of_worked_examples(month, day, hour, zenith):
    """Our hours by the clock of a place where it shows solar time within the equation of time."""
    calendar = Calendar(1)
    at = calendar.study_day(month, day)
    equation = pvlib.solarposition.equation_of_time_spencer71(calendar.day_of_year[at]) / 60.0
    # Shift the longitude so that clock time is solar time on that day.
    sky = site_sky(43.0, -15.0 * equation, 0.0, 0.0, [Plane(((1, 1, 45.0),), 180.0)], calendar)
    mid = np.interp(24 * at + hour - 0.5, np.arange(8760), sky.cos_zenith)
    # They take Cooper's declination, which is off the sun's of our reference year by up to 0.7 deg (seen from
    # the pole the declination is the sun's elevation); the zenith is off by as much.
    n = int(calendar.day_of_year[at])
    cooper = 23.45 * np.sin(2 * np.pi * (284 + n) / 365)
    when = pd.DatetimeIndex([f"{REFERENCE_YEAR}-{month:02}-{day:02} 12:00"], tz="UTC")
    off = abs(cooper - pvlib.solarposition.get_solarposition(when, 90.0, 0.0)["elevation"].iloc[0])
    assert np.degrees(np.arccos(mid)) == pytest.approx(zenith, abs=off + 0.15)


@pytest.fixture(scope="module")
def sky():
    """An invented place in the Alps."""
    return site_sky(
        47.2, 13.6, 1350.0, 1.0, [Plane(((1, 1, 40.0),), 170.0), Plane(((1, 1, 85.0),), 180.0)], Calendar(7)
    )


def test_the_hours_add_up_to_the_day(sky):
    """Mid-hour extraterrestrial irradiance against the closed integral.

    A sunrise hour counts whole or not at all: half an hour of low light at either end, 3 % in winter.
    """
    hours = sky.extra_horizontal.reshape(365, 24).sum(axis=1)
    np.testing.assert_allclose(hours, sky.daily_extra, rtol=0.03)
    assert hours.sum() == pytest.approx(sky.daily_extra.sum(), rel=0.005)


def test_noon_is_at_noon(sky):
    """13.6 E in a zone of 15 E: the sun culminates within 20 minutes of 12:06 all year."""
    light = sky.extra_horizontal.reshape(365, 24)
    centre = (light * (np.arange(24) + 0.5)).sum(axis=1) / light.sum(axis=1)
    assert np.all(np.abs(centre - 12.1) < 0.34)


def test_clear_sky_stays_below_the_sky_outside(sky):
    """Clear-sky irradiance is 60 to 85 % of extraterrestrial at noon in a clean mountain air."""
    noon = sky.clear.reshape(365, 24)[:, 12] / sky.extra_horizontal.reshape(365, 24)[:, 12]
    assert np.all((noon > 0.55) & (noon < 0.85))


def test_the_year_starts_where_the_calendar_says():
    """The same calendar date has the same sun in a year begun in July and one begun in January."""
    july, january = (
        site_sky(47.2, 13.6, 0.0, 1.0, [Plane(((1, 1, 0.0),), 180.0)], Calendar(m)) for m in (7, 1)
    )
    a = july.clear.reshape(365, 24)[Calendar(7).study_day(12, 21)]
    b = january.clear.reshape(365, 24)[Calendar(1).study_day(12, 21)]
    np.testing.assert_array_equal(a, b)
