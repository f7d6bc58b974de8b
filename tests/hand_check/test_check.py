import json
from pathlib import Path

import numpy as np
import pytest

from darkspell.climate import site_climate
from darkspell.core.constants import CHEMISTRIES, constant
from darkspell.hand_check import findings, hand_check
from darkspell.hand_check.terminal_report import data, page
from darkspell.study import load_study, study_from
from study.example import spoilt

CONFIG = Path(__file__).parents[2] / "config"
# A study that nothing is to be said against: a large array, a large bank, small loads, a warm place.
CALM = {
    "site.latitude_deg": 40.0,
    "climate.clearness_index": [0.55] * 12,
    "climate.temp_air_c": [15.0] * 12,
    "arrays.roof.power_wp": 300,
    "bank.capacity_ah": 200,
}

ENGINE = {
    "kind": "alternator", "charger_a": 30, "label_a": 90, "hours_per_day": 1, "chance_of_use_pct": 10,
}  # fmt: skip


def checked(changes):
    study = study_from(spoilt({**CALM, **changes}))
    check = hand_check(study, site_climate(study))
    return study, check, findings(study, check)


def test_only_flooded_acid_stratifies():
    """Absorbed and gelled acid cannot."""
    for chemistry in ("flooded", "agm", "gel"):
        found = checked({"arrays.roof.power_wp": 100, "bank.chemistry": chemistry})[2]
        text = next(one.text for one in found if "sulphate" in one.text)
        assert ("stratifies" in text) == (chemistry == "flooded")


def test_the_array_proposed_counts_the_alternator():
    """With half of the loads' charge from the engine, less array is needed than without, by that much."""
    small = {"arrays.roof.power_wp": 12, "bank.capacity_ah": 60}
    engine = {"kind": "alternator", "charger_a": 10, "label_a": 60, "hours_per_day": 0.1}
    study, check, alone = checked(small)
    _, with_engine, helped = checked(small | {"chargers": {"engine": engine}})

    def proposed(found):
        cure = next(one.cure for one in found if one.key == "arrays")
        return float(cure.split(" Wp")[0].removeprefix("About "))

    assert proposed(helped) < proposed(alone)
    month = check.month
    share = float(with_engine.charger_ah["engine"][month]) / float(check.load_ah[month])
    wanted = 12 * (constant("hand_check", "comfortable_ratio") - share) / float(check.ratio[month])
    assert proposed(helped) == pytest.approx(wanted, rel=0.1)  # rounded up to two digits


def test_a_calm_study_has_no_warnings():
    assert checked({})[2] == []


@pytest.mark.parametrize(
    ("changes", "key", "words"),
    [
        ({"arrays.roof.power_wp": 12, "bank.capacity_ah": 60}, "arrays", ("yields less than", "Wp")),
        ({"arrays.roof.power_wp": 32.3, "bank.capacity_ah": 60}, "arrays", ("little is left over", "Wp")),
        ({"bank.capacity_ah": 30, "arrays.roof.power_wp": 120}, "bank.capacity_ah", ("rule of thumb", "Ah")),
        (
            {"arrays.roof.power_wp": 2000},
            "controller.current_limit_a",
            ("at most", "60 A", "current_limit_a"),
        ),
        ({"arrays.roof.power_wp": 100}, "bank.capacity_ah", ("the plates sulphate", "10.0 A")),
        (
            {"loads.lamp.watts": 1000, "loads.lamp.hours_per_day": 0.05},
            "bank.cutoff_voltage_v",
            ("cut-off", "1005 W"),
        ),
        (
            {
                "controller.input_voltage_max_v": 50,
                "site.record_low_temperature_c": -20,
                "arrays.roof.module_voc_v": 22,
                "arrays.roof.modules_in_series": 3,
            },
            "arrays.roof.modules_in_series",
            ("74 V", "50 V", "At most 2 in series"),
        ),
        (
            {"controller.input_voltage_max_v": 50, "arrays.roof.module_voc_v": 22},
            "site.record_low_temperature_c",
            ("lowest temperature",),
        ),
        (
            {"bank.chemistry": "lfp", "climate.temp_air_c": [2, 4, 8, 11, 15, 18, 20, 20, 15, 10, 6, 3]},
            "bank.location",
            ("December, January and February", "0 degC", "indoors"),
        ),
        (
            {"loads.lamp.bypasses_shunt": True},
            "loads.lamp.bypasses_shunt",
            ("40 Wh/day", "39.2 %", "shunt"),
        ),
        (
            {"bank.state_of_health_pct": 80},
            "monitors.shunt.capacity_set_ah",
            ("173 Ah",),
        ),  # 80 % of 200 Ah, and AGM gives 1.08 of its label slowly
        (
            {"bank.chemistry": "lfp", "monitors": {"s": {"kind": "shunt"}, "g": {"kind": "gauge"}}},
            "monitors.g.kind",
            ("mV", "shunt"),
        ),
        (
            {
                "loads.lamp.watts": 400,
                "loads.lamp.hours_per_day": 0.1,
                "loads.lamp.supply": "ac",
                "inverter": {"power_w": 300, "surge_w": 600, "no_load_w": 1},
            },
            "inverter.power_w",
            ("400 W", "300 W", "switches off"),
        ),
        (
            {
                "loads.lamp.peak_watts": 700,
                "loads.lamp.supply": "ac",
                "inverter": {"power_w": 300, "surge_w": 600, "no_load_w": 1},
            },
            "inverter.surge_w",
            ("700 W", "600 W", "soft start"),
        ),
        (
            {"loads.lamp.supply": "ac", "inverter": {"power_w": 300, "no_load_w": 6}},
            "inverter.no_load_w",
            ("144 Wh a day", "always_on: false"),
        ),
        (
            {"chargers.engine": ENGINE | {"label_a": 50}},
            "chargers.engine.charger_a",
            ("50 %", "At most 25 A"),
        ),
        (
            {"chargers.engine": ENGINE | {"charger_a": 80, "label_a": 200}},
            "chargers.engine.charger_a",
            ("60 A at most", "larger bank"),
        ),
        (
            {"arrays.roof.module_voc_v": 19},
            "arrays.roof.modules_in_series",
            ("65 degC", "One more module in series"),
        ),
        (
            {"arrays.roof.tilt_deg": 20, "climate.temp_air_c": [-9, -7, -2, 4, 9, 13, 15, 14, 10, 4, -3, -7]},
            "arrays.roof.tilt_deg",
            ("-9 degC", "60 degrees", "snow: swept"),
        ),
        ({"arrays.roof.power_wp": 0.3}, "arrays.roof.power_wp", ("kWp", "Give 300")),
        ({"loads.lamp.watts": 0.01}, "loads.lamp.watts", ("kW", "Give 10")),
        (
            {"deferrable.shed_below_soc_pct": 0.3},
            "deferrable.shed_below_soc_pct",
            ("share of 1", "Give 30"),
        ),
        (
            {"occupancy.absences": {"away": {"first": "11-01", "last": "11-30"}}},
            "occupancy.absences",
            ("when: home",),
        ),
        ({"loads.lamp.when": "guests"}, "loads.lamp.when", ("has none", "occupancy.guests")),
        (  # AGM at -10 degC (a mean of -5, 5 K colder outdoors): 1 - 0.35 - 0.094 = 56 % come out
            {"climate.temp_air_c": [-5.0] * 12, "generator": {"charge_w": 300, "start_soc_pct": 40}},
            "generator.start_soc_pct",
            ("lets out 56 %", "44 %", "54 %"),
        ),
        ({"bank.reconnect_voltage_v": 15.2}, "bank.reconnect_voltage_v", ("14.6 V at most", "alone")),
        (  # 14.4 V and 0.024 V/K: 14.64 V at 15 degC
            {"monitors": {"s": {"kind": "shunt", "full_voltage_v": 14.7}}},
            "monitors.s.full_voltage_v",
            ("never", "14.6 V"),
        ),
        (
            {
                "monitors": {"s": {"kind": "shunt", "full_voltage_v": 14.4}},
                "climate.temp_air_c": [5, 5, 10, 10, 15, 20, 24, 26, 20, 15, 10, 5],
            },
            "monitors.s.full_voltage_v",
            ("not in August", "14.4 V"),
        ),
        (
            {"loads.lamp.when": "home", "loads.radio.when": "home", "occupancy.unattended": {}},
            "occupancy.unattended",
            ("nothing runs", "when: any"),
        ),
    ],
)
def test_each_warning_names_key_value_and_cure(changes, key, words):
    _, _, found = checked(changes)
    (one,) = (finding for finding in found if finding.key == key)
    assert one.text and one.cure and one.value is not None
    for word in words:
        assert word in f"{one.text} {one.cure}"


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_every_chemistry_is_worked_by_hand(chemistry):
    """On a cold site: reserves, a bank by hand, and a page; lithium and sodium are warned of, heated ones not."""
    changes = {
        "bank.chemistry": chemistry,
        "system.nominal_voltage_v": 24,
        "climate.temp_air_c": [-12.0] * 12,
    }
    study, check, found = checked(changes)
    assert np.all(check.reserve_limit > check.reserve_plan) and check.bank_ah[0] > 0
    assert page(study, check, found, "a table")
    cold = [one for one in found if one.key == "bank.location" and "too cold to be charged" in one.text]
    assert bool(cold) == (chemistry in ("lfp", "nmc", "naion"))
    _, heated, found = checked(changes | {"bank.heater": {"power_w": 40, "setpoint_c": 8}})
    assert heated.temp_bank == pytest.approx(np.full(12, 8.0)) and not any(
        "too cold" in one.text for one in found
    )
    assert heated.load_wh["bank heater"] == pytest.approx(np.full(12, 40 * 24.0))


def test_a_generator_is_named_where_the_array_falls_short():
    """Not that the bank only runs down."""
    _, _, found = checked({"arrays.roof.power_wp": 12, "generator": {"charge_w": 300}})
    (one,) = (finding for finding in found if finding.key == "arrays")
    assert "the generator must" in one.text


def test_a_charger_that_is_not_enough_is_counted_in_what_falls_short():
    """2 A for half an hour a day is 1 Ah, and a 12 Wp array gives little more of 8.25 Ah."""
    few = {"kind": "alternator", "charger_a": 2, "label_a": 30, "hours_per_day": 0.5}
    _, _, found = checked({"arrays.roof.power_wp": 12, "chargers": {"engine": few}})
    (one,) = (finding for finding in found if finding.key == "arrays")
    assert "array and chargers together yield less" in one.text


def test_the_page_explains_the_standing_draw():
    study, check, found = checked({})
    assert "standing draw: monitor, controller and protection" in page(study, check, found, "a table")


def test_the_design_month_has_the_lowest_ratio_not_the_least_sun():
    months = [6, 7, 8]
    _, check, _ = checked({"loads.radio.months": months, "loads.radio.watts": 60})
    assert check.month + 1 in months
    assert check.ratio[check.month] == pytest.approx(check.ratio.min())


def test_the_numbers_hang_together():
    study, check, _ = checked({})
    total = sum(check.load_wh.values())
    # 10 W x 4 h + 5 W x 10 h + .5 W x 24 h = 102 Wh/day, at 2.06 x 6 = 12.36 V
    assert total == pytest.approx(np.full(12, 102.0))
    assert check.load_ah == pytest.approx(np.full(12, 102.0 / 12.36))
    # 200 Ah, 50 % planned, 10 K below 25 C at 1 %/K: 200 x .5 x .9 / 8.252 = 10.9 days
    assert check.reserve_plan == pytest.approx(np.full(12, 10.9), abs=0.05)
    assert check.reserve_limit == pytest.approx(check.reserve_plan * 0.8 / 0.5)
    assert study.bank.planning_depth_pct == 50


@pytest.mark.parametrize("name", ["tarn_hut", "sloop", "ridge_relay", "cruise", "lake_cabin", "bird_station"])
def test_page_and_data_say_the_same(name):
    study = load_study(CONFIG / f"{name}.yaml")
    climate = site_climate(study, study.folder)
    check = hand_check(study, climate)
    found = findings(study, check)
    text = page(study, check, found, climate.source)
    plain = json.loads(json.dumps(data(study, check, found, climate.source), allow_nan=False))
    assert text.splitlines()[0].startswith(study.site.name)
    assert plain["design_month"] in text
    assert f"{check.ratio.min():.2f} times" in text.replace("\n", " ")
    assert min(plain["array_to_load_ratio"]) == pytest.approx(check.ratio.min(), abs=5e-4)
    assert len(plain["warnings"]) == len(found)
    assert all(one["key"] in text for one in plain["warnings"])
    assert "licensed practitioner" in text and "not an electrical design" in text
    assert max(map(len, text.splitlines())) <= 102
    assert plain["months"][0] == ("July" if study.site.start_month == 7 else "January")


def test_the_page_is_plain_unless_a_terminal_asks():
    study, check, found = checked({"site.name": "A \x1b[31mred\x1b[0m place\n" * 3})
    assert "\x1b" not in page(study, check, found, "nowhere")
    assert "\x1b[1m" in page(study, check, found, "nowhere", colour=True)
    assert "[31mred" in page(study, check, found, "nowhere", colour=True)


def test_no_sun_at_all_is_said_and_no_fault():
    study, check, found = checked({"site.latitude_deg": 78.0})
    assert check.array_ah.min() == 0
    assert "never" in page(study, check, found, "nowhere")
    assert found[0].key == "arrays"
    json.dumps(data(study, check, found, "nowhere"), allow_nan=False)


def test_the_page_says_that_snow_is_left_out():
    """Where a month may freeze; not in the warm, nor where the study has no snow or sweeps it."""
    winter = {"climate.temp_air_c": [-2.0, 0.0, 4.0] + [12.0] * 8 + [1.0]}

    def told(changes):
        study, check, found = checked(changes)
        text, plain = page(study, check, found, "x"), data(study, check, found, "x")
        assert ("Snow on the arrays is left out" in text) == plain["snow_left_out"]
        return text, plain["snow_left_out"]

    text, left_out = told(winter)
    assert left_out and all(name in text for name in ("Jan", "Feb", "Mar", "Dec"))
    assert "(Dec, Jan, Feb, Mar)" in " ".join(text.split())
    assert not told({})[1] and not told(winter | {"climate.snow_days": 0})[1]
    assert not told(winter | {"arrays.roof.snow": "swept"})[1]
    assert told({"climate.snow_days": 3})[1]


def test_the_banks_largest_currents_are_those_of_its_data_sheet():
    """200 Wp give 15 A: too many for a bank that takes 5 A; a kettle of 1,000 W too many for 60 A."""
    kettle = {"watts": 1000, "hours_per_day": 0.05, "tier": "deferrable"}
    sheet = {"bank.chemistry": "lfp", "bank.charge_current_max_a": 5, "bank.discharge_current_max_a": 60}
    found = {one.key: one for one in checked(sheet | {"loads.kettle": kettle})[2]}
    assert "data sheet it takes 5 A" in found["controller.current_limit_a"].text
    assert found["bank.discharge_current_max_a"].value == 60
    assert "bank.discharge_current_max_a" not in {one.key for one in checked(sheet)[2]}
