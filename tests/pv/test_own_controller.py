"""An array with a PWM controller of its own beside a tracking one."""

from pathlib import Path

import numpy as np
import pytest

from darkspell.climate import site_climate
from darkspell.hand_check.electrical import highest_current
from darkspell.pv.dc_power import pwm_amps_per_watt
from darkspell.pv.ratings import charging_voltage
from darkspell.simulation.system import build_system
from darkspell.study import study_from
from darkspell.weather.site_sky import sky_of
from study.example import spoilt

MEMBERS = np.arange(64)


def weather(**changes):
    """Study, and its array power [W] and current at bank voltage [A]."""
    study = study_from(spoilt({"controller.efficiency_pct": 100} | changes))
    parts = build_system(study, site_climate(study, Path()), sky_of(study))
    mpp, pwm, *_ = parts.weather(MEMBERS, MEMBERS % 10)
    return study, mpp, pwm


@pytest.mark.parametrize("limit", [None, 4.0])
def test_it_gives_its_current_at_the_voltage_of_a_charging_bank(limit):
    """Power is the smaller of what the array has and of current times voltage, up to the controller's limit."""
    study, most, amps = weather()
    own = {"kind": "pwm", "efficiency_pct": 100, "current_limit_a": limit}
    _, found, _ = weather(**{"arrays.roof.own_controller": own})
    wanted = np.minimum(most, amps * charging_voltage(study))
    if limit is not None:
        wanted = np.minimum(wanted, limit * charging_voltage(study))
    np.testing.assert_allclose(found, wanted, rtol=1e-5, atol=1e-3)
    assert found.sum() < 0.95 * most.sum()  # a joined array gives less than a tracked one


def test_a_tracking_one_is_the_default():
    """Naming the kind changes no bit."""
    one, other = (weather(**{"arrays.roof.own_controller": given})[1] for given in ({}, {"kind": "mppt"}))
    np.testing.assert_array_equal(one, other)


def test_the_check_knows_its_current():
    """In full sun at 25 degC: rated power after losses times amperes per watt."""
    study = study_from(spoilt({"arrays.roof.own_controller": {"kind": "pwm", "efficiency_pct": 100}}))
    array = study.arrays["roof"]
    watts = array.power_wp * (1 - array.loss_pct / 100)
    assert highest_current(study, charging_voltage(study)) == pytest.approx(watts * pwm_amps_per_watt(12))
