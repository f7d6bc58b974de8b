"""Hours of bright sunshine as a climate: FAO Irrigation and drainage paper 56, and an outside library."""

import datetime

import numpy as np
import pytest
from pcse.util import angstrom, astro

from darkspell.climate import monthly_extraterrestrial
from darkspell.climate.monthly import day_length, monthly_clearness
from darkspell.core.errors import StudyError

YEAR = [datetime.date(2025, 1, 1) + datetime.timedelta(days) for days in range(365)]


@pytest.fixture
def clearness(study):
    def at(latitude, hours, a=0.25, b=0.5):
        climate = study(latitude, 0.0, "monthly", sunshine_hours=hours, angstrom_a=a, angstrom_b=b).climate
        return monthly_clearness(latitude, climate, [])

    return at


def test_rio_in_may(clearness):
    """FAO 56, example 10 (from memory): 22.9 S, 220 h in May; N 10.9 h, Ra 25.1 and Rs 14.5 MJ/m2 a day."""
    hours = np.full(12, 7.0)
    hours[4] = 220 / 31
    assert day_length(-22.9)[4] == pytest.approx(10.9, abs=0.1)
    kt = clearness(-22.9, list(hours))[4]
    assert kt == pytest.approx(0.58, abs=0.005)
    assert kt * 25.1 == pytest.approx(14.5, abs=0.15)
    assert kt * monthly_extraterrestrial(-22.9)[4] * 3.6 == pytest.approx(14.5, rel=0.02)


@pytest.mark.parametrize(
    ("latitude", "within"), [(0.0, 0.001), (35.0, 0.003), (-40.0, 0.004), (52.0, 0.007), (60.0, 0.016)]
)
def test_day_length_and_clearness_are_those_of_pcse(clearness, latitude, within):
    """Day length within 0.1 h of pcse.util.astro; clearness against its angstrom over its Angot radiation.

    Its declination is another fit, which moves the length of the day by up to 0.098 h at 60 N. Bounds are the
    differences measured (0, 0.24, 0.35, 0.63 and 1.53 %), rounded up: none at the equator, where the declination does
    not matter, and most where the days are shortest.
    """
    hours = np.array([2.0, 3, 4, 5, 6, 6, 6, 6, 5, 4, 3, 2])
    kt = clearness(latitude, list(hours), 0.2, 0.55)
    for month in range(12):
        days = [day for day in YEAR if day.month == month + 1]
        length = np.mean([astro(day, latitude, 0.0).DAYL for day in days])
        assert day_length(latitude)[month] == pytest.approx(length, abs=0.1)
        theirs = np.mean([angstrom(day, latitude, hours[month], 0.2, 0.55) for day in days])
        outside = np.mean([astro(day, latitude, 0.0).ANGOT for day in days])
        assert kt[month] == pytest.approx(theirs / outside, rel=within)


def test_the_same_climate_as_its_clearness(study):
    """Twelve values as sunshine or as the clearness that follows from them: the same numbers."""
    from darkspell.climate import site_climate

    hours = [1.5, 2.5, 4, 5.5, 6.5, 7, 7, 6.5, 5, 3.5, 2, 1.2]
    sun = study(50.0, 8.0, "monthly", sunshine_hours=hours, angstrom_a=0.25, angstrom_b=0.5)
    kt = monthly_clearness(50.0, sun.climate, [])
    one, other = site_climate(sun), site_climate(study(50.0, 8.0, "monthly", clearness_index=list(kt)))
    assert (one.kt_quantiles == other.kt_quantiles).all()
    assert (one.temp_air_mean == other.temp_air_mean).all()


def test_more_sun_than_the_day_has_is_refused(clearness):
    with pytest.raises(StudyError, match="December is 12 h/day, and its days have 5.7 h"):
        clearness(60.0, [5.0] * 11 + [12.0])
