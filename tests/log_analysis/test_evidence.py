"""Estimates on hours made by hand, whose answer follows from arithmetic."""

from dataclasses import replace

import numpy as np
import pytest

from darkspell.log_analysis.evidence import DRAWS, Expected, Hours, evidence, full_hours

DAYS = 40
HOUR = np.arange(24 * DAYS) % 24
SUN = np.clip(np.sin(np.pi * (HOUR - 6) / 12), 0.0, None) * ((HOUR > 6) & (HOUR < 18))


def expected(**changes):
    """A lithium bank of 100 Ah at 12 V, 26.6 W all day, an array of 20 A under a clear sky, all known exactly."""
    load = np.full((24 * DAYS, 8), 26.6)
    made = Expected(
        load=load, array=np.repeat(20.0 * SUN[:, None], 8, 1), envelope=20.0 * SUN, weather_known=True,
        weather_sd=0.0, steady=load[:, 0], movable_share=np.ones(DRAWS), movable_planned=0.0, capacity=100.0,
        nominal=12.0, absorption=14.2, float_voltage=13.5, steep=False, compensation=0.2, knee=11.9, knee_charge=0.08,
        efficiency=1.0, efficiency_sd=0.0, bulk_depth=0.08, shed_depth=0.4, offset_sd=0.01,
        freezing=np.zeros(DAYS), resting=13.3,
    )  # fmt: skip
    return replace(made, **changes)


def log(load=1.0, array=1.0, offset=0.0, sun=SUN):
    """Hours of a bank that is full each noon: what leaves by night enters in the morning, then the charger holds."""
    draw = 2.0 * load
    current = np.full(HOUR.size, -draw)
    voltage = np.full(HOUR.size, 13.3)
    missing = 0.0
    for h in range(HOUR.size):
        if sun[h] > 0.0:
            spare = 20.0 * array * sun[h] - draw
            current[h] = min(spare, max(missing, 0.0)) if spare > 0 else spare
            voltage[h] = 14.2 if current[h] < spare - 1e-9 else 13.5
        missing = max(missing - current[h], 0.0)
    return Hours(current + offset, voltage, np.full(HOUR.size, np.nan), 0.0, True)


@pytest.mark.parametrize(
    ("load", "array", "offset"), [(1.0, 1.0, 0.0), (1.3, 1.0, 0.0), (1.0, 0.6, 0.0), (1.0, 1.0, 0.3)]
)
def test_load_array_and_offset_come_back(load, array, offset):
    found = evidence(log(load, array, offset), expected(), np.random.default_rng(1))
    truth = {"load": load, "array": array, "offset": offset}
    for name, value in truth.items():
        low, high = np.quantile(found.draws[name], [0.025, 0.975])
        assert low < value < high
    # 3 Ah (three per cent of the bank) over 38 days are some 3 mA
    assert np.median(found.draws["offset"]) == pytest.approx(offset, abs=0.01)
    assert np.median(found.draws["load"]) == pytest.approx(load, rel=0.05)
    assert np.median(found.draws["array"]) == pytest.approx(array, rel=0.12)


def test_the_bank_is_full_at_noon_each_day():
    assert full_hours(log(), expected()).size == DAYS


def test_what_a_log_lacks_is_not_told():
    rng = np.random.default_rng(1)
    hours = log()
    bare = replace(hours, voltage=np.full(HOUR.size, np.nan))
    assert "capacity" not in evidence(bare, expected(), rng).draws
    reading = replace(bare, measured_current=False, soc=np.full(HOUR.size, 0.7))
    assert not {"offset", "capacity"} & set(evidence(reading, expected(), rng).draws)
    never_full = replace(hours, current=np.full(HOUR.size, -2.0), voltage=np.full(HOUR.size, 13.0))
    found = evidence(never_full, expected(), rng)
    assert "offset" not in found.draws and found.round_trip is None


def test_capacity_is_told_where_the_bank_is_emptied_after_a_full_charge():
    """Full on the eleventh noon, then no sun until 92 Ah have left: down to the knee at 8 % they make 100 Ah."""
    sun = SUN.copy()
    begin = 24 * 10 + 15
    sun[begin : begin + 46] = 0.0
    hours = log(sun=sun)
    voltage = hours.voltage.copy()
    voltage[begin + 45] = 11.5
    found = evidence(replace(hours, voltage=voltage), expected(), np.random.default_rng(1))
    low, high = np.quantile(found.draws["capacity"], [0.025, 0.975])
    assert low < 1.0 < high and np.median(found.draws["capacity"]) == pytest.approx(1.0, abs=0.06)


def test_the_round_trip_never_exceeds_one_and_an_offset_that_would_make_it_so_hides_it():
    assert evidence(log(offset=-0.2), expected(), np.random.default_rng(1)).round_trip is None
    found = evidence(log(offset=0.05), expected(), np.random.default_rng(1)).round_trip
    assert found[1] <= found[0] <= found[2] <= 1.0
