"""A year's wear fed back into that year, and the years of the course against one year after another."""

from pathlib import Path

import numpy as np
import pytest

from darkspell.bank.bank_results import run_block
from darkspell.bank.fade_within_year import capacity_left, late_hours, run_wearing
from darkspell.bank.maintenance import bank_care
from darkspell.bank.wear import years_at
from darkspell.climate import site_climate
from darkspell.simulation.lifetime import ages, run_age
from darkspell.simulation.system import build_system
from darkspell.study import study_from
from darkspell.weather.site_sky import sky_of
from study.example import spoilt

# Flooded, and in the dull months hardly ever full: a third of its wear is time too long after a full charge.
HUNGRY = {
    "bank.chemistry": "flooded", "bank.capacity_ah": 150, "bank.self_consumption_w": 0,
    "system.cable_resistance_mohm": 0, "arrays.roof.power_wp": 60, "ageing": {"members": 32},
    "engine": {"members": 32, "parameter_draws": 8},
}  # fmt: skip


@pytest.fixture(scope="module")
def hungry():
    """Function of the capacity over rated: the study with a bank of that age, put together."""
    study = study_from(spoilt(HUNGRY))
    climate, sky = site_climate(study, Path(".")), sky_of(study)
    return lambda capacity: build_system(
        study.with_changes({"bank.state_of_health_pct": round(100 * capacity, 6)}), climate, sky
    )


def test_a_loss_falls_where_it_belongs():
    """4 % a year, 3 of them in two late hours of ten: straight otherwise."""
    late = np.zeros((10, 2), bool)
    late[[4, 5], 0] = True
    left = capacity_left(np.array([0.04, 0.01]), np.array([0.03, 0.0]), late)
    assert left[:, 0] == pytest.approx(
        1 - 0.001 * np.arange(1, 11) - 0.015 * np.clip(np.arange(10) - 3, 0, 2)
    )
    assert left[:, 1] == pytest.approx(1 - 0.001 * np.arange(1, 11))


def test_late_hours_are_those_that_count_as_partial_charge():
    """The share of the year that the care of the bank reports, found by another way."""
    soc = np.full((8760, 2), 0.6, np.float32)
    soc[::1000, 0] = 1.0
    reported = bank_care(soc, np.full_like(soc, 20.0), "agm")["partial_charge_pct"]
    assert 100 * late_hours(soc, "agm").mean(axis=0) == pytest.approx(reported)
    assert reported[0] > 50 and not late_hours(soc, "lfp").any()


def test_a_bank_that_has_lost_a_tenth_is_a_bank_of_nine_tenths(hungry):
    """Larger traces on the old scales against the same traces on the scales of the smaller bank; no cable."""
    parts = hungry(1.0)
    traces = parts.traces(np.arange(64), np.arange(64) % 8).for_bank()
    small = run_block(traces, parts.per_ah_factors(bank_ah=0.9 * 150), parts.controls, parts.chemistry)
    left = np.full(traces[0].shape, 0.9, np.float32)
    soc, essential, deferrable = run_wearing(
        traces, left, parts.per_ah_factors(), parts.controls, parts.chemistry
    )
    # Single precision, carried over a year of hours.
    np.testing.assert_allclose(soc, small.soc, atol=2e-4)
    assert essential.sum(0) == pytest.approx(small.unserved_essential.sum(0), rel=1e-3, abs=5.0)
    assert deferrable.sum(0) == pytest.approx(small.unserved_deferrable.sum(0), rel=1e-3, abs=5.0)


def test_three_runs_tell_as_many_years_as_one_after_another(hungry):
    """Capacity handed on from year to year, each with the toll of its own time below full, against the course."""
    new, middle, end = stages = ages(hungry(1.0).study)
    runs = [run_age(hungry(capacity), capacity) for capacity in stages]
    assert 0.25 < (runs[0].partial / runs[0].wear).mean() < 0.5
    years = years_at(np.array([0.0, 0.5, 1.0]), [run.wear.mean() for run in runs])
    capacity, passed = new, 0
    while True:
        wear = (new - end) * run_age(hungry(capacity), capacity).wear.mean()
        if capacity - wear <= end:
            break
        capacity, passed = capacity - wear, passed + 1
    # Wear changes by 2 % over the life: half of a year's part of that is left between the two ways.
    assert passed + (capacity - end) / wear == pytest.approx(years[-1], abs=0.05)


def test_wear_within_the_year_hardly_moves_its_figures(hungry):
    """Fed back, the first year wears as much, and its nights lie no lower than with the capacity it begins with."""
    given, worn = run_age(hungry(1.0), 1.0, fed_back=True)
    plain = run_age(hungry(1.0), 1.0)
    for one, other in zip(given, plain, strict=True):
        np.testing.assert_array_equal(one, other)
    assert worn.wear.mean() == pytest.approx(given.wear.mean(), rel=0.01)
    end = run_age(hungry(0.98), 0.98)
    assert given.values.mean() <= worn.values.mean() <= end.values.mean() + 0.1
