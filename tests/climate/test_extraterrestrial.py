import numpy as np
import pvlib
import pytest

from darkspell.climate import daily_extraterrestrial, monthly_extraterrestrial


# Duffie & Beckman, worked example 1.10.1: 43 N, 15 April, 33.8 MJ/m2; they take 1367 W/m2 and Cooper's
# declination, hence 1.5 %.
def test_worked_example():
    assert daily_extraterrestrial(43.0, 105) * 3.6 == pytest.approx(33.8, rel=0.015)


# pvlib: extraterrestrial irradiance times the cosine of its own (numerically integrated) zenith. The
# formula holds declination still over the day: 0.5 %.
@pytest.mark.parametrize("latitude", [-34.0, 0.0, 47.0, 60.0])
@pytest.mark.parametrize("day", [15, 105, 196, 288])
def test_against_pvlib_minute_by_minute(latitude, day):
    minutes = (np.arange(1440) + 0.5) / 60.0
    hour_angle = np.radians(15.0 * (minutes - 12.0))
    declination = pvlib.solarposition.declination_spencer71(day)
    zenith = pvlib.solarposition.solar_zenith_analytical(np.radians(latitude), hour_angle, declination)
    horizontal = pvlib.irradiance.get_extra_radiation(day) * np.maximum(np.cos(zenith), 0.0)
    assert daily_extraterrestrial(latitude, day) == pytest.approx(horizontal.mean() * 0.024, rel=0.005)


def test_polar_night_is_dark_and_finite():
    months = monthly_extraterrestrial(75.0)
    assert months[11] == 0.0
    assert np.isfinite(months).all()
