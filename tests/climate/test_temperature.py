"""Temperature: correlation with clearness by terrain and from records, and the correction to altitude."""

from types import SimpleNamespace

import numpy as np
import pytest

from climate.record.series import wageningen
from darkspell.climate.default_temperature import grid_temperature
from darkspell.climate.from_record import measured_with_sun
from darkspell.climate.temperature_defaults import at_altitude, with_sun

TEMPERATE = np.array([0, 1, 5, 9, 14, 17, 19, 18, 14, 9, 5, 1.0])


# Measured December to February: plains -0.54 to -0.21, four sites among hills and mountains -0.06 to 0.14.
def test_cold_winter_days_are_clear_in_plains_only():
    plain, mountain = with_sun(TEMPERATE, 10.0), with_sun(TEMPERATE, 400.0)
    assert -0.54 < plain[[11, 0, 1]].mean() < -0.21
    assert -0.06 <= mountain[[11, 0, 1]].mean() <= 0.14
    assert plain[6] == mountain[6] > 0.3


# Wageningen 1976-1999, from the file itself: 0.41 in the warmest months, -0.38 in the coldest.
def test_a_record_with_temperatures_gives_its_own_correlation(tmp_path):
    own = measured_with_sun(wageningen(tmp_path))["temp_air_with_sun"]
    assert own[[5, 6, 7]].mean() == pytest.approx(0.41, abs=0.1)
    assert own[[11, 0, 1]].mean() == pytest.approx(-0.38, abs=0.1)


def test_altitude_lowers_the_temperature_and_the_default_altitude_does_not():
    assert at_altitude(TEMPERATE, 500.0, 1500.0) == pytest.approx(TEMPERATE - 5.5)
    assert at_altitude(TEMPERATE, 500.0, 0.0) is TEMPERATE


# Sonnblick, 3,106 m: -4.7 degC mean of the years 1991-2020 (memory); a peak, so 2.5 K.
def test_a_peak_has_about_its_own_temperature():
    peak = SimpleNamespace(latitude_deg=47.05, longitude_deg=12.96, altitude_m=3106.0)
    assert grid_temperature(peak).mean() == pytest.approx(-4.7, abs=2.5)
