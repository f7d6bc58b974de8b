"""Charging voltage against loads and touch, hydrogen by formula, and the storage line that fits the target."""

from types import SimpleNamespace

import numpy as np
import pytest

from darkspell.climate import site_climate
from darkspell.hand_check import hand_check
from darkspell.hand_check.safety import highest_charging_voltage, safety_warnings, ventilation
from darkspell.hand_check.terminal_report import data, page
from darkspell.hand_check.warnings import storage_line
from darkspell.study import study_from
from study.example import spoilt

CHECK = SimpleNamespace(temp_bank=np.full(12, 0.0))


def study(chemistry, nominal, **more):
    return study_from(spoilt({"bank.chemistry": chemistry, "system.nominal_voltage_v": nominal} | more))


def test_hydrogen_by_the_formula():
    # IEC 62485-2: six vented cells of 100 Ah on boost charge: 0.05 x 6 x 20 x 100 / 1000 = 0.6 m3/h (read).
    assert ventilation(study("flooded", 12, **{"bank.capacity_ah": 100})) == pytest.approx(0.6)
    # 12 cells of 220 Ah: 2.6 m3/h vented, 1.1 valve-regulated (arithmetic).
    assert ventilation(study("flooded", 24, **{"bank.capacity_ah": 220})) == pytest.approx(2.64)
    assert ventilation(study("agm", 24, **{"bank.capacity_ah": 220})) == pytest.approx(1.056)
    assert ventilation(study("lfp", 24)) == 0.0


def test_nickel_in_the_cold_charges_beyond_what_equipment_survives():
    cold = study("nife", 24, **{"site.record_low_temperature_c": -20})
    # 20 cells x (1.65 V + 0.004 V/K x 35 K, compensation ending at -10 degC) = 35.8 V
    assert highest_charging_voltage(cold, CHECK) == pytest.approx(35.8)
    assert [one.key for one in safety_warnings(cold, CHECK)] == ["system.load_voltage_max_v"]
    sturdy = study("nife", 24, **{"site.record_low_temperature_c": -20, "system.load_voltage_max_v": 40})
    assert not list(safety_warnings(sturdy, CHECK))


def test_a_48_v_bank_of_lead_acid_passes_60_v_in_the_cold():
    # 24 cells x (2.45 V + 0.004 V/K x 35 K) = 62.2 V
    cold = study("flooded", 48, **{"site.record_low_temperature_c": -20})
    assert [one.value for one in safety_warnings(cold, CHECK)] == [48]


@pytest.mark.parametrize(
    "statistic, at_most, line",
    [("short_nights", 0.2, 1), ("lolp", 0.05, 0), ("lolh", 100, 1), ("eue_kwh", 1, 0)],
)
def test_the_storage_line_fits_the_target(statistic, at_most, line):
    assert storage_line(SimpleNamespace(statistic=statistic, at_most=at_most)) == line


def test_the_check_prints_the_highest_charging_voltage_and_the_air():
    """In the terminal and for machines, for every bank: 14.7 V + 6 x 4 mV/K x 35 K at most; 120 Ah vented: 0.72 m3/h.

    Air is rounded up: 0.8.
    """
    flooded = study("flooded", 12, **{"bank.capacity_ah": 120, "site.record_low_temperature_c": -20})
    climate = site_climate(flooded)
    check = hand_check(flooded, climate)
    text, values = page(flooded, check, [], "made up"), data(flooded, check, [], "made up")
    volts = highest_charging_voltage(flooded, check)
    assert "charged with up to" in text and f"{volts:.1f} V; what is connected must survive it" in text
    assert "0.8 m3/h or more" in text
    assert values["charging_voltage_max_v"] == round(volts, 2) and values["ventilation_m3_h"] == 0.72
    lithium = study("lfp", 12)
    assert "hydrogen" not in page(lithium, hand_check(lithium, climate), [], "made up")
