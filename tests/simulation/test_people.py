"""How long the place may be left, and what it brings that people save."""

import numpy as np
import pytest

from darkspell.climate import site_climate
from darkspell.monitor.all_monitors import readings
from darkspell.simulation.run import simulate
from darkspell.simulation.saving_on_reading import (
    LOOK_HOUR,
    WRONG,
    answers,
    saved,
    saving_table,
    wrong_answers,
    year_with_saving,
)
from darkspell.simulation.system import build_system
from darkspell.simulation.unattended import days_that_last, hours_alone, left_alone, unattended_table
from darkspell.study import study_from
from darkspell.weather.site_sky import sky_of
from study.example import spoilt


def built(changes):
    """Parts of the example study, changed."""
    study = study_from(spoilt({"engine": {"members": 64, "seed": 1}, **changes}))
    return build_system(study, site_climate(study), sky_of(study))


@pytest.fixture(scope="module")
def dark():
    """A place whose array gives nothing, so that the days alone are arithmetic."""
    return built(
        {
            "arrays.roof.power_wp": 0.001,
            "load_uncertainty_pct": 0,
            "bank": {
                "chemistry": "lfp", "capacity_ah": 100, "location": "indoors", "indoor_min_c": 25,
                "indoor_max_c": 25, "depth_limit_pct": 90, "self_consumption_w": 0,
                "capacity_uncertainty_pct": 0, "property_uncertainty_pct": 0,
            },
            "loads.lamp.when": "home",
            "loads.radio.when": "home",
            "loads.alarm": {"watts": 2, "hours_per_day": 24, "tier": "essential"},
            "loads.heater": {"watts": 3, "hours_per_day": 24, "tier": "essential", "when": "away"},
            "chargers.port": {"kind": "shore", "charger_a": 50},
            "generator": {"charge_w": 500},
            "occupancy.unattended": {"start_months": [1, 7], "longest_days": 40, "probability_pct": 90},
        }
    )  # fmt: skip


def test_what_hangs_on_people_stops_when_they_leave(dark):
    """Alarm and frost heater go on, lamp, radio and shore line do not."""
    alone = left_alone(dark)
    assert alone.chargers == {}
    traces = alone.traces(np.arange(4), np.arange(4))
    np.testing.assert_allclose(traces.essential, 5.0)
    assert traces.deferrable.max() == 0.0


def test_the_days_alone_are_charge_over_current(dark):
    """100 Ah at about 13.1 V to 10 % left, 5 W: 90 Ah x 13.1 V / 5 W / 24 h = 9.8 days (arithmetic).

    A lithium bank at so small a current lets out a little more than its label's 20 h capacity (Peukert, capped
    at 100 h), and its voltage stays between 12.9 and 13.3 V: 5 % either way.
    """
    hours = hours_alone(dark, workers=2)
    assert hours.shape == (2, 64)
    assert hours.min() / 24 == pytest.approx(9.8, rel=0.05)
    table = unattended_table(hours, dark.study.occupancy.unattended, dark.parameter_draw)
    days = days_that_last(table, 0.9)
    assert set(days) == {1, 7} and days[1] == days[7]
    held, sure = days[1]
    assert sure <= held == int(hours.min() // 24)
    rows = table[table["start_month"] == 1].set_index("days")["probability"]
    assert rows[held] == 1.0 and rows[held + 1] == 0.0 and len(rows) == 40


def test_the_horizon_is_no_failure():
    """A large array carries an alarm through all the days that are looked at."""
    parts = built(
        {
            "arrays.roof.power_wp": 2000,
            "loads": {"alarm": {"watts": 2, "hours_per_day": 24, "tier": "uninterruptible"}},
            "occupancy.unattended": {"start_months": [6], "longest_days": 5, "probability_pct": 100},
        }
    )
    table = unattended_table(
        hours_alone(parts, workers=2), parts.study.occupancy.unattended, parts.parameter_draw
    )
    assert days_that_last(table, 1.0)[6][0] == 5


@pytest.fixture(scope="module")
def small():
    """A system that runs low in winter."""
    return built(
        {
            "arrays.roof.power_wp": 60,
            "load_uncertainty_pct": 0,
            "occupancy.saving": {"below_soc_pct": 70, "less_pct": 50, "loads": "all"},
        }
    )


def test_saving_starts_at_six_and_ends_at_six(small):
    """From 18:00 of the day of the low reading to 18:00 of the next; the year wraps."""
    traces = small.traces(np.arange(2), np.arange(2))
    saving = np.zeros((365, 2), bool)
    saving[[10, 364], 0] = True
    less = saved(traces, saving, small.study.occupancy.saving)
    ratio = less.essential[:, 0] / np.where(traces.essential[:, 0] > 0, traces.essential[:, 0], 1)
    hours = np.flatnonzero((traces.essential[:, 0] > 0) & (np.abs(ratio - 0.5) < 1e-6))
    low = np.r_[24 * 10 + 18 : 24 * 11 + 18, 24 * 364 + 18 : 8760, 0:18]
    assert set(hours) <= set(low) and hours.size > 3
    np.testing.assert_array_equal(less.essential[:, 1], traces.essential[:, 1])
    np.testing.assert_array_equal(less.peak, traces.peak)


def test_they_stop_where_it_reads_well_again():
    """Below 40 they begin, at 50 they stop; the year begins as it ended."""
    seen = np.full((365, 1), 0.9)
    seen[[10, 11, 12, 13, 364], 0] = [0.39, 0.45, 0.49, 0.5, 0.3]
    seen[:2, 0] = [0.45, 0.6]
    saving = answers(seen, 0.4, 0.5)[:, 0]
    assert np.flatnonzero(saving).tolist() == [0, 10, 11, 12, 364]


def test_people_who_save_have_fewer_dark_hours_and_forgo_energy(small):
    """Both results stand side by side; the answers agree with the readings that they gave rise to."""
    base = simulate(small, autonomy=False, workers=2)
    other = simulate(small, autonomy=False, workers=2, year=year_with_saving)
    table = saving_table(base.members, other.members, other.feedback, small.parameter_draw, 1).set_index(
        "statistic"
    )
    assert table.loc["eue_kwh", "difference"] < 0
    assert table.loc["eue_kwh", "verdict"] == "real"
    days, demand = table.loc["saving_days", "with"], table.loc["demand_kwh"]
    # Half of the loads' mean day is not asked for on a day of saving; winter days ask for as much as others.
    assert -demand["difference"] == pytest.approx(0.5 * days * demand["without"] / 365, rel=0.05)
    assert table.loc["unsettled_days", "with"] == 0.0
    # Less is forgone for nothing than is forgone at all; a shunt in order seldom misleads.
    needless, late = table.loc["needless_days"], table.loc["late_days"]
    assert 0 <= needless["low"] <= needless["with"] <= needless["high"] and needless["with"] < 0.5 * days
    assert table.loc["needless_kwh", "with"] <= -demand["difference"] and late["with"] < 0.5 * days


def test_answers_are_those_of_the_last_reading(small):
    """Run once more, the same people read the same and answer the same, where nothing is left open."""
    lanes, rule = np.arange(64), small.study.occupancy.saving
    year = year_with_saving(small, lanes, lanes)
    own = {small.study.monitor: small.study.monitors[small.study.monitor]}
    read = readings(small.study, small.chemistry, year.bank, year.traces, lanes, own)[small.study.monitor].soc
    seen = answers(read[LOOK_HOUR - 1 :: 24], rule.below_soc_pct / 100, rule.until_soc_pct / 100)
    assert not year.feedback["unsettled_days"].any()
    np.testing.assert_array_equal(seen.sum(0), year.feedback["saving_days"])


def test_without_a_low_reading_nothing_changes():
    """A large array: nobody ever saves, and the years are the same bits."""
    parts = built({"arrays.roof.power_wp": 3000, "occupancy.saving": {"below_soc_pct": 1}})
    same = simulate(parts, autonomy=False, workers=2, year=year_with_saving)
    base = simulate(parts, autonomy=False, workers=2)
    np.testing.assert_array_equal(same.members["demand_kwh"], base.members["demand_kwh"])


def test_days_saved_for_nothing_and_begun_too_late(small):
    """A reading that stands at nought has them save every day; one that stands at full never (arithmetic)."""
    traces, rule = small.traces(np.arange(64), np.arange(64)), small.study.occupancy.saving
    bank, planning = small.bank(traces), small.study.bank.planning_depth_pct / 100
    right = answers(bank.soc[LOOK_HOUR - 1 :: 24], rule.below_soc_pct / 100, rule.until_soc_pct / 100)
    always, never = np.ones((365, 64), bool), np.zeros((365, 64), bool)
    given = saved(traces, always, small.study.occupancy.saving)
    wrong = wrong_answers(always, right, traces, given, bank, planning)
    needless, forgone, late, _ = (wrong[name] for name in WRONG)
    np.testing.assert_array_equal(needless, 365 - right.sum(0))
    whole = (traces.essential + traces.deferrable).sum(0) / 1000
    assert (forgone <= 0.5 * whole * (1 + 1e-5)).all() and forgone.sum() > 0 and not late.any()
    wrong = wrong_answers(never, right, traces, traces, bank, planning)
    needless, forgone, late, beyond = (wrong[name] for name in WRONG)
    np.testing.assert_array_equal(late, right.sum(0))
    deepest = 100 * (1 - bank.soc.min(0)) - small.study.bank.planning_depth_pct
    np.testing.assert_allclose(beyond, np.maximum(deepest, 0), atol=1e-3)
    assert beyond.max() > 0 and not needless.any() and not forgone.any()
