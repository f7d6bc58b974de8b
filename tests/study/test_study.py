import json
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

from darkspell.core.constants import constant
from darkspell.core.errors import StudyError
from darkspell.study import load_study, study_from
from darkspell.study.base import Section
from darkspell.study.key_reference import readme
from darkspell.study.key_tree import every_key, find
from study.example import STUDY, spoilt

CONFIG = Path(__file__).parents[2] / "config"
STUDIES = sorted(CONFIG.glob("*.yaml"))


def test_defaults_follow_from_chemistry_and_voltage():
    study = study_from(spoilt({"system.nominal_voltage_v": 24}))
    assert study.cells == 12
    assert study.bank.planning_depth_pct == constant("bank", "agm", "planning_depth_pct")
    assert study.bank.cutoff_voltage_v == pytest.approx(12 * constant("bank", "agm", "cutoff_v_cell"))
    shunt = study.monitors[study.monitor]
    assert shunt.capacity_set_ah == 100
    assert shunt.full_voltage_v == pytest.approx(12 * constant("bank", "agm", "full_voltage_v_cell"))


def test_defaults_follow_from_the_place():
    assert study_from(STUDY).site.utc_offset_h == 1
    south = study_from(spoilt({"site.latitude_deg": -33, "site.longitude_deg": 151})).site
    assert (south.utc_offset_h, south.year_starts, south.start_month) == (10, "january", 1)


def test_a_window_may_pass_midnight():
    study = study_from(spoilt({"loads.lamp.window": ["22:30", "06:00"]}))
    assert study.loads["lamp"].window_hours == (22.5, 7.5)
    assert study.loads["radio"].window_hours == (0, 24)


def test_sizes_may_be_given_as_steps():
    study = study_from(spoilt({"sizing.array_wp": {"from": 100, "to": 200, "steps": 5}}))
    assert study.sizing.array_wp == [100, 125, 150, 175, 200]


def test_nothing_changes_later():
    with pytest.raises(ValueError, match="frozen"):
        study_from(STUDY).bank.capacity_ah = 3


def test_a_what_if_changes_one_key_and_what_follows_from_it():
    study = study_from(STUDY)
    lithium = study.with_changes({"bank.chemistry": "lfp", "loads.radio": None})
    assert lithium.bank.planning_depth_pct == constant("bank", "lfp", "planning_depth_pct")
    assert list(lithium.loads) == ["lamp"]
    assert study.bank.chemistry == "agm" and list(study.loads) == ["lamp", "radio"]


def test_a_what_if_may_add_an_entry_and_reach_what_was_left_out():
    kettle = {"watts": 800, "hours_per_day": 0.2, "tier": "deferrable"}
    changes = {"loads.kettle": kettle, "monitors.shunt.offset_ma": 50, "deferrable.shed_below_soc_pct": 40}
    study = study_from(STUDY).with_changes(changes)
    assert study.loads["kettle"].watts == 800
    assert study.monitors["shunt"].offset_ma == 50
    assert study.deferrable.shed_below_soc_pct == 40 and study.deferrable.resume_above_soc_pct == 65


def test_null_returns_a_key_to_its_default():
    study = study_from(spoilt({"bank.planning_depth_pct": 30}))
    assert study.with_changes({"bank.planning_depth_pct": None}).bank.planning_depth_pct == 50
    with pytest.raises(StudyError, match=r"bank\.capacity_ah: is missing"):
        study.with_changes({"bank.capacity_ah": None})


def test_resolved_is_plain_and_complete():
    kinds = {f"monitors.a_{kind}": {"kind": kind} for kind in ("gauge", "pack")}
    resolved = study_from(STUDY).with_changes(kinds).resolved()
    assert json.loads(json.dumps(resolved, allow_nan=False)) == resolved
    for dotted, _, _ in every_key():
        places = [resolved]
        for part in dotted.split("."):
            if part == "<name>":
                places = [entry for place in places for entry in place.values()]
            else:
                assert any(part in place for place in places), dotted
                places = [place[part] for place in places if part in place]
            places = [place for place in places if place is not None and place != {}]
            if not places:
                break


@pytest.mark.parametrize("path", STUDIES, ids=lambda path: path.stem)
def test_resolved_comes_back_through_a_file_as_itself(path, tmp_path):
    resolved = load_study(path).resolved()
    again = tmp_path / path.name
    if (path.parent / str(resolved["climate"]["file"])).is_file():
        (tmp_path / resolved["climate"]["file"]).symlink_to(path.parent / resolved["climate"]["file"])
    again.write_text(yaml.safe_dump(resolved, sort_keys=False, allow_unicode=True), encoding="utf-8")
    assert load_study(again).resolved() == resolved


def test_a_hash_follows_its_sections_and_nothing_else():
    study = study_from(STUDY)
    sections = ("site", "climate", "loads")
    same = study_from(spoilt({"site.utc_offset_h": 1, "loads.lamp.count": 1, "bank.capacity_ah": 150}))
    other = study_from(spoilt({"loads.lamp.watts": 10.5}))
    assert study.subtree_hash(*sections) == same.subtree_hash(*sections)
    assert study.subtree_hash(*sections) != other.subtree_hash(*sections)
    assert study.subtree_hash("bank") != same.subtree_hash("bank")
    assert study.subtree_hash("site") != study.subtree_hash("climate")
    with pytest.raises(KeyError):
        study.subtree_hash("no such section")


def test_a_hash_follows_the_contents_of_the_weather_file(tmp_path):
    mapping = spoilt({"climate": {"source": "typical_year", "file": "w.epw"}})
    weather = tmp_path / "w.epw"
    hashes = set()
    for text in ("one", "two"):
        weather.write_text(text)
        hashes.add(study_from(mapping, folder=tmp_path).subtree_hash("climate"))
    assert len(hashes) == 2


@pytest.mark.parametrize("path", STUDIES, ids=lambda path: path.stem)
def test_studies_of_the_repository_are_valid_and_say_that_they_are_invented(path):
    study = load_study(path)
    assert study.name == path.stem
    assert "nvented" in study.document.note
    assert path.read_text(encoding="utf-8").startswith("#")


def test_every_key_is_described_and_addressable():
    for dotted, _, field in every_key():
        assert field.description, dotted
        assert find(dotted.split(".")) is not None, dotted


def test_every_section_is_closed():
    models = {model for _, model, _ in every_key()}
    assert len(models) > 10
    assert all(issubclass(model, Section) and model.model_config["extra"] == "forbid" for model in models)


def test_the_list_of_keys_is_current():
    assert (CONFIG / "README.md").read_text(encoding="utf-8") == readme()


def test_reading_a_study_does_not_load_the_heavy_libraries():
    code = "import sys, darkspell.study; print({'pvlib', 'numba', 'pandas', 'matplotlib'} & set(sys.modules))"
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert answer.stdout.strip() == "set()"
