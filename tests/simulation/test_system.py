"""One system from one study: nothing of it outlives a change of the study."""

from dataclasses import fields

import numpy as np
import pytest

from darkspell.bank.cell_laws import temperature_terms
from darkspell.climate import site_climate
from darkspell.simulation.settle import iterate_until_settled
from darkspell.simulation.system import System, build_system
from darkspell.study import study_from
from darkspell.weather.site_sky import sky_of
from study.example import spoilt

CHANGES = (
    {"bank.capacity_ah": 77},
    {"bank.reconnect_soc_pct": 60},
    {"generator": {"charge_w": 300}},
    {"deferrable.shed_below_soc_pct": 33},
    {"load_uncertainty_pct": 3},
    {"engine.seed": 9},
)


def same(one, other):
    """Whether two values hold the same numbers, tuples and mappings item by item."""
    if isinstance(one, np.ndarray):
        return np.array_equal(one, other)
    if isinstance(one, tuple | list):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if hasattr(one, "__dataclass_fields__"):
        return all(same(getattr(one, f.name), getattr(other, f.name)) for f in fields(one))
    return one == other


@pytest.fixture(scope="module")
def system():
    study = study_from(spoilt({}))
    return build_system(study, site_climate(study), sky_of(study))


@pytest.mark.parametrize("changes", CHANGES)
def test_a_changed_study_leaves_nothing_of_the_old_one(system, changes):
    changed = study_from(spoilt(changes))
    renewed, fresh = system.with_study(changed), build_system(changed, system.climate, system.sky)
    for field in fields(System):
        assert same(getattr(renewed, field.name), getattr(fresh, field.name)), field.name
    assert not all(same(getattr(renewed, f.name), getattr(system, f.name)) for f in fields(System))


@pytest.mark.parametrize("given", [{}, {"bank.chemistry": "lfp", "bank.charge_current_max_a": 5}])
def test_a_bank_of_another_age_is_that_of_a_study_with_it(given):
    study = study_from(spoilt(given))
    system = build_system(study, site_climate(study), sky_of(study))
    aged = system.with_health(80.0)
    fresh = build_system(aged.study, system.climate, system.sky)
    assert aged.study.bank.state_of_health_pct == 80.0 and not same(aged.chemistry, system.chemistry)
    for field in fields(System):
        assert same(getattr(aged, field.name), getattr(fresh, field.name)), field.name


def test_a_system_cannot_be_changed(system):
    with pytest.raises(AttributeError):
        system.seed = 2


def test_an_iteration_ends_where_nothing_changes_and_says_what_is_left():
    """Each pass settles one more step of a chain of ten (arithmetic)."""

    def respond(state):
        return np.vstack([np.ones((1, 2), bool), state[:-1]]), state.sum()

    start = np.zeros((10, 2), bool)
    state, output, unsettled = iterate_until_settled(respond, start, 20)
    assert state.all() and output == 20 and not unsettled.any()
    state, _, unsettled = iterate_until_settled(respond, start, 4)
    assert state.sum() == 8 and unsettled.sum() == 2


def test_limits_of_charge_come_from_the_data_sheet_where_it_gives_them():
    """5 A of 102 Ah (the 100 h capacity of 100 Ah); no charge below -10 degC, all of it ten kelvins above."""
    changes = {"bank.chemistry": "lfp", "bank.charge_current_max_a": 5, "bank.charge_temperature_min_c": -10}
    study = study_from(spoilt(changes))
    system = build_system(study, site_climate(study), sky_of(study))
    c, ah = system.chemistry, system.capacity
    for temp, amps in ((-11.0, 0.0), (-5.0, 2.5), (0.0, 5.0), (25.0, 5.0)):
        assert float(temperature_terms(np.float32(temp), c).accept_max) * ah == pytest.approx(amps, rel=1e-5)
    plain = study_from(spoilt({"bank.chemistry": "lfp"}))
    table = build_system(plain, site_climate(plain), sky_of(plain)).chemistry
    assert c._replace(accept_max=table.accept_max, cold_zero=table.cold_zero) == table
