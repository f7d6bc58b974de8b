import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from darkspell.core.errors import StudyError
from darkspell.study import Study, load_study, study_from
from darkspell.study.base import NAME_PATTERN
from pipeline.injected import FILE_NAMES
from study.example import STUDY, spoilt


def faults(mapping, folder=None):
    with pytest.raises(StudyError) as fault:
        study_from(mapping, "test", folder)
    return str(fault.value)


SERIES = {"series": {"step": "daily", "ghi_unit": "MJ/m2"}}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        # A value out of its range: key, value, unit, what is allowed, meaning.
        (
            {"loads.lamp.watts": -40},
            ("loads.lamp.watts", "-40 W", "more than 0, up to 100,000 W", "while it runs"),
        ),
        ({"bank.capacity_ah": 0}, ("bank.capacity_ah", "0 Ah", "1 to 100,000 Ah")),
        ({"site.latitude_deg": 99.5}, ("site.latitude_deg", "99.5 deg", "-80 to 80 deg")),
        ({"arrays.roof.tilt_deg": float("nan")}, ("arrays.roof.tilt_deg", "finite number")),
        ({"arrays.roof.power_wp": float("inf")}, ("arrays.roof.power_wp", "finite number")),
        ({"target": {"statistic": "lolp", "at_most": 1.5}}, ("target.at_most", "1.5", "lolp")),
        (
            {"climate.clearness_index": [0.4] * 11 + [1.2]},
            ("climate.clearness_index[12]", "1.2", "up to 0.9"),
        ),
        # A value of another kind.
        ({"loads.lamp.watts": "40 W"}, ("loads.lamp.watts", '"40 W"', "number without quotes or unit")),
        ({"loads.lamp.watts": True}, ("loads.lamp.watts", "true", "number")),
        ({"loads.lamp.count": 1.5}, ("loads.lamp.count", "1.5", "whole number")),
        ({"loads.lamp.bypasses_shunt": "no"}, ("bypasses_shunt", '"no"', "true or false")),
        ({"loads.lamp.window": [1110, "23:00"]}, ("loads.lamp.window[1]", "1110", "quotes")),
        ({"loads.lamp.window": ["18:30", "25:00"]}, ("loads.lamp.window[2]", '"25:00"', "time of day")),
        ({"loads.lamp.window": ["18:30"]}, ("loads.lamp.window", "at least 2 entries")),
        ({"loads.lamp.window": "18:30-23:00"}, ("loads.lamp.window", '["17:00", "23:00"]')),
        ({"loads.lamp.watts": "4,5"}, ("loads.lamp.watts", "with a point: 4.5")),
        ({"arrays.roof.tilt_by_date": {"x": 1}}, ("arrays.roof.tilt_by_date", "month and day", "05-31")),
        (
            {"document.texts": {"above_size": "x.md"}},
            ("document.texts.above_size", "before_, after_ or instead_"),
        ),
        ({"document.date": "31.5.2026"}, ("document.date", "2026-05-31")),
        ({"bank.chemistry": "lithium"}, ("bank.chemistry", "did you mean lfp?")),
        ({"document.title": 2026}, ("document.title", "2026", "quotes")),
        ({"document.title": "x" * 201}, ("document.title", "at most 200 characters")),
        ({"loads": [1]}, ("loads", "a list of 1", "mapping")),
        ({"bank": "agm"}, ("bank", '"agm"', "mapping")),
        # A word that is none of the known ones.
        (
            {"bank.chemistry": "lpf"},
            (
                "bank.chemistry",
                '"lpf"',
                "flooded, agm, gel, lfp, nmc, naion, nicd, nife",
                "did you mean lfp?",
            ),
        ),
        ({"system.nominal_voltage_v": 13}, ("system.nominal_voltage_v", "13 V", "12, 24, 48")),
        ({"monitors": {"m": {"kind": "shnt"}}}, ("monitors.m.kind", "did you mean shunt?")),
        # An unknown key, with the nearest known one or the place where it belongs.
        ({"loads.lamp.watt": 3}, ("loads.lamp.watt", "did you mean watts?")),
        ({"site.latitude": 3}, ("site.latitude", "did you mean latitude_deg?")),
        ({"enginge": {}}, ("enginge", "did you mean engine?")),
        ({"altitude_m": 3}, ("altitude_m", "did you mean site.altitude_m?")),
        ({"target.qqq": 3}, ("target.qqq", "known here: availability_pct, statistic, at_most")),
        (
            {"monitors": {"m": {"kind": "shunt", "offset_mA": 3}}},
            ("monitors.m.offset_mA", "did you mean offset_ma?"),
        ),
        # A key that is missing.
        ({"bank.capacity_ah": None}, ("bank.capacity_ah", "missing", "[Ah]")),
        ({"target": None}, ("target", "missing")),
        ({"loads.lamp.tier": None}, ("loads.lamp.tier", "missing", "essential, deferrable")),
        ({"loads": {}}, ("loads", "at least 1 entry")),
        ({"arrays": {}}, ("arrays", "at least 1 entry")),
        # Names that would not survive as parts of a path.
        ({"loads.a b": dict(STUDY["loads"]["lamp"])}, ("loads.a b", "letters, digits, _ and -")),
        ({"arrays.süd": dict(STUDY["arrays"]["roof"])}, ("arrays.süd", "letters, digits, _ and -")),
        # Keys that contradict each other.
        (
            {"climate.ghi_kwh_m2_day": [3] * 12},
            ("climate.clearness_index", "ghi_kwh_m2_day", "keep one of them"),
        ),
        (
            {"climate.clearness_index": None},
            ("climate.clearness_index", "ghi_kwh_m2_day, peak_sun_hours and sunshine_hours"),
        ),
        ({"climate.clearness_index": [0.4] * 11}, ("climate.clearness_index", "11 values", "twelve")),
        (
            {"climate": {"source": "atlas", "temp_air_c": [3] * 12}},
            ("climate.temp_air_c", "not read", "atlas"),
        ),
        (
            {"climate": {"source": "atlas", "years_of_means": 3}},
            ("climate.years_of_means", "not read", "atlas"),
        ),
        ({"climate": {"source": "atlas", "file": "a.epw"}}, ("climate.file", "not read", "typical_year")),
        ({"climate": {"source": "typical_year"}}, ("climate.file", "missing")),
        ({"loads.lamp.hours_per_day": 4.6}, ("loads.lamp.hours_per_day", "4.6 h", "window of 4.5 h")),
        ({"loads.lamp.duty_pct": 40}, ("loads.lamp.hours_per_day", "together with duty_pct", "keep one")),
        ({"loads.lamp.hours_per_day": None}, ("loads.lamp.hours_per_day", "missing", "duty_pct")),
        (
            {"loads.lamp.hours_per_day": None, "loads.lamp.duty_pct": 140},
            ("loads.lamp.duty_pct", "140 %", "100"),
        ),
        ({"loads.lamp.supply": "ac"}, ("inverter", "missing", "lamp", "inverter.power_w")),
        (
            {"inverter": {"power_w": 300, "no_load_w": 60}},
            ("inverter.efficiency_full_pct", "no_load_w", "60 W"),
        ),
        (
            {"inverter": {"power_w": 300, "cutoff_voltage_v": 21}},
            ("inverter.cutoff_voltage_v", "21 V", "12 V bank", "9 to 13.2 V"),
        ),
        (
            {
                "inverter": {"power_w": 300, "cutoff_voltage_v": 10.5},
                "loads.lamp.supply": "ac",
                "loads.lamp.tier": "uninterruptible",
            },
            ("inverter.cutoff_voltage_v", "lamp", "uninterruptible"),
        ),
        (
            {"bank.charge_temperature_min_c": 5, "bank.charge_temperature_full_c": 0},
            ("bank.charge_temperature_full_c", "5 degC", "raise it"),
        ),
        (
            {"inverter": {"power_w": 300, "surge_w": 200}},
            ("inverter.surge_w", "200 W", "below power_w", "raise it"),
        ),
        (
            {"loads.lamp.by_temperature": {"full_at_c": 5, "none_at_c": 5.5}},
            ("loads.lamp.by_temperature.none_at_c", "within 1 K", "move the two apart"),
        ),
        (
            {"arrays.roof.tilt_by_date": {"02-30": 10}},
            ("arrays.roof.tilt_by_date", "02-30", "no study year has"),
        ),
        ({"arrays.roof.soiling_pct": [1] * 11}, ("arrays.roof.soiling_pct", "at least 12 entries")),
        (
            {"arrays.roof.shades": {"mast": {"from_deg": 10, "to_deg": 20, "height_deg": 95}}},
            ("arrays.roof.shades.mast.height_deg", "95 deg", "up to 90"),
        ),
        (
            {"controller.start_voltage_v": 30, "arrays.roof.module_voc_v": 22},
            ("arrays.roof.modules_in_series", "22 V", "never wakes", "30 V", "more in series"),
        ),
        ({"controller.start_voltage_v": 30}, ("arrays.roof.module_voc_v", "is missing", "30 V")),
        (
            {"controller.kind": "pwm", "arrays.roof.own_controller": {"efficiency_pct": 95}},
            ("arrays.roof.own_controller", "controller.kind: mppt"),
        ),
        (
            {"arrays.roof.own_controller": {"kind": "pwm"}, "arrays.roof.module_voc_v": 40},
            ("arrays.roof.modules_in_series", "40 V open-circuit", "PWM"),
        ),
        (
            {
                "occupancy.absences.spring": {"first": "03-01", "last": "04-10"},
                "occupancy.absences.easter": {"first": "04-10", "last": "04-14"},
            },
            ("occupancy.absences.easter", "shares days with the absence spring", "part the dates"),
        ),
        (
            {
                "occupancy.absences.winter": {"first": "12-01", "last": "02-28"},
                "occupancy.guests.carnival": {"first": "02-20", "last": "02-24"},
            },
            ("occupancy.guests.carnival", "shares days with the absence winter"),
        ),
        (
            {
                "itinerary.north": {
                    "name": "N",
                    "first": "05-01",
                    "last": "09-30",
                    "latitude_deg": 58,
                    "longitude_deg": 8,
                },
                "itinerary.west": {
                    "name": "W",
                    "first": "09-30",
                    "last": "10-20",
                    "latitude_deg": 50,
                    "longitude_deg": -4,
                },
            },
            ("itinerary.west", "shares days with north", "part the dates"),
        ),
        (
            {
                "itinerary.north": {
                    "name": "N",
                    "first": "05-01",
                    "last": "09-30",
                    "latitude_deg": 58,
                    "longitude_deg": 8,
                    "climate": {"source": "typical_year", "file": "north.epw"},
                }
            },
            ("itinerary.north.climate.file", "north.epw", "does not exist"),
        ),
        (
            {"occupancy.absences.a": {"first": "06-31", "last": "07-02"}},
            ("occupancy.absences.a.first", "06-31"),
        ),
        (
            {
                "chargers.engine": {
                    "kind": "alternator",
                    "charger_a": 30,
                    "label_a": 90,
                    "chance_of_use_pct": 20,
                }
            },
            ("chargers.engine.hours_per_day", "is missing"),
        ),
        ({"chargers.engine": {"kind": "dynamo"}}, ("chargers.engine", "alternator", "shore", "turbine")),
        (
            {"chargers.creek": {"kind": "turbine", "file": "creek.csv"}},
            ("chargers.creek.file", "creek.csv", "does not exist"),
        ),
        (
            {"measured_loads.lamp": {"file": "a.csv", "tier": "essential"}},
            ("measured_loads.lamp", "name of a load too", "rename"),
        ),
        ({"loads.lamp.window": ["22:00", "22:00"]}, ("loads.lamp.window", "no length")),
        ({"loads.lamp.peak_watts": 5}, ("loads.lamp.peak_watts", "5 W", "watts (10 W)")),
        ({"loads.lamp.months": [5, 3]}, ("loads.lamp.months", "ascend")),
        ({"loads.lamp.months": [0]}, ("loads.lamp.months[1]", "0", "1 to 12")),
        ({"deferrable": {"shed_below_soc_pct": 70}}, ("deferrable.resume_above_soc_pct", "65 %", "70 %")),
        ({"bank.planning_depth_pct": 90}, ("bank.planning_depth_pct", "90 %", "depth_limit_pct (80 %)")),
        ({"bank.reconnect_soc_pct": 15}, ("bank.reconnect_soc_pct", "15 %", "20 %")),
        ({"bank.reconnect_voltage_v": 9}, ("bank.reconnect_voltage_v", "9 V", "raise it")),
        (
            {"generator": {"charge_w": 500, "window": ["08:00", "08:00"]}},
            ("generator.window", "08:00", '"00:00" and "24:00"'),
        ),
        (
            {"bank.state_of_health_pct": 80, "ageing": {"members": 50}},
            ("ageing.end_of_life_pct", "80 %", "bank.state_of_health_pct", "lower it"),
        ),
        ({"bank.cutoff_voltage_v": 22}, ("bank.cutoff_voltage_v", "22 V", "12 V bank", "9 to 13.2 V")),
        ({"bank.indoor_min_c": 30}, ("bank.indoor_max_c", "25 degC", "30 degC")),
        ({"monitors": {"g": {"kind": "gauge"}}}, ("monitors", "no shunt")),
        (
            {"sizing.prices.bank_per_ah_by_chemistry": {"lead": 2}},
            ("sizing.prices.bank_per_ah_by_chemistry.lead", "no chemistry", "agm", "lfp"),
        ),
        (
            {"sizing.prices.bank_per_ah_by_chemistry": {"lfp": -1}},
            ("sizing.prices.bank_per_ah_by_chemistry.lfp", "-1 currency/Ah", "0 to 1,000,000"),
        ),
        ({"sizing.array_wp": [200, 100]}, ("sizing.array_wp", "ascend")),
        ({"sizing.array_wp": {"from": 2, "to": 1, "steps": 3}}, ("sizing.array_wp", "from below to")),
        ({"sizing.array_wp": {"from": 2, "to": 1}}, ("sizing.array_wp", "from, to and steps")),
        (
            {"sizing.array_wp": {"from": 1, "to": 900, "steps": 200}, "sizing.bank_ah": [*range(1, 101)]},
            ("sizing.bank_ah", "20000 designs", "5000"),
        ),
        # Strings that a PWM controller cannot use.
        (
            {"controller.kind": "pwm", "arrays.roof.module_voc_v": 40},
            ("arrays.roof.modules_in_series", "40 V", "18 to 27.6 V", "mppt"),
        ),
        (
            {"controller.kind": "pwm", "arrays.roof.modules_in_series": 2},
            ("modules_in_series", "too many", "36 cells"),
        ),
        # Monthly values in another unit: one message for all twelve.
        (
            {"climate": {"source": "monthly", "ghi_kwh_m2_day": [4.0, 9.0, 22.5] + [10.0] * 9}},
            ("ghi_kwh_m2_day", "22.5", "divide MJ/m2 a day by 3.6"),
        ),
        (
            {"climate": {"source": "monthly", "clearness_index": [45] * 12}},
            ("clearness_index", "45", "divide by 100"),
        ),
        # What-ifs: named, with their own faults.
        (
            {"whatifs": {"big": {"bank.capacity": 3}}},
            ("whatifs.big", "bank.capacity", "did you mean capacity_ah?"),
        ),
        ({"whatifs": {"big": {"bank.capacity_ah": -3}}}, ("whatifs.big", "bank.capacity_ah", "-3 Ah")),
        ({"whatifs": {"a": {"loads.kettle.watts": 3}}}, ("whatifs.a", "no kettle", "lamp, radio")),
        ({"whatifs": {"a": {"loads.kettle": None}}}, ("whatifs.a", "nothing to remove", "lamp, radio")),
        ({"whatifs": {"a": {"arrays.roof": None}}}, ("whatifs.a", "arrays", "at least 1 entry")),
        ({"whatifs": {"a": {"engine.seed": 3}}}, ("whatifs.a", "not engine")),
        ({"whatifs": {"a": {}}}, ("whatifs.a", "at least 1 entry")),
        (
            {"whatifs": {"a": {"loads.lamp.hours_per_day": 5}}},
            ("whatifs.a", "loads.lamp.hours_per_day", "5 h"),
        ),
        ({"whatifs": {"a": {"short_night_floor_wh.x": 5}}}, ("whatifs.a", "unknown key")),
    ],
)
def test_one_fault_is_told_with_key_value_and_cure(changes, words):
    message = faults(spoilt(changes))
    assert message.count("\n") == 0
    for word in words:
        assert word in message


def test_all_faults_at_once_each_on_a_line():
    message = faults(
        spoilt(
            {
                "site.latitude_deg": 100,
                "bank.chemistry": "zebra",
                "loads.lamp.watts": -1,
                "loads.lamp.hours_per_day": 5,
                "arrays.roof.tilt": 3,
                "whatifs": {"a": {"loads.radio.watts": 0}},
            }
        )
    )
    head, *lines = message.splitlines()
    assert head == "test: 6 faults"
    keys = [line.removeprefix("  - ").partition(": ")[0] for line in lines]
    assert keys == [
        "site.latitude_deg", "arrays.roof.tilt", "bank.chemistry", "loads.lamp.watts",
        "loads.lamp.hours_per_day",
        "whatifs.a",
    ]  # fmt: skip


def test_weather_files_are_looked_for(tmp_path):
    climate = {"source": "typical_year", "file": "here.epw"}
    assert "does not exist" in faults(spoilt({"climate": climate}), tmp_path)
    (tmp_path / "here.epw").write_text("x")
    assert study_from(spoilt({"climate": climate}), folder=tmp_path).climate.file == "here.epw"
    for name, word in (("pvlib:12839.tm3", "pvlib:12839.tm2"), ("pvlib:../x", "carries")):
        assert word in faults(spoilt({"climate": {**climate, "file": name}}), tmp_path)


@pytest.mark.parametrize(
    "name",
    [
        "a b.yaml",
        "ä.yaml",
        "validation.yaml",
        "options.yaml",
        "Options.yaml",
        ".yaml",
        "-x.yaml",
        "x" * 70 + ".yaml",
        *(
            name.replace(".csv", ".yaml")
            for name in FILE_NAMES
            if not re.fullmatch(NAME_PATTERN, name.removesuffix(".csv"))
        ),
    ],
)
def test_a_file_name_that_cannot_name_results_is_refused(tmp_path, name):
    with pytest.raises(StudyError, match="file's name|another name|is a folder"):
        load_study(tmp_path / name)


@pytest.mark.parametrize("text", ["", "just words", "- 1\n- 2", "12", "~"])
def test_a_file_without_keys_is_refused(tmp_path, text):
    path = tmp_path / "empty.yaml"
    path.write_text(text)
    with pytest.raises(StudyError, match="has no keys"):
        load_study(path)


def test_texts_are_data_of_any_characters():
    title = "<b>&\"'{{ x }} \u202e $(ls) ; DROP TABLE 雪\n"
    assert study_from(spoilt({"document.title": title})).document.title == title


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=5,
)
KEYS = st.sampled_from(
    [*STUDY, "whatifs", "monitors", "engine", "deferrable", "load_uncertainty_pct", "other"]
)
WHATIFS = st.dictionaries(
    st.sampled_from(
        ["bank.capacity_ah", "loads.lamp", "loads.lamp.watts", "bank", "whatifs", "", "a..b", "monitors.x"]
    ),
    VALUES,
    max_size=3,
)


@settings(max_examples=200, deadline=None)
@given(st.dictionaries(KEYS, VALUES, max_size=4), st.none() | WHATIFS)
def test_any_mapping_is_a_study_or_a_study_error(changes, whatif):
    mapping = {**STUDY, **changes}
    if whatif is not None:
        mapping["whatifs"] = {"w": whatif}
    try:
        assert isinstance(study_from(mapping), Study)
    except StudyError as fault:
        assert str(fault)


@settings(max_examples=100, deadline=None)
@given(st.sampled_from([key for key in STUDY if key != "document"]), st.data())
def test_any_value_at_any_key_is_taken_or_refused(section, data):
    key = data.draw(st.sampled_from(sorted(STUDY[section])))
    try:
        assert isinstance(study_from(spoilt({f"{section}.{key}": data.draw(VALUES) or 0})), Study)
    except StudyError as fault:
        assert section in str(fault)


def test_a_worn_bank_may_be_tried_beside_the_course_of_its_life():
    """What is refused of the study itself is none of a what-if's faults."""
    study_from(
        spoilt({"ageing": {"members": 50}, "whatifs": {"worn": {"bank.state_of_health_pct": 80}}}), "test"
    )
