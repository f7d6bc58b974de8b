"""Depth, dawn, full charges and throughput on hand-made years."""

import numpy as np
import pytest

from darkspell.core.calendar import Calendar
from darkspell.statistics.charge_summary import charge_summary, throughput

CALENDAR = Calendar(7)


def year(filled=1.0, **spells):
    """A year of one state of charge, with ``h100_h200=0.4`` spells of another."""
    soc = np.full((8760, 1), filled, np.float32)
    for hours, level in spells.items():
        first, last = (int(h[1:]) for h in hours.split("_"))
        soc[first:last] = level
    return soc


def test_always_full():
    members, months = charge_summary(year(), CALENDAR, 0.99)
    assert members["full_charges"][0] == 365
    assert members["longest_full_charge_interval_days"][0] == members["max_depth_pct"][0] == 0
    assert months["days_with_full_charge"][0].tolist() == [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]


def test_never_full_is_one_open_interval_from_a_full_start():
    members, months = charge_summary(year(0.8), CALENDAR, 0.99)
    assert members["longest_full_charge_interval_days"][0] == 365
    assert members["full_charges"][0] == 0
    assert members["max_depth_pct"][0] == pytest.approx(20, abs=1e-5)
    np.testing.assert_allclose(months["dawn_soc_pct"], 80, atol=1e-5)


def test_an_interval_open_at_the_end_counts():
    members, _ = charge_summary(year(h100_h148=0.5, h8688_h8760=0.9), CALENDAR, 0.99)
    assert members["longest_full_charge_interval_days"][0] == 3
    assert members["max_depth_pct"][0] == 50


def test_depth_and_full_days_fall_in_their_months():
    december = CALENDAR.study_day(12, 1) * 24
    soc = year()
    soc[december : december + 48] = 0.25
    members, months = charge_summary(soc, CALENDAR, 0.99)
    assert months["max_depth_pct"][0].argmax() == 11
    assert months["max_depth_pct"][0, 11] == members["max_depth_pct"][0] == 75
    assert months["days_with_full_charge"][0, 11] == 29
    assert months["dawn_soc_pct"][0, 11] == pytest.approx((2 * 25 + 29 * 100) / 31)


def test_dawn_is_read_at_six():
    soc = year(0.5)
    # The hour that begins at 05:00 ends at 06:00.
    soc[5::24] = 0.3
    _, months = charge_summary(soc, CALENDAR, 0.99)
    np.testing.assert_allclose(months["dawn_soc_pct"], 30, atol=1e-5)


def test_a_bank_full_each_afternoon_waits_less_than_a_day():
    soc = year(0.7)
    soc[14::24] = 1.0
    members, _ = charge_summary(soc, CALENDAR, 0.99)
    assert members["full_charges"][0] == 365
    assert members["longest_full_charge_interval_days"][0] == pytest.approx(23 / 24)


def test_throughput_counts_discharge_alone():
    current = np.tile(np.float32([[5], [-2]]), (4380, 1))
    found = throughput(current, 100)
    assert found["discharge_throughput_ah"][0] == 8760
    assert found["equivalent_full_cycles"][0] == pytest.approx(87.6)


def test_lanes_are_independent():
    rng = np.random.default_rng(1)
    soc = rng.random((8760, 4)).astype(np.float32)
    members, months = charge_summary(soc, CALENDAR, full_soc=0.999)
    np.testing.assert_allclose(members["max_depth_pct"], 100 * (1 - soc.min(axis=0)), rtol=1e-6)
    july = CALENDAR.month_of_hour == 6
    np.testing.assert_allclose(months["max_depth_pct"][:, 6], 100 * (1 - soc[july].min(axis=0)), rtol=1e-6)
    dawn = soc[5::24][CALENDAR.month_of_day == 6].mean(axis=0)
    np.testing.assert_allclose(months["dawn_soc_pct"][:, 6], 100 * dawn, rtol=1e-5)
    full = (soc.reshape(365, 24, 4) >= np.float32(0.999)).any(axis=1)
    np.testing.assert_array_equal(members["full_charges"], full.sum(axis=0))
