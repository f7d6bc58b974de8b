"""The budget: arithmetic of the study's rows, on paper."""

import numpy as np
import pytest

from darkspell.core.calendar import Calendar
from darkspell.core.errors import StudyError
from darkspell.loads.budget import (
    INVERTER,
    Appliance,
    appliances_from,
    budget_of,
    daily_budget,
    yearly_budget,
    yearly_spread,
)
from darkspell.loads.inverter import inverter_curve
from darkspell.loads.occupancy import presence, use_by_date, weekday
from darkspell.study import study_from
from darkspell.study.loads import Inverter
from study.example import spoilt


def test_inverter_idling_all_day():
    """Inverter idle 40 W x 24 h = 960 Wh (arithmetic)."""
    loads = {"lamp": {"watts": 10, "hours_per_day": 4, "tier": "deferrable", "supply": "ac"}}
    given = spoilt({"loads": loads, "inverter": {"power_w": 2000, "no_load_w": 40}})
    assert budget_of(appliances_from(study_from(given)))[INVERTER].tolist() == [960.0] * 12


def test_refrigerator_runs_a_third_of_the_hours_it_is_plugged_in():
    """US DOE consumer formula: running hours = plugged-in hours / 3; 75 W x 24 h / 3 = 600 Wh (arithmetic)."""
    fridge = {"watts": 75, "duty_pct": 100 / 3, "tier": "essential"}
    assert budget_of(appliances_from(study_from(spoilt({"loads": {"fridge": fridge}}))))[
        "fridge"
    ] == pytest.approx(600.0)


def test_units_chance_and_months_multiply():
    """120 W x 2 x 0.5 h x 0.25 = 30 Wh/day in June and July; 30 Wh x (30 + 31) days (arithmetic)."""
    pump = Appliance("pump", 120, 0.5, count=2, chance_of_use=0.25, months=(6, 7))
    assert daily_budget([pump])[0].tolist() == [0, 0, 0, 0, 0, 30, 30, 0, 0, 0, 0, 0]
    assert yearly_budget([pump]).tolist() == [1830.0]


def test_study_rows_become_appliances():
    """Window past midnight, surge, chance and spread as shares."""
    tv = {
        "watts": 60, "hours_per_day": 3, "tier": "essential", "window": ["18:30", "01:00"], "peak_watts": 90,
        "chance_of_use_pct": 60, "months": [1],
    }  # fmt: skip
    tv = appliances_from(study_from(spoilt({"loads": {"tv": tv}})))[0]
    assert (tv.window_start_h, tv.window_length, tv.surge) == (18.5, 6.5, 30.0)
    assert (tv.chance_of_use, tv.spread, tv.months, tv.past_monitor) == (0.6, 0.2, (1,), False)
    assert tv.use_by_date().sum() == 31


def test_the_inverter_curve_meets_its_data_sheet():
    """Idle draw, efficiency at half and at full power come back; between them the curve is a parabola."""
    curve = inverter_curve(Inverter(power_w=1000, no_load_w=12, efficiency_pct=92, efficiency_full_pct=87))
    assert curve.power_in(0.0) == 12
    assert 500 / curve.power_in(500.0) == pytest.approx(0.92)
    assert 1000 / curve.power_in(1000.0) == pytest.approx(0.87)
    assert 0.5 < 20 / curve.power_in(20.0) < 0.7  # 20 W through 12 W of idling


def test_an_ac_load_is_what_the_inverter_takes_for_it():
    """Left on: its idle draw is a row of its own; else it runs with the load."""
    loads = {"kettle": {"watts": 1000, "hours_per_day": 0.5, "tier": "deferrable", "supply": "ac"}}
    inverter = {"power_w": 1000, "no_load_w": 12, "efficiency_pct": 92, "efficiency_full_pct": 87}
    left, switched = (
        budget_of(
            appliances_from(study_from(spoilt({"loads": loads, "inverter": inverter | {"always_on": on}})))
        )
        for on in (True, False)
    )
    # Half an hour at 1000 / 0.87 W, of which 12 W idle (arithmetic)
    assert switched["kettle"] == pytest.approx(500 / 0.87)
    assert left["kettle"] == pytest.approx(500 / 0.87 - 6.0)
    assert left[INVERTER] == pytest.approx(288.0) and INVERTER not in switched


def test_the_week_runs_through_the_study_year():
    """1 July 2025 is a Tuesday; seven days later it is one again, New Year or not."""
    calendar = Calendar(7)
    days = weekday(calendar)[calendar.day_of_year - 1]
    assert days[0] == 1
    assert (np.diff(days) % 7 == 1).all()


def test_presence_of_weekenders_with_guests():
    """At home at weekends; away in August; guests bring them out on working days too."""
    given = {
        "occupancy": {
            "at_home": "weekends",
            "absences": {"august": {"first": "08-01", "last": "08-31"}},
            "guests": {"week": {"first": "07-07", "last": "07-11", "more_pct": 50}},
        }
    }
    calendar = Calendar(7)
    people = study_from(spoilt(given)).occupancy
    home, more, guests = presence(people, calendar)
    july, august = np.arange(181, 212), np.arange(212, 243)
    # July 2025 has eight days of weekends, and the guests come from a Monday to a Friday.
    assert home[july].sum() == 13 and not home[august].any()
    assert more[187:192].tolist() == [0.5] * 5 and guests.sum() == 5


def test_who_is_there_decides_what_runs():
    """Any, home, away and guests; left to itself only the first and the third."""
    people = {
        "absences": {"away": {"first": "12-20", "last": "01-10"}},
        "guests": {"g": {"first": "05-01", "last": "05-02"}},
    }
    load = {"watts": 10, "hours_per_day": 1, "tier": "essential"}
    loads = {when: load | {"when": when} for when in ("any", "home", "away", "guests")}
    loads["bath"] = load | {"increases_with_guests": True}
    study = study_from(spoilt({"loads": loads, "occupancy": people}))
    calendar = Calendar(7)
    days = {name: use_by_date(row, study.occupancy, calendar).sum() for name, row in study.loads.items()}
    # 22 days away; two with guests, who raise the bath by half (arithmetic)
    assert days == {"any": 365, "home": 343, "away": 22, "guests": 2, "bath": 366}
    left = {
        name: use_by_date(row, study.occupancy, calendar, True).sum() for name, row in study.loads.items()
    }
    assert left == {"any": 365, "home": 0, "away": 365, "guests": 0, "bath": 365}


def measured(tmp_path, text):
    """A study with a measured load in a file of its own."""
    (tmp_path / "log.csv").write_text(text)
    given = spoilt({"measured_loads": {"galley": {"file": "log.csv", "tier": "essential"}}})
    return study_from(given, folder=tmp_path)


def test_a_measured_load_has_the_mean_of_its_file(tmp_path):
    """Two days, of 24 and of 48 Wh: 36 Wh a day (arithmetic)."""
    rows = "\n".join(["time,watts", *(f"{h},{1 if h < 24 else 2}" for h in range(48))])
    assert budget_of(appliances_from(measured(tmp_path, rows)))["galley"] == pytest.approx(36.0)


@pytest.mark.parametrize(
    "text, said",
    [
        ("watts\n" + "1\n" * 25, "has 25 hours; give whole days"),
        ("watts\n1\nmany\n" + "1\n" * 22, "row 3: 'many' is no power"),
        ("watts\n-1\n" + "1\n" * 23, "row 2: '-1' is no power; give watts from 0"),
        ("watts\n", "has 0 hours"),
    ],
)
def test_a_faulty_file_is_named_with_its_row(tmp_path, text, said):
    """One clear message."""
    with pytest.raises(StudyError, match=f"measured_loads.galley.file: .*{said}"):
        appliances_from(measured(tmp_path, text))


def test_the_spread_of_a_year_is_that_of_independent_days():
    """A coin of 100 Wh every day: sqrt(365 / 4) x 100 Wh; certain days with 20 %: sqrt(365) x 20 (arithmetic)."""
    coin = Appliance("coin", 50, 2, chance_of_use=0.5, spread=0.0)
    assert yearly_spread([coin]) == pytest.approx(np.sqrt(365 / 4) * 100)
    steady = Appliance("steady", 50, 2, spread=0.2)
    assert yearly_spread([steady]) == pytest.approx(np.sqrt(365) * 20)
