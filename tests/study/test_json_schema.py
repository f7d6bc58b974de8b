"""The JSON Schema against the studies of config/, typical mistakes, and the reader itself."""

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from darkspell.cli.main import main
from darkspell.study.base import Section
from darkspell.study.json_schema import ALSO, schema
from darkspell.study.key_tree import every_key
from darkspell.study.yaml_reader import read_file
from study.example import spoilt

CONFIG = Path(__file__).parents[2] / "config"


@pytest.fixture(scope="module")
def judge():
    Draft202012Validator.check_schema(schema())
    return Draft202012Validator(schema())


@pytest.mark.parametrize("path", sorted(CONFIG.glob("*.yaml")), ids=lambda path: path.stem)
def test_every_study_is_valid(judge, path):
    assert [error.message for error in judge.iter_errors(read_file(path))] == []


@pytest.mark.parametrize(
    "changes",
    [
        {"bank.capacity_ah": "300"}, {"bank.capacity_ah": -1}, {"bank.capacity": 300}, {"bank": None},
        {"bank.chemistry": "lithium"}, {"site.latitude_deg": 95}, {"loads.lamp.tier": "vital"},
        {"loads.lamp.window": "18:30"}, {"arrays.roof.tilt_deg": 91}, {"arrays.my roof": {"power_wp": 3}},
        {"bank.chemistry": None}, {"sizing.array_wp": {"from": 1, "to": 2}}, {"engine.members": 1.5},
        {"monitors": {"a": {"kind": "dial"}}}, {"bank.capacity_ah": True}, {"roof": {}}, {"bank.x.y": 1},
        {"sizing.prices.bank_per_ah_by_chemistry": {"lead": 2}},
    ],
    ids=lambda changes: next(iter(changes)),
)  # fmt: skip
def test_a_mistake_is_refused(judge, changes):
    assert judge.is_valid(spoilt({}))
    assert not judge.is_valid(spoilt(changes))


@pytest.mark.parametrize(
    "changes",
    [
        {"arrays.roof.azimuth_deg": "south"}, {"sizing.bank_ah": {"from": 1, "to": 9, "steps": 3}},
        {"arrays.roof.loss_pct": 12}, {"whatifs": {"a": {"loads.radio": None}}},
    ],
    ids=lambda changes: next(iter(changes)),
)  # fmt: skip
def test_other_forms_of_a_key_are_taken(judge, changes):
    assert judge.is_valid(spoilt(changes))


def test_differences_need_not_be_whole(judge):
    assert judge.is_valid({"extends": "a.yaml", "loads": {"radio": {"watts": 3}}, "bank.capacity_ah": 3})
    assert judge.is_valid({"extends": "a.yaml", "cross": {"site": {"a": {"site.latitude_deg": 3}}}})
    assert not judge.is_valid({"extends": "a.yaml", "loads": {"radio": {"wats": 3}}})
    assert not judge.is_valid({"loads": {"radio": {"watts": 3}}})


def test_each_form_that_a_validator_takes_first_is_in_the_schema():
    """Keys whose value is changed before the model sees it: the schema of the model does not know their forms."""
    # These refuse with a better message, or work one key out from another; they take no other form.
    only_judged = {
        "clearness_index", "ghi_kwh_m2_day", "peak_sun_hours", "sunshine_hours", "watts", "hours_per_day", "loads",
        "statistic", "at_most", "power_wp", "bank_per_ah_by_chemistry",
    }  # fmt: skip
    models = {model for _, model, _ in every_key() if issubclass(model, Section)}
    first = {
        name
        for model in models
        for one in model.__pydantic_decorators__.field_validators.values()
        if one.info.mode == "before"
        for name in one.info.fields
    }
    assert first - only_judged <= set(ALSO)


def test_the_command_writes_it(tmp_path, capsys):
    assert main(["schema"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert main(["schema", str(tmp_path / "study.json")]) == 0
    assert json.loads((tmp_path / "study.json").read_text()) == printed
    capacity = printed["$defs"]["Bank"]["properties"]["capacity_ah"]
    assert capacity["description"].endswith("[Ah]") and capacity["maximum"] == 100_000
