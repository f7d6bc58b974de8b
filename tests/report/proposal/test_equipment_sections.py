"""What the proposal says of arrays, chargers, places, and of people who leave or save."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from darkspell.report.proposal.chapters import disconnects, energy_sources, equipment, occupancy, snow
from darkspell.study import study_from
from report.said import numbers
from study.example import spoilt

PLANT = {
    "arrays.roof": {
        "power_wp": 200, "tilt_deg": 0, "azimuth_deg": 0, "any_heading": True, "wiring_pct": 2, "age_years": 10,
        "soiling_pct": [3] * 11 + [6],
        "shades": {"old_tree": {"from_deg": 90, "to_deg": 120, "height_deg": 30}},
    },
    "arrays.wall": {"power_wp": 100, "tilt_deg": 0, "azimuth_deg": 180, "tilt_by_date": {"04-01": 20, "10-01": 70}},
    "chargers": {
        "engine": {
            "kind": "alternator", "charger_a": 30, "label_a": 90, "hours_per_day": 2, "chance_of_use_pct": 30,
            "months": [1, 2],
        },
        "quay": {"kind": "shore", "charger_a": 10, "stays": {"easter": {"first": "04-02", "last": "04-06"}}},
    },
    "occupancy.unattended": {"start_months": [1, 7], "longest_days": 30, "probability_pct": 90},
    "occupancy.saving": {"below_soc_pct": 50},
    "itinerary.north": {
        "name": "A fjord", "first": "06-01", "last": "08-31", "latitude_deg": 60, "longitude_deg": 7,
    },
}  # fmt: skip


@pytest.fixture
def results(make_results):
    """Results of the study above, with tables made by hand."""
    made = make_results(np.zeros(50, int))
    study = study_from(spoilt(PLANT))
    return replace(made, study=study, folder=made.figures)


def test_the_plant_in_words():
    """Every key that was given is told; what the general loss stands for shrinks with those that are named."""
    said = "\n".join(equipment.items(study_from(spoilt(PLANT))))
    for words in (
        "level, turning with its mount",
        "10 % is taken off for all other losses; also 2 % in the cables in full sun",
        "5 % for an age of 10 years, 3 to 6 % for dirt by the month and the shadow of “old tree”",
        "sloped by hand through the year (20° from 1 April, 70° from 1 October) facing south",
        "(90 A on its label) through a DC-DC charger of 30 A, 2 hours on 30 % of days, in January and February",
        "a charger of 10 A on a shore line, 2 April to 6 April",
        "Under way: A fjord (1 June to 31 August); all other days at Somewhere.",
    ):
        assert words in said


def test_the_bank_its_generator_and_the_people_in_words():
    """Blocks, heater, float and reconnection; levels and hours; absences and guests; nothing without them."""
    changes = {
        "bank.block_voltage_v": 6, "bank.blocks_in_series": 2, "bank.strings_in_parallel": 2,
        "bank.heater": {"power_w": 30}, "bank.absorption_h": 3, "bank.reconnect_voltage_v": 12.8,
        "generator": {"charge_w": 500, "start_soc_pct": 35},
        "occupancy.absences": {"trip": {"first": "02-01", "last": "02-20"}},
        "occupancy.guests": {"family": {"first": "07-10", "last": "07-24"}},
    }  # fmt: skip
    study = study_from(spoilt(changes))
    said = "\n".join([*equipment.items(study), *equipment.bank_parts(study.bank)])
    for words in (
        "blocks of 6 V, 2 in series, 2 such strings in parallel",
        "A heating pad of 30 W holds it at 5 °C",
        "After 3 hours at the charging voltage",
        "come back at 40 % of charge, or once the voltage reaches 12.8 V",
        "Generator: gives 500 W at the bank; it starts at 35 % of charge",
        "stops at 80 %, between 08:00 and 20:00",
        "Nobody is there: 1 February to 20 February (“Trip”).",
        "Guests: 10 July to 24 July (“Family”).",
    ):
        assert words in said
    assert not [*equipment.bank_parts(study_from(spoilt({})).bank)]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "People: no absences and no guests"),
        ({"occupancy.at_home": "Fri-Sun"}, "People are there only on Friday, Saturday and Sunday."),
        (
            {"occupancy.at_home": "weekends", "loads.lamp.when": "home"},
            "Used only while people are there: “Lamp”.",
        ),
        (
            {"occupancy.stays": {"summer": {"first": "07-01", "last": "07-20"}}},
            "People are there only from 1 July to 20 July (“Summer”).",
        ),
        (
            {
                "occupancy.at_home": "weekends",
                "occupancy.stays": {"summer": {"first": "07-01", "last": "07-20"}},
            },
            "People are there only on weekends and from 1 July to 20 July (“Summer”).",
        ),
    ],
)
def test_when_people_are_there_is_said(changes, words):
    said = "\n".join(equipment.items(study_from(spoilt(changes))))
    assert words in said and "None" not in said


def test_an_array_with_a_controller_of_its_own():
    """Tracking, or joined to the bank."""
    for kind, words in (("mppt", "works by MPPT"), ("pwm", "works by PWM")):
        said = "\n".join(equipment.items(study_from(spoilt({"arrays.roof.own_controller": {"kind": kind}}))))
        assert f"“Roof” has a controller of its own that {words}." in said


def test_a_bare_array_reads_as_before():
    """The sentence of a study that gives none of the newer keys."""
    array, controller, *_ = equipment.items(study_from(spoilt({})))
    assert array.endswith(
        "sloped 45° facing south, on an open rack; 10 % is taken off for wiring, dirt and shade."
    )
    assert controller.startswith("MPPT charge controller")


def sources(results):
    """A table of two arrays and an engine: 30, 10 and 10 kWh a month."""
    rows = [
        {"month": m, "source": name, "kind": kind, "taken_kwh": kwh, "hours": 5.0}
        for name, kind, kwh in (
            ("roof", "array", 30.0),
            ("wall", "array", 10.0),
            ("engine", "alternator", 10.0),
        )
        for m in results.calendar.month_order + 1
    ]
    return pd.DataFrame(rows)


def test_the_sources_are_added_up(results, tmp_path):
    """480 of 600 kWh are the sun's: 80 % (arithmetic); one source alone needs no section."""
    sources(results).to_csv(tmp_path / "energy_sources.csv", index=False)
    hours = {"value": 60.0, "place_low": 54.0, "place_high": 66.0, "year_low": 40.0, "year_high": 80.0}
    given = replace(results, folder=tmp_path, summary=results.summary | {"alternator_h": hours})
    assert energy_sources.there(given)
    section = energy_sources.section(given)
    assert 80 in numbers(section.heading)
    assert numbers(section.blocks[1].text)[:5] == [60, 54, 66, 40, 80]
    table = section.blocks[-1]
    assert table.rows[-1][-1] == "600" and len(table.header) == len(table.rows[0]) == len(table.align) == 14
    sources(results).query("source == 'roof'").to_csv(tmp_path / "energy_sources.csv", index=False)
    assert not energy_sources.there(given)


def unattended(days_in_january):
    """A table in which nothing goes dark for so many days from January, and for 30 from July."""
    days = np.arange(1, 31)
    return pd.concat(
        pd.DataFrame(
            {
                "start_month": month,
                "days": days,
                "probability": np.where(days <= held, 1.0, 0.5),
                "low": np.where(days <= held - 2, 0.95, 0.4),
                "high": 1.0,
                "n": 50,
            }
        )
        for month, held in ((7, 30), (1, days_in_january))
    )


@pytest.mark.parametrize(
    "held, heading",
    [(12, "You may leave for twelve days, even on 1 January"), (0, "not even one day is safe with 90 %")],
)
def test_how_long_they_may_leave(results, tmp_path, held, heading):
    """The worst start month gives the heading; every month stands in the table."""
    unattended(held).to_csv(tmp_path / "unattended.csv", index=False)
    given = replace(results, folder=tmp_path)
    assert occupancy.unattended_asked(given) and not occupancy.unattended_asked(results)
    section = occupancy.unattended(given)
    assert heading in section.heading
    rows = {row[0]: row[1:] for row in section.blocks[-1].rows}
    assert rows["1 July"][:2] == ["30 or more", "28"] and rows["1 January"][0] == f"{held}"


def test_both_results_stand_side_by_side(results, tmp_path):
    """Without and with saving; no claim where the difference may be luck."""
    rows = [
        (name, 4.0, 1.0, -3.0, -4.0, -2.0, "real")
        for name in (
            "short_nights", "lolh", "eue_kwh", "max_depth_true_pct", "demand_kwh",
            "saving_days",
        )
    ]  # fmt: skip
    rows += [
        (name, 0.0, value, value, low, high, "real")
        for name, value, low, high in (
            ("needless_days", 2.0, 1.5, 2.5), ("needless_kwh", 0.7, 0.6, 0.8), ("late_days", 0.0, 0.0, 0.1),
            ("late_beyond_planning_pct", 0.0, 0.0, 0.1),
        )
    ]  # fmt: skip
    rows.append(("unsettled_days", 0.0, 0.0, 0.0, np.nan, np.nan, ""))
    names = ["statistic", "without", "with", "difference", "low", "high", "verdict"]
    table = pd.DataFrame(rows, columns=names)
    table.to_csv(tmp_path / "saving.csv", index=False)
    given = replace(results, folder=tmp_path)
    assert occupancy.saving_asked(given)
    assert numbers(occupancy.saving(given).heading) == [1, 4]
    assert list(map(float, occupancy.saving(given).blocks[-1].rows[0][1:3])) == [4, 1]
    said = occupancy.saving(given).blocks[0].text
    assert {2.0, 1.5, 2.5} <= set(numbers(said))
    table.loc[0, "verdict"] = "not told apart"
    table.to_csv(tmp_path / "saving.csv", index=False)
    assert numbers(occupancy.saving(given).heading) == []


def test_what_hangs_on_a_reading(results, tmp_path):
    """Early and late cut-outs in words, each with its interval; nothing is claimed of a reading that never misled."""
    changes = PLANT | {"monitors": {"panel": {"kind": "shunt", "disconnect": {"below_soc_pct": 40}}}}
    given = replace(results, study=study_from(spoilt(changes)), folder=tmp_path)
    values = {
        "disconnects": (0.0, 3.0, 2.5, -0.5, -0.8, -0.2), "lolh": (20.0, 90.0, 80.0, -10.0, -15.0, -5.0),
        "eue_kwh": (2.0, 3.6, 3.5, -0.1, -0.2, -0.05), "max_depth_true_pct": (70.0, 58.0, 59.0, 1.0, 0.5, 1.5),
        "early_disconnects": (0.0, 0.0, 2.0, 2.0, 1.5, 2.5), "early_lost_kwh": (0.0, 0.0, 0.14, 0.14, 0.1, 0.2),
        "late_disconnects": (0.0, 0.0, 0.05, 0.05, 0.01, 0.2), "late_h": (0.0, 0.0, 1.0, 1.0, 0.1, 3.0),
        "late_beyond_planning_pct": (0.0, 0.0, 0.0, 0.0, 0.0, 0.04),
        "unsettled_h": (0.0, 0.0, 0.0, np.nan, np.nan, np.nan),
    }  # fmt: skip
    names = ["without", "by_truth", "by_reading", "difference", "low", "high"]
    table = pd.DataFrame(
        [("panel", name, *row) for name, row in values.items()], columns=["monitor", "statistic", *names]
    )
    table.to_csv(tmp_path / "disconnects.csv", index=False)
    made = disconnects.section(given)
    assert numbers(made.heading) == [2]
    said = " ".join(block.text for block in made.blocks[:-1])
    assert {40, 55, 2.0, 1.5, 2.5, 0.14, 0.10, 0.20} <= set(numbers(said))
    assert made.blocks[-1].rows[0][1:] == ["0", "3.0", "2.5", "\u22120.8 to \u22120.2"]
    table.loc[table["statistic"].str.startswith(("early", "late")), names] = 0.0
    table.to_csv(tmp_path / "disconnects.csv", index=False)
    assert numbers(disconnects.section(given).heading) == []


def test_snow_is_told_array_by_array(results, tmp_path):
    """Nine days under snow in each of two months on one of two arrays: 18; 4 of 60 kWh lost there, 4 of 90 in all."""
    rows = [
        {"array": name, "month": m, "snowfalls": falls, "covered_days": 9.0 * falls / 4, "clear_kwh": clear,
         "lost_kwh": falls, "n": 64}
        for name, clear, dark in (("roof", 60.0, 4.0), ("wall", 30.0, 0.0))
        for m in results.calendar.month_order + 1
        for falls in (dark if m in (1, 2) else 0.0,)
    ]  # fmt: skip
    pd.DataFrame(rows).to_csv(tmp_path / "snow.csv", index=False)
    given = replace(results, folder=tmp_path)
    assert snow.there(given) and not snow.there(replace(results, folder=tmp_path / "none"))
    section = snow.section(given)
    assert numbers(section.heading) == [18] and "“Roof”" in section.heading
    assert 4.4 in numbers(section.blocks[0].text) and "January" in section.blocks[0].text
    roof, wall = section.blocks[-1].rows
    assert roof == ["Roof", "0°", "slides off by itself", "8", "18", "8.0", "January, 6.7 %"]
    assert wall[1:] == ["20° to 70°", "slides off by itself", "0", "0", "0.0", "–"]
    pd.DataFrame(rows).assign(snowfalls=0.001).to_csv(tmp_path / "snow.csv", index=False)
    assert not snow.there(given)
