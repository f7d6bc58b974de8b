"""Means of a few years combined with the atlas, by hand and against a linear Gaussian model by brute force."""

from types import SimpleNamespace

import numpy as np
import pytest

from darkspell.climate.atlas import from_atlas
from darkspell.climate.few_years import combined_means, monthly_sampling_sd, own_share, slow_days
from darkspell.core.calendar import MONTH_LENGTHS, Calendar
from darkspell.validation.judge import without_uncertainty
from darkspell.weather.daily_clearness import daily_clearness

SITE = SimpleNamespace(latitude_deg=52.1, longitude_deg=5.18, altitude_m=0.0, utc_offset_h=1.0)


@pytest.fixture(scope="module")
def atlas():
    return from_atlas(SITE)


def test_no_value_leaves_the_atlas_and_its_uncertainty(atlas):
    found = combined_means(np.full(12, np.nan), np.zeros(12), atlas)
    assert found.kt == pytest.approx(atlas.monthly_kt(), rel=1e-12)
    assert (found.annual_sd, found.monthly_sd) == pytest.approx((atlas.annual_mean_sd, atlas.monthly_mean_sd))
    assert found.weight == 0.0


def test_many_years_keep_their_own_means(atlas):
    given = np.linspace(0.3, 0.5, 12)
    found = combined_means(given, np.full(12, 25 * 30.5), atlas)
    assert found.kt == pytest.approx(given, rel=1e-5)
    # By hand: 0.042 / sqrt(25) of the year.
    assert found.annual_sd == pytest.approx(0.042 / 5.0, rel=0.02)


def test_the_least_error_of_random_climates(atlas):
    """Drawn true means and records of two years: no other share of record and atlas errs less, none as stated."""
    rng, days = np.random.default_rng(1), 2.0 * MONTH_LENGTHS
    sd = monthly_sampling_sd(atlas, days)
    true = atlas.annual_mean_sd * rng.normal(size=(4000, 1)) + atlas.monthly_mean_sd * rng.normal(
        size=(4000, 12)
    )
    seen = true + 0.042 / 2**0.5 * rng.normal(size=(4000, 1)) + sd * rng.normal(size=(4000, 12))
    kt = atlas.monthly_kt()
    made = np.log([combined_means(kt * np.exp(row), days, atlas).kt for row in seen]) - np.log(kt)
    error = np.sqrt(np.mean((made - true) ** 2))
    for share in np.linspace(0.0, 1.0, 11):
        assert error < np.sqrt(np.mean((share * seen - true) ** 2))
    stated = combined_means(kt, days, atlas)
    assert np.hypot(stated.annual_sd, stated.monthly_sd) == pytest.approx(error, rel=0.03)


def test_a_single_month_moves_its_year(atlas):
    kt, days = np.full(12, np.nan), np.zeros(12)
    kt[6], days[6] = 1.2 * atlas.monthly_kt()[6], 10 * 31
    found = combined_means(kt, days, atlas).kt / atlas.monthly_kt()
    assert 1.1 < found[6] < 1.2
    assert 1.0 < found[0] < found[6] and found[0] == pytest.approx(found[1])


def test_sampling_error_of_months_is_that_of_drawn_years(atlas):
    """SD of the logarithm of monthly means of 4,000 drawn years of the model; few per cent of sampling error.

    The annual component of the model, which is not part of it, is left out.
    """
    from dataclasses import replace

    members = np.arange(4000)
    climate = replace(without_uncertainty(atlas), annual_weight=0.0)
    kt = daily_clearness(climate, Calendar(1), members, members * 0, 1)
    month = Calendar(1).month_of_day
    drawn = [np.log(kt[:, month == number].mean(axis=1)).std() for number in range(12)]
    assert np.median(monthly_sampling_sd(atlas, MONTH_LENGTHS) / drawn) == pytest.approx(1.0, abs=0.1)


def test_slow_days_by_hand():
    """Without correlation one day; with a full one all thirty."""
    assert slow_days(0.0) == pytest.approx(1.0)
    assert slow_days(1.0) == pytest.approx(30.0)


def test_share_of_own_days():
    """By hand: 1 / (1 + 1 / 1 - 1 / 20) after one year; all after twenty."""
    assert own_share(1.0) == pytest.approx(1.0 / 1.95)
    assert own_share(20.0) == own_share(50.0) == 1.0
