"""Capacity at two rates of a data sheet: Peukert's law through them, and the step that it gives."""

import numpy as np
import pytest

from darkspell.bank.cell_laws import undeliverable_charge
from darkspell.chemistry.bank_draws import capacity_sd
from darkspell.chemistry.numbers import (
    capacity_law,
    chemistry_numbers,
    peukert_capacity,
    reference_capacity,
)
from darkspell.core.errors import StudyError
from darkspell.study import study_from
from study.example import spoilt

F = np.float32


def test_an_exponent_of_six_fifths_from_its_definition():
    """Peukert 1897, I^k t constant: 5 A for 20 h and k = 1.2 are 5 x 4^(1/1.2) = 15.87 A for 5 h, or 79.4 Ah."""
    law = capacity_law("agm", (20.0, 5.0, 79.37 / 100.0))
    assert law.exponent == pytest.approx(1.2, abs=1e-3)


@pytest.mark.parametrize(
    ("first", "second"), [((20, 100), (100, 113)), ((5, 82), (20, 100)), ((10, 90), (120, 112))]
)
def test_the_bank_gives_both_capacities_of_its_data_sheet(first, second):
    """Drawn with C / t it gives C: by the law and by the step, in either order of the points."""
    for (t1, c1), (t2, c2) in ((first, second), (second, first)):
        points = float(t1), float(t2), c2 / c1
        full = reference_capacity("flooded", c1, t1, points)
        ratio = peukert_capacity("flooded", t2, points) / peukert_capacity("flooded", t1, points)
        assert ratio == pytest.approx(c2 / c1, rel=1e-6)
        c = chemistry_numbers("flooded", 12.0, points=points)
        for time, capacity in ((t1, c1), (t2, c2)):
            left = float(undeliverable_charge(F(capacity / time / full), F(1.0), c))
            assert (1.0 - left) * full == pytest.approx(capacity, rel=0.005)


def test_without_a_slow_point_the_law_ends_at_the_tables_capacity():
    """From 5 and 20 h alone, 2.5 times as steep as the table, no more comes out at 100 h than the table says."""
    k, most = capacity_law("agm")
    steep = capacity_law("agm", (5.0, 20.0, 1.0 / 0.7))
    assert steep.exponent > k and steep.greatest == most


def test_a_stated_slow_rate_is_not_drawn():
    """The range of the 100 h capacity belongs to banks whose data sheet is not at hand."""
    plain = study_from(spoilt({"bank.chemistry": "flooded"})).bank
    stated = {
        "bank.chemistry": "flooded",
        "bank.second_capacity_pct": 110,
        "bank.second_rate_h": 100,
    }
    known = study_from(spoilt(stated)).bank
    assert capacity_sd(known) == pytest.approx(plain.capacity_uncertainty_pct / 100)
    assert capacity_sd(known) < capacity_sd(plain)


@pytest.mark.parametrize(
    ("changes", "key", "cure"),
    [
        ({"bank.second_rate_h": 100}, "bank.second_capacity_pct", "give both"),
        ({"bank.second_capacity_pct": 90}, "bank.second_rate_h", "give both"),
        ({"bank.second_capacity_pct": 50, "bank.second_rate_h": 100}, "bank.second_capacity_pct", "data sheet"),
        ({"bank.second_capacity_pct": 250, "bank.second_rate_h": 100}, "bank.second_capacity_pct", "data sheet"),
        ({"bank.second_capacity_pct": 120, "bank.second_rate_h": 20}, "bank.second_rate_h", "another rate"),
        ({"controller.absorption_voltage_v": 12.0}, "controller.absorption_voltage_v", "give 14"),
        ({"controller.float_voltage_v": 13.4}, "controller.float_voltage_v", "bank.absorption_h"),
        ({"controller.float_voltage_v": 14.9, "bank.absorption_h": 3}, "controller.float_voltage_v", "lower it"),
        ({"bank.charge_temperature_max_c": 20, "bank.charge_temperature_full_c": 25},
         "bank.charge_temperature_max_c", "raise it"),
    ],
)  # fmt: skip
def test_what_no_data_sheet_says_is_refused_with_its_cure(changes, key, cure):
    """One message, with key, value and cure."""
    with pytest.raises(StudyError) as fault:
        study_from(spoilt(changes))
    assert str(fault.value).count("\n") == 0 and key in str(fault.value) and cure in str(fault.value)
