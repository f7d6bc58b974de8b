"""Loss of load on hand-made years, and against the convolution of outages of a textbook."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from darkspell.core.calendar import Calendar
from darkspell.statistics.reliability import (
    critical_losses,
    list_events,
    monthly_energy,
    monthly_means,
    reliability,
)

CALENDAR = Calendar(7)
NOTHING = np.zeros((8760, 1), np.float32)
LOAD = np.full((8760, 1), 50, np.float32)


def reduced(lost, night_floor=5.0):
    """Members and months of one hand-made year; `lost` maps hours of the year to unserved Wh."""
    unserved = NOTHING.copy()
    for hour, energy in lost.items():
        unserved[hour, 0] = energy
    return reliability(unserved, NOTHING, LOAD, NOTHING, CALENDAR, night_floor)


def value(members, name):
    return members[name][0]


def test_a_quiet_year():
    members, _ = reduced({})
    assert value(members, "demand_kwh") == pytest.approx(50 * 8.76)
    assert all(value(members, name) == 0 for name in members if name != "demand_kwh")


def test_noise_below_the_floor_is_not_loss():
    members, _ = reduced({100: 0.009})
    assert value(members, "lolh") == 0
    assert value(members, "events") == 0


def test_runs_are_events():
    members, months = reduced({10: 20, 11: 20, 12: 20, 40: 20, 8000: 20, 8001: 20})
    assert value(members, "lolh") == 6
    assert value(members, "events") == 3
    assert value(members, "longest_event_h") == 3
    assert value(members, "lold") == 3
    assert value(members, "eue_essential_kwh") == pytest.approx(0.12)
    assert months["events"][0, 6] == 2


def test_an_event_over_midnight_is_one_night_and_two_days():
    members, _ = reduced({h: 20 for h in range(24 * 3 + 22, 24 * 4 + 3)})
    assert value(members, "short_nights") == 1
    assert value(members, "lold") == 2


def test_an_event_over_noon_is_two_nights():
    members, _ = reduced({24 * 3 + 11: 20, 24 * 3 + 12: 20})
    assert value(members, "short_nights") == 2
    assert value(members, "events") == 1


def test_a_night_is_short_above_its_floor_only():
    members, _ = reduced({30: 4.9, 80: 5.1})
    assert value(members, "short_nights") == 1
    assert value(members, "lolh") == 2


def test_a_night_belongs_to_the_month_of_its_evening():
    first_of_august = 31 * 24
    _, months = reduced({first_of_august + 3: 20})
    assert months["short_nights"][0, 6] == 1
    assert months["lolh"][0, 7] == 1


def test_the_first_morning_and_the_last_evening_are_one_night():
    both, months = reduced({2: 20, 8755: 20})
    morning, _ = reduced({2: 20})
    evening, _ = reduced({8755: 20})
    assert (
        value(both, "short_nights") == value(morning, "short_nights") == value(evening, "short_nights") == 1
    )
    assert months["short_nights"][0, 5] == 1
    assert value(both, "events") == 2


def test_an_event_round_the_end_of_the_year_is_one():
    lost = {h % 8760: 20 for h in range(8757, 8764)}
    members, months = reduced(lost)
    assert value(members, "events") == 1
    assert value(members, "longest_event_h") == 7
    assert months["events"][0, 5] == 1


def test_a_year_without_any_power():
    members, _ = reduced({h: 20 for h in range(8760)})
    assert value(members, "events") == 1
    assert value(members, "longest_event_h") == 8760
    assert value(members, "short_nights") == value(members, "lold") == 365


def test_deferrable_loads_count_in_energy_alone():
    deferrable = NOTHING.copy()
    deferrable[200] = 30
    members, _ = reliability(NOTHING, deferrable, LOAD, LOAD, CALENDAR, 5.0)
    assert value(members, "eue_kwh") == pytest.approx(0.03)
    assert value(members, "eue_essential_kwh") == value(members, "lolh") == 0
    assert value(members, "demand_kwh") == pytest.approx(100 * 8.76)


def test_listed_events_have_start_length_and_energy():
    lost = np.zeros((8760, 2), np.float32)
    lost[[0, 1, 8759], 0] = 10
    lost[50:53, 1] = [1, 2, 3]
    events = list_events(lost)
    assert events.member.tolist() == [0, 1]
    assert events.start.tolist() == [8759, 50]
    assert events.length.tolist() == [3, 3]
    assert events.energy.tolist() == [30, 6]


@given(arrays(np.float32, (8760 // 24, 2), elements=st.sampled_from([0.0, 0.0, 8.0])), st.integers(0, 23))
@settings(max_examples=40, deadline=None)
def test_list_and_counts_agree_and_months_add_up(days, shift):
    lost = np.roll(np.repeat(days, 24, axis=0), shift, axis=0)
    zero, load = np.zeros_like(lost), np.ones_like(lost)
    members, months = reliability(lost, zero, load, zero, CALENDAR, 5.0)
    events = list_events(lost)
    np.testing.assert_array_equal(members["events"], np.bincount(events.member, minlength=2))
    assert events.length.sum() == members["lolh"].sum() == (lost > 0).sum()
    assert events.energy.sum() == pytest.approx(1000 * members["eue_essential_kwh"].sum())
    for lane in range(2):
        assert members["longest_event_h"][lane] == events.length[events.member == lane].max(initial=0)
    nights = [np.unique(CALENDAR.night_of_hour[lost[:, lane] > 0]).size for lane in range(2)]
    np.testing.assert_array_equal(members["short_nights"], nights)
    for name, table in months.items():
        np.testing.assert_allclose(table.sum(axis=1), members[name], rtol=1e-9)


def test_lanes_do_not_touch_each_other():
    rng = np.random.default_rng(1)
    lost = (rng.random((8760, 5)) < 0.01).astype(np.float32) * 9
    zero = np.zeros_like(lost)
    together, _ = reliability(lost, zero, lost, zero, CALENDAR, 5.0)
    for lane in range(5):
        one = np.ascontiguousarray(lost[:, lane : lane + 1])
        alone, _ = reliability(one, zero[:, :1], one, zero[:, :1], CALENDAR, 5.0)
        assert all(alone[name][0] == together[name][lane] for name in alone)


def test_monthly_means_follow_the_calendar():
    means = monthly_means(CALENDAR.month_of_day[None].repeat(3, axis=0), CALENDAR)
    np.testing.assert_array_equal(means, np.arange(12)[None].repeat(3, axis=0))


def test_monthly_energy_of_a_constant_load():
    np.testing.assert_allclose(monthly_energy(LOAD, CALENDAR)[0, [0, 1]], [50 * 744e-3, 50 * 672e-3])


# R. Billinton & R. N. Allan, Reliability Evaluation of Power Systems, 2nd ed. (1996), chapter 2: two units of
# 3 MW and one of 5 MW, forced outage rate 0.02: capacity on outage [MW] and its probability.
OUTAGES = {0: 0.941192, 3: 0.038416, 5: 0.019208, 6: 0.000392, 8: 0.000784, 11: 0.000008}
UNITS, OUTAGE_RATE = (3, 3, 5), 0.02


def exact_outages():
    """Convolution of the three units."""
    table = dict.fromkeys(OUTAGES, 0.0)
    for down in product((0, 1), repeat=3):
        chance = np.prod([OUTAGE_RATE if d else 1 - OUTAGE_RATE for d in down])
        table[int(np.dot(down, UNITS))] += chance
    return table


def test_outage_table_of_billinton_and_allan():
    for capacity, chance in exact_outages().items():
        assert chance == pytest.approx(OUTAGES[capacity], abs=5e-7)


def test_simulated_hours_agree_with_the_outage_table():
    """A load of 7 MW on 11 MW installed is lost when more than 4 MW are out; the deficit is outage - 4 MW."""
    members = 100
    rng = np.random.default_rng(2)
    out = sum((rng.random((8760, members)) < OUTAGE_RATE) * unit for unit in UNITS)
    unserved = np.maximum(out - 4, 0).astype(np.float32)
    load, zero = np.full_like(unserved, 7), np.zeros_like(unserved)
    found, _ = reliability(unserved, zero, load, zero, CALENDAR, 0.5)
    lolp = sum(chance for out, chance in OUTAGES.items() if out > 4)
    energy = sum(chance * max(out - 4, 0) for out, chance in OUTAGES.items()) * 8.76
    # Tolerance: 3 standard errors of the simulated mean.
    for name, exact in (("lolh", lolp * 8760), ("eue_kwh", energy)):
        error = found[name].std(ddof=1) / np.sqrt(members)
        assert abs(found[name].mean() - exact) < 3 * error


def test_ordinary_essential_load_goes_without_before_the_critical():
    """Of 60 W essential load 20 W are critical: what is missing beyond the other 40 W is theirs."""
    short, load, critical = (np.zeros((8760, 2), np.float32) for _ in range(3))
    load[:], critical[:] = 60.0, 20.0
    short[5000:5010, 0] = 40.0  # the ordinary loads are shed
    short[6000:6003, 0] = 55.0  # and the critical ones have 5 W of 20
    members, months = critical_losses(short, load, critical, Calendar(1), 5.0)
    assert members["critical_lolh"].tolist() == [3.0, 0.0]
    assert members["critical_short_nights"].tolist() == [1.0, 0.0]
    assert members["critical_eue_kwh"] == pytest.approx([0.045, 0.0])
    assert months["critical_lolh"][0].sum() == 3.0
    known = np.minimum(short, 7.0)  # an inverter's cut-off says itself what they lack
    members, _ = critical_losses(short, load, critical, Calendar(1), 5.0, known)
    assert members["critical_eue_kwh"] == pytest.approx(known.sum(axis=0) / 1000)
    none, _ = critical_losses(short, load, None, Calendar(1), 5.0)
    assert not any(values.any() for values in none.values())
