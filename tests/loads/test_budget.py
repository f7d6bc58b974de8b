from types import SimpleNamespace

import numpy as np
import pytest

from darkspell.errors import StudyError
from darkspell.loads.budget import Appliance, appliances_from, daily_budget, hours_of, yearly_budget


def row(**changes):
    fields = dict(
        watts=60.0, hours_per_day=8.0, count=1, tier="essential", window=["00:00", "24:00"], peak_watts=None,
        months=None, chance_of_use_pct=100.0, spread_pct=20.0, wired_past_monitor=False,
    )  # fmt: skip
    return SimpleNamespace(**(fields | changes))


def test_inverter_idling_all_day():
    # Inverter idle 40 W x 24 h = 960 Wh (arithmetic)
    assert daily_budget([Appliance("inverter", 40, 24)])[0].tolist() == [960.0] * 12


def test_refrigerator_runs_a_third_of_the_hours_it_is_plugged_in():
    # US DOE consumer formula: running hours = plugged-in hours / 3; 75 W x 24 h / 3 = 600 Wh (arithmetic)
    assert daily_budget([Appliance("fridge", 75, 24 / 3)])[0, 6] == pytest.approx(600.0)


def test_units_chance_and_months_multiply():
    pump = Appliance("pump", 120, 0.5, count=2, chance_of_use=0.25, months=(6, 7))
    # 120 W x 2 x 0.5 h x 0.25 = 30 Wh/day in June and July (arithmetic)
    assert daily_budget([pump])[0].tolist() == [0, 0, 0, 0, 0, 30, 30, 0, 0, 0, 0, 0]
    # 30 Wh x (30 + 31) days (arithmetic)
    assert yearly_budget([pump]).tolist() == [1830.0]


def test_study_rows_become_appliances():
    rows = {
        "tv": row(hours_per_day=3, window=["18:30", "01:00"], chance_of_use_pct=60, months=[1], peak_watts=90)
    }
    tv = appliances_from(SimpleNamespace(loads=rows))[0]
    assert (tv.window_start_h, tv.window_length, tv.surge) == (18.5, 6.5, 30.0)
    assert (tv.chance_of_use, tv.spread, tv.months, tv.past_monitor) == (0.6, 0.2, (1,), False)


def test_hours_that_do_not_fit_are_refused():
    rows = {"lamp": row(window=["22:00", "02:00"], hours_per_day=5)}
    with pytest.raises(StudyError, match=r"loads.lamp.hours_per_day: 5 h .* 4 h"):
        appliances_from(SimpleNamespace(loads=rows))


@pytest.mark.parametrize("time", ["1110", "25:00", "24:01", "7:75", "noon"])
def test_a_time_is_hours_and_minutes(time):
    with pytest.raises(StudyError, match="time of day"):
        hours_of(time)


def test_times():
    assert [hours_of(t) for t in ("00:00", "7:15", "24:00")] == [0.0, 7.25, 24.0]
    assert np.isclose(hours_of("18:20"), 18 + 1 / 3)
