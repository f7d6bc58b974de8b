"""Estimates on hours made by hand, whose answer follows from arithmetic."""

from dataclasses import replace

import numpy as np
import pytest

from darkspell.log_analysis.alignment import aligned_evidence, at_moment, disagreement, moved
from darkspell.log_analysis.compare import of_known_meaning
from darkspell.log_analysis.evidence import evidence
from darkspell.log_analysis.full_charge import full_hours
from darkspell.log_analysis.load_parts import CYCLING, MIXED, candidates, load_parts
from darkspell.log_analysis.load_sampler import information, sampled
from darkspell.log_analysis.quantities import DRAWS, Expected, Hours
from darkspell.log_analysis.reader import Rows

DAYS = 40
HOUR = np.arange(24 * DAYS) % 24
SUN = np.clip(np.sin(np.pi * (HOUR - 6) / 12), 0.0, None) * ((HOUR > 6) & (HOUR < 18))


def steady_parts():
    """A load that runs all day, and what the study does not know."""
    return load_parts([np.full(24, 26.6)], [], 26.6, np.random.default_rng(2))


def expected(**changes):
    """A lithium bank of 100 Ah at 12 V, 26.6 W all day, an array of 20 A under a clear sky, all known exactly."""
    load = np.full((24 * DAYS, 8), 26.6)
    made = Expected(
        load=load, array=np.repeat(20.0 * SUN[:, None], 8, 1), envelope=20.0 * SUN, weather_known=True,
        weather_sd=0.0, tilt_gain=np.ones(24 * DAYS), steady=load[:, 0], parts=steady_parts(),
        planned=26.6, capacity=100.0, nominal=12.0, absorption=14.2, float_voltage=13.5, steep=False,
        compensation=0.2, knee=11.9, knee_charge=0.08, knee_charge_sd=0.03, efficiency=1.0, efficiency_sd=0.0,
        bulk_depth=0.08, shed_depth=0.4, cut_off=11.0, low_resting=13.0, deferrable_share=0.0, offset_sd=0.01,
        freezing=np.zeros(DAYS), resting=13.3,
    )  # fmt: skip
    return replace(made, **changes)


def log(load=1.0, array=1.0, offset=0.0, sun=SUN, extra=0.0 * SUN):
    """Hours of a bank that is full each noon: what leaves by night enters in the morning, then the charger holds."""
    current = -(2.0 * load + extra)
    voltage = np.full(HOUR.size, 13.3)
    missing = 0.0
    for h in range(HOUR.size):
        if sun[h] > 0.0:
            spare = 20.0 * array * sun[h] + current[h]
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


def test_the_day_shows_a_load_that_runs_only_then():
    """A load of 26.6 W more from 10 to 14 h: dull days, on which the array gives 1 A, show it; nights do not."""
    dull = np.repeat(np.arange(DAYS) % 2 == 0, 24)
    sun = np.where(dull, 0.05 * (SUN > 0), SUN)
    extra = np.where((HOUR >= 10) & (HOUR < 14), 2.0, 0.0)
    known = expected(array=np.repeat(20.0 * sun[:, None], 8, 1), shed_depth=1.0)
    found = evidence(log(sun=sun, extra=extra), known, np.random.default_rng(1))
    low, high = np.quantile(found.draws["load"], [0.025, 0.975])
    assert low < 1.0 + 4.0 / 24.0 < high and low > 1.0  # four hours of as much again


def test_the_balance_of_a_whole_log_bounds_the_offset():
    """What the bank holds first and last differs by 100 Ah at most: over 40 days by 0.10 A."""
    hours = replace(log(offset=0.3), voltage=np.full(HOUR.size, np.nan))
    draws = evidence(hours, expected(weather_known=False), np.random.default_rng(1)).draws["offset"]
    assert draws.min() > 0.3 - 0.12 and draws.max() < 0.3 + 0.12


def test_loads_measured_apart_need_no_model():
    hours = log(load=1.3, array=0.6)
    given = hours.current + 2.6
    apart = replace(hours, load_current=np.full(HOUR.size, 2.6), charge_current=given)
    found = evidence(apart, expected(), np.random.default_rng(1))
    assert np.median(found.draws["load"]) == pytest.approx(1.3, rel=0.05)
    assert np.std(found.draws["load"]) < 0.03
    assert np.median(found.draws["array"]) == pytest.approx(0.6, rel=0.12)


def momentary(hours):
    """Rows an hour apart under broken clouds: by day each shows the sun or a cloud, not the hour's mean."""
    factor = np.where(np.random.default_rng(4).random(HOUR.size) < 0.5, 0.2, 1.8)
    current = np.where(SUN > 0.0, (hours.current + 2.0) * factor - 2.0, hours.current)
    return replace(hours, current=current, coarse=True)


NONE = np.full(HOUR.size, np.nan)


@pytest.mark.parametrize(
    ("name", "change", "known", "told"),
    [
        ("current and voltage", {}, {}, {"load", "array", "offset"}),
        ("hourly means", {"coarse": True}, {}, {"load", "array", "offset"}),
        ("hourly momentary values", "momentary", {}, {"load", "offset"}),
        ("weather not known", {}, {"weather_known": False}, {"load", "offset"}),
        ("current alone", {"voltage": NONE}, {}, {"load", "array", "offset"}),
        ("current alone, lead-acid", {"voltage": NONE}, {"steep": True}, {"load", "offset"}),
        ("a logger at its limit", {"clipped": True}, {}, {"load", "array"}),
        ("loads switched off", {"voltage": np.full(HOUR.size, 12.0)}, {}, set()),
        ("a reading alone", {"voltage": NONE, "measured_current": False, "soc": 0.7 + 0.0 * NONE}, {}, set()),
    ],
)
def test_which_causes_each_kind_of_log_tells(name, change, known, told):
    """By columns, sampling and weather; a cause that is left out has a reason. A bank below its low voltage at all
    hours may have lost its loads, and never shows a full charge."""
    sun = SUN * np.repeat(np.random.default_rng(5).uniform(0.4, 1.0, DAYS), 24)
    hours = momentary(log(sun=sun)) if change == "momentary" else replace(log(sun=sun), **change)
    known = {"array": np.repeat(20.0 * sun[:, None], 8, 1), **known}
    found = aligned_evidence(hours, expected(**known), np.random.default_rng(1))
    if name == "loads switched off":
        assert "load" in found.reasons
        return
    if name == "a reading alone":
        assert {"offset", "capacity"} <= set(found.reasons)
        return
    assert set(found.draws) == told, name
    assert set(found.reasons) == {"load", "array", "capacity", "offset"} - told


def test_one_gaussian_part_has_the_posterior_of_the_textbook():
    """Factor 1 +- 0.3 (shared) and 0.12 (own) on 20 W; each hour differs by 1 W; six hours show 30 W +- 2 W.

    The mean of six is 30 +- sqrt((2^2 + 1^2) / 6) W; with the prior 20 +- 20 * sqrt(0.3^2 + 0.12^2) W the weights of
    the normal model give the level (Gelman et al., Bayesian Data Analysis, section 2.5)."""
    parts = load_parts([np.full(24, 20.0)], [], 1e-9, np.random.default_rng(1))
    operator = np.eye(25)[:6]
    seen = information(operator, 4.0 * np.eye(6), np.full(6, 30.0), 12.0)
    courses, array = sampled(
        parts, seen, np.ones(DRAWS), np.zeros(DRAWS), (1.0, 0.3), 1.0, np.random.default_rng(2)
    )
    prior, own = 400.0 * (0.3**2 + 0.12**2), 5.0 / 6.0
    level, spread = (30.0 * prior + 20.0 * own) / (prior + own), np.sqrt(prior * own / (prior + own))
    unseen = courses[:, 6:]
    assert unseen.mean() == pytest.approx(level, abs=0.15)
    assert unseen.mean(1).std() == pytest.approx(np.hypot(spread, 1.0 / np.sqrt(18.0)), rel=0.1)
    assert unseen.std() == pytest.approx(np.hypot(spread, 1.0), rel=0.1)
    assert array.mean() == pytest.approx(1.0, abs=0.03) and array.std() == pytest.approx(0.3, rel=0.1)


def test_an_appliance_that_no_night_shows_may_run_by_day():
    """240 Wh a day run somewhere in 24 h; ten hours of night show nothing, so the day holds them, if any."""
    window = np.full(24, 1.0 / 24.0)
    parts = load_parts([np.full(24, 10.0)], [(window, 240.0, 6.0, MIXED)], 20.0, np.random.default_rng(1))
    night = np.array([20, 21, 22, 23, 0, 1, 2, 3, 4, 5])
    seen = information(np.eye(25)[night], 0.25 * np.eye(10), np.full(10, 10.0), 12.0)
    courses, _ = sampled(
        parts, seen, np.ones(DRAWS), np.zeros(DRAWS), (1.0, 0.3), 1.0, np.random.default_rng(2)
    )
    total = 24.0 * courses.mean(1)
    assert np.quantile(total, 0.025) < 480.0 < np.quantile(total, 0.975)
    assert np.median(courses[:, night].mean(1)) == pytest.approx(10.0, abs=0.5)


def test_candidates_keep_to_the_window_and_to_the_energy():
    window = np.where((np.arange(24) >= 18) | (np.arange(24) < 6), 1.0 / 12.0, 0.0)
    out = candidates(window, 2.0, MIXED, np.random.default_rng(1))
    assert out.sum(1) == pytest.approx(1.0) and (out[:, 6:18] == 0.0).all()
    assert 1.0 / out.max(1).mean() < 8.0  # many are blocks, far from an even spread of twelve hours


@pytest.mark.parametrize(
    ("kind", "known", "most"), [("samples", False, 0.9), ("means", True, 0.9), (None, False, 1.05)]
)
def test_the_array_is_read_from_rows_an_hour_apart(kind, known, most):
    """The array is read whether rows are said to be means, momentary values, or neither: then less surely."""
    sun = SUN * np.repeat(np.random.default_rng(5).uniform(0.4, 1.0, DAYS), 24)
    hours = replace(log(array=0.6, sun=sun), coarse=True, kind=kind, moment_known=known)
    if kind == "samples":  # at the beginning of the hour: between the means of two hours
        given = 0.5 * (hours.current + np.roll(hours.current, 1))
        hours = replace(hours, current=given)
    found = aligned_evidence(
        hours, expected(array=np.repeat(20.0 * sun[:, None], 8, 1)), np.random.default_rng(1)
    )
    low, high = np.quantile(found.draws["array"], [0.025, 0.975])
    assert low < 0.6 < high < most


def test_momentary_values_lie_between_the_means_of_the_hours_next_to_them():
    at = expected(array=np.repeat(np.arange(24.0 * DAYS)[:, None], 8, 1))
    assert at_moment(at, 0.0).array[10, 0] == 9.5  # hours' middles are 9.5 and 10.5
    assert at_moment(at, 30.0).array[10, 0] == 10.0
    assert at_moment(at, 45.0).array[10, 0] == 10.25


def test_a_late_clock_shows_in_what_days_differ_by_and_a_late_load_does_not():
    """An hour late for the whole log; a load of 6 A from 6 to 10 h moves the mean course, and is no wrong clock."""
    sun = SUN * np.random.default_rng(5).uniform(0.3, 1.0, HOUR.size)
    known = expected(array=np.repeat(20.0 * sun[:, None], 8, 1))
    hours = log(sun=sun, extra=np.where((HOUR >= 6) & (HOUR < 10), 6.0, 0.0))
    assert disagreement(hours, known) == []
    assert {late for *_, late in disagreement(moved(hours, 1), known)} == {1}


@pytest.mark.parametrize(
    ("kind", "known", "step", "whole"),
    [
        ("means", True, 3600.0, True),
        ("means", True, 10800.0, False),
        ("means", False, 3600.0, False),
        ("samples", False, 3600.0, False),
        (None, False, 3600.0, False),
    ],
)
def test_only_means_of_an_hour_by_a_known_moment_miss_nothing_between_rows(kind, known, step, whole):
    rows = Rows("x.csv", np.arange(3.0), {}, [], kind, known)
    found = of_known_meaning(replace(log(), coarse=True), rows, step)
    assert found.coarse == (not whole) and found.hourly_means == whole


def test_hourly_means_two_hours_late_are_neither_naming_and_doubt_the_clock():
    """A row named by the end of its hour comes one hour late; two hours late is a wrong clock."""
    sun = SUN * np.random.default_rng(5).uniform(0.3, 1.0, HOUR.size)
    known = expected(array=np.repeat(20.0 * sun[:, None], 8, 1))
    hours = replace(log(sun=sun), coarse=True)
    for shift, doubted in ((1, False), (2, True)):
        found = aligned_evidence(moved(hours, shift), known, np.random.default_rng(1))
        assert bool(found.clock) == doubted and ("load" in found.reasons) == doubted


def test_what_a_thermostat_switches_keeps_its_share_of_the_night():
    """The even course counts by night alone; runs at the same hours count for the whole day (our own reasoning)."""
    window = np.full(24, 1.0 / 24.0)
    parts = load_parts(
        [], [(window, 480.0, 8.0, kind) for kind in (CYCLING, MIXED)], 40.0, np.random.default_rng(1)
    )
    fridge, oven = (parts.courses[part, : parts.by_night[part], :6].mean(1) for part in (0, 1))
    assert np.ptp(fridge) < 1e-9 < 5.0 < np.ptp(oven)
    assert parts.choices[0] == parts.choices[1] == parts.courses.shape[1]


@pytest.mark.parametrize(("load", "named"), [(1.0, False), (1.3, True)])
def test_the_use_by_night_comes_back(load, named):
    """26.6 W all day: by night the bank gives 2 A times the factor; nothing else explains more than some per cent."""
    night = evidence(log(load=load), expected(), np.random.default_rng(1)).night
    assert night.low < load < night.high and night.high - night.low < 0.1
    assert night.least < 1.0 < night.most
    parts = replace(steady_parts(), courses=steady_parts().courses[:1].repeat(2, 0) * [[[1.0]], [[0.0]]])
    sure = evidence(log(load=load), expected(parts=parts), np.random.default_rng(1)).night
    assert (sure.beyond > 0.95) == named
