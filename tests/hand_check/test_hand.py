"""Numbers worked by hand; each line of working stands beside its test."""

from types import SimpleNamespace

import numpy as np
import pvlib
import pytest

from darkspell.climate import site_climate
from darkspell.hand_check import electrical, formulas, hand_check
from darkspell.loads.budget import appliances_from
from darkspell.study import study_from
from study.example import STUDY, spoilt

FLAT = [np.full((12, 144), 500.0)]  # 500 W/m2 day and night: 12 kWh/m2/day


def changed(**changes):
    return study_from(spoilt({key.replace("__", "."): value for key, value in changes.items()}))


def test_reserve_is_full_capacity_times_depth_over_daily_load():
    # IEEE 1013: days that a full bank carries the load with no PV. 200 Ah x 80 % / 40 Ah/day = 4 days;
    # cold, 3.
    assert formulas.reserve_days(200.0, 0.8, [1.0, 0.75], [40.0, 40.0]) == pytest.approx([4.0, 3.0])


def test_refill_is_missing_charge_over_stored_surplus():
    # 90 Ah missing; 60 Ah/day x 90 % - 44 = 10 Ah/day left over: 9 days. 48 x 90 % - 44 < 0: never.
    assert formulas.refill_days(90.0, [60.0, 48.0], [44.0, 44.0], 0.9) == pytest.approx([9.0, np.inf])


@pytest.mark.parametrize(
    ("load", "days", "depth", "daily", "cold", "capacity"),
    [
        # Largest of three (memory, after IEEE 1013), over the cold share, times 1.1:
        # 50 x 5 / .5 = 500; 50 / .2 = 250; 50 x 5 / .8 = 312.5.  500 x 1.1 = 550
        (50.0, 5.0, 0.5, 0.2, 1.0, 550.0),
        # 50 x 1 / .5 = 100; 50 / .2 = 250; 62.5.  250 x 1.1 = 275
        (50.0, 1.0, 0.5, 0.2, 1.0, 275.0),
        # 50 x 5 / .9 = 277.8; 62.5; 50 x 5 / .8 = 312.5; cold .75: 312.5 / .75 x 1.1 = 458.33
        (50.0, 5.0, 0.9, 0.8, 0.75, 458.33),
    ],
)
def test_bank_by_hand(load, days, depth, daily, cold, capacity):
    assert formulas.bank_by_hand(load, days, depth, daily, cold) == pytest.approx(capacity, abs=0.005)


def test_cold_capacity_of_flooded_cells():
    # US Army TM 10-6140-200-14: 75 % at 0 C, 40 % at -18 C (read); full at the 25 C of the rating.
    assert formulas.cold_share("flooded", [25.0, 0.0, -18.0]) == pytest.approx([1.0, 0.75, 0.40], abs=0.005)


def test_storage_days_of_the_handbook():
    # Messenger & Ventre (memory): 95 %: -.48 x 4 + 4.58 = 2.66; 99 %: -1.9 x 4 + 18.3 = 10.7. Never below a
    # day.
    assert formulas.storage_days(4.0) == pytest.approx((2.66, 10.7))
    assert formulas.storage_days(9.3) == (1.0, 1.0)


# Efficiency at 500 W/m2 and 25 C over that at 1000 W/m2, by pvlib: 0.9968.
HALF_LIGHT = 2.0 * pvlib.pvarray.huld(500.0, 25.0, 1.0, cell_type="csi", k_version="pvgis6")


def test_mppt_charge_by_hand():
    # 200 Wp less 10 %, 500 W/m2, no heat: 90 W; x 96 % (near half of the rated 200 W) / 13.5 V = 6.4 A; x 24 h =
    # 153.6 Ah/day in bright light.
    study = changed(arrays__roof__temp_coefficient_pct_k=0)
    current = formulas.charge_current(study, FLAT, np.zeros(12), 1.0, 13.5)
    assert formulas.day_ah(current) == pytest.approx(np.full(12, 153.6 * HALF_LIGHT), rel=2e-4)


def test_heat_lowers_the_power():
    # Faiman as in pvlib, u0 = 25, u1 = 6.84 at 1 m/s: 500 / 31.84 = 15.70 K over 25 C air; x -.35 %/K =
    # -5.50 %.
    study = changed()
    roof, air = study.arrays["roof"], np.full(12, 25.0)
    power = formulas.array_power(roof, FLAT[0], air, 1.0)
    assert power == pytest.approx(np.full((12, 144), 90.0 * HALF_LIGHT * (1 - 0.0550)), abs=0.005)
    # In 4 m/s: 500 / (25 + 27.36) = 9.549 K; x -.35 %/K = -3.342 %.
    windy = formulas.array_power(roof, FLAT[0], air, 4.0)
    assert windy == pytest.approx(np.full((12, 144), 90.0 * HALF_LIGHT * (1 - 0.03342)), abs=0.005)


def test_the_wind_of_the_site_reaches_the_check():
    """A stated wind of 4 m/s gives more charge than the table's 1 m/s, by what Faiman's excess over the air says."""
    study = changed()
    climate = site_climate(study)
    calm = hand_check(study, climate).array_ah
    windy = hand_check(changed(site__wind_m_s=4.0), climate).array_ah
    assert np.all(windy >= calm) and 1.002 < windy.sum() / calm.sum() < 1.03


def test_pwm_charge_by_hand():
    # 17.7 V modules: 200 Wp less 10 % = 180 W / 17.7 V = 10.17 A; x 1.06 towards short circuit; half the sun: 5.39 A.
    study = changed(controller__kind="pwm")
    assert formulas.charge_current(study, FLAT, np.zeros(12), 1.0, 13.5)[0, 0] == pytest.approx(
        0.5 * 1.06 * 180 / 17.7
    )


def test_the_controller_limits_the_current():
    study = changed(controller__current_limit_a=3)
    assert formulas.day_ah(formulas.charge_current(study, FLAT, np.zeros(12), 1.0, 13.5)) == pytest.approx(
        np.full(12, 72.0)
    )
    assert electrical.highest_current(study, 13.5) == 3


def test_full_sun_current():
    # 200 Wp less 10 % x 96 % / 13.5 V = 12.8 A
    assert electrical.highest_current(changed(), 13.5) == pytest.approx(12.8)


def test_cold_string():
    # 3 x 22 V, -.3 %/K, 50 K below 25 C: 66 x 1.15 = 75.9 V
    array = SimpleNamespace(module_voc_v=22.0, modules_in_series=3, module_voc_temp_coefficient_pct_k=-0.3)
    assert electrical.cold_string_voltage(array, -25.0) == pytest.approx(75.9)


def test_greatest_load_counts_what_may_run_together():
    loads = {
        "a": {"watts": 100, "hours_per_day": 1, "tier": "essential", "window": ["06:00", "09:00"]},
        "b": {"watts": 60, "hours_per_day": 1, "tier": "essential", "window": ["08:30", "12:00"], "count": 2},
        "c": {
            "watts": 90,
            "hours_per_day": 1,
            "tier": "essential",
            "window": ["22:00", "02:00"],
            "peak_watts": 300,
        },
        "d": {
            "watts": 500,
            "hours_per_day": 1,
            "tier": "essential",
            "window": ["08:30", "12:00"],
            "months": [7],
        },
    }
    without_d = {name: load for name, load in loads.items() if name != "d"}
    # a and b overlap from 8:30 to 9: 100 + 2 x 60 = 220 W; the largest start is 300 - 90 = 210 W more.
    assert electrical.greatest_load(appliances_from(changed(loads=without_d))) == 430
    assert electrical.greatest_load(appliances_from(changed(loads=loads))) == 930


def test_a_heavy_load_pulls_even_a_full_bank_to_the_cutoff():
    # 100 Ah absorbed-glass-mat at the 20 h rate, 108 Ah at 100 h; 220 mOhm Ah a cell of these: 6 x 220 / 108 =
    # 12.2 mOhm, and 5 of cable. At 1200 W / 11.4 V = 105 A the drop is 1.81 V: full, at 12.81 V, is left with
    # 11.0 V. At 114 W, 10 A: .17 V, 11.57 V rested, below 0 %.
    study, cut_off = changed(), 11.4  # 1.9 V a cell
    assert electrical.charge_at_cutoff(study, 1200.0, 25.0, cut_off) == 1.0
    assert electrical.charge_at_cutoff(study, 114.0, 25.0, cut_off) == 0.0
    # At 500 W, 43.9 A: .755 V; 12.155 V rested. Between 25 % (12.15 V) and 50 % (12.36 V): 26 %.
    assert electrical.charge_at_cutoff(study, 500.0, 25.0, cut_off) == pytest.approx(0.26, abs=0.01)


def test_the_cold_raises_the_resistance():
    study = changed()
    # 1 + 25 x .012 + 625 x .0003 = 1.4875
    ratio = electrical.bank_resistance(study, 0.0) / electrical.bank_resistance(study, 25.0)
    assert ratio == pytest.approx(1.4875)


def test_a_bank_indoors_stays_within_its_walls():
    bank = changed(bank__location="indoors", bank__indoor_min_c=8, bank__indoor_max_c=20).bank
    assert formulas.bank_temperature(bank, [-5.0, 12.0, 31.0])[0] == pytest.approx([8, 12, 20])
    assert formulas.bank_temperature(study_from(STUDY).bank, [-5.0, 12.0])[0] == pytest.approx([-5, 12])


def test_a_heater_warms_the_bank_and_draws_its_share():
    """Set to 5 degC with a lift of 20 K at 40 W: half of it at -5 degC, all at -25 degC."""
    bank = study_from(spoilt({"bank.heater": {"power_w": 40}})).bank
    temp, heat = formulas.bank_temperature(bank, [-25.0, -5.0, 10.0])
    assert temp == pytest.approx([-5, 5, 10]) and heat == pytest.approx([40, 20, 0])
