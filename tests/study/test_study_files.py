"""Studies that extend another file, and files that make several studies."""

from pathlib import Path

import pytest
import yaml

from darkspell.cli.adopt import as_difference
from darkspell.cli.main import main
from darkspell.core.errors import StudyError
from darkspell.pipeline.provenance import provenance
from darkspell.pipeline.stages import load_studies, selector
from darkspell.study import load_study, study_from
from darkspell.study.differences import differences
from darkspell.study.loader import load_all
from darkspell.study.study_files import merged, text_of
from study.example import STUDY, spoilt


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "base.yaml").write_text(yaml.safe_dump(STUDY))
    return tmp_path


def write(folder, name, text):
    (folder / name).write_text(text)
    return folder / name


def test_a_study_of_differences_is_the_whole_study_changed(folder):
    text = "extends: base.yaml\nbank.capacity_ah: 400\nloads:\n  radio: null\n  lamp: {watts: 20}\n"
    study = load_study(write(folder, "large.yaml", text))
    other = load_study(folder / "base.yaml").with_changes(
        {"bank.capacity_ah": 400, "loads.radio": None, "loads.lamp.watts": 20}
    )
    assert study.resolved() == other.resolved() and study.name == "large"
    assert [file.name for file in study.files] == ["large.yaml", "base.yaml"]
    assert {"large.yaml", "base.yaml"} <= set(provenance(folder / "large.yaml", study)["inputs"])
    shown = text_of(study.files)
    assert shown.startswith("# large.yaml\nextends") and "# base.yaml\n" in shown
    third = load_study(write(folder, "third.yaml", "extends: large.yaml\nbank:\n  capacity_ah: 500\n"))
    assert third.bank.capacity_ah == 500 and "radio" not in third.loads
    write(folder, "sized.yaml", as_difference("", third, 400.0, 250.0))
    assert load_study(folder / "sized.yaml").array_wp == pytest.approx(400.0)


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        ("extends: none.yaml\n", "no such file"),
        ("extends: ../outside.yaml\n", "outside the study's folder"),
        ("extends: /etc/hosts\n", "outside the study's folder"),
        ("extends: [base.yaml]\n", "is no file"),
        ("extends: own.yaml\n", "own.yaml extends own.yaml; end the circle"),
        ("extends: base.yaml\nbank.capacity: 4\n", "bank.capacity"),
        ("extends: base.yaml\nbank.capacity_ah: lots\n", "own.yaml (with base.yaml)"),
        ("extends: list.yaml\n", "list.yaml: has no keys"),
    ],
)
def test_what_cannot_be_extended_is_answered(folder, text, answer):
    (folder / "in").mkdir()
    (folder / "in" / "base.yaml").write_text(yaml.safe_dump(STUDY))
    (folder / "in" / "list.yaml").write_text("- 1\n")
    (folder / "outside.yaml").write_text(yaml.safe_dump(STUDY))
    with pytest.raises(StudyError) as fault:
        load_study(write(folder / "in", "own.yaml", text))
    assert answer in str(fault.value)


def test_a_link_does_not_lead_out_of_the_folder(folder, tmp_path_factory):
    other = tmp_path_factory.mktemp("other") / "base.yaml"
    other.write_text(yaml.safe_dump(STUDY))
    (folder / "link.yaml").symlink_to(other)
    with pytest.raises(StudyError, match="outside"):
        load_study(write(folder, "own.yaml", "extends: link.yaml\n"))


CROSS = """\
extends: base.yaml
cross:
  site: {north: {site.latitude_deg: 60}, south: {site: {latitude_deg: 40}}}
  bank: {small: {bank.capacity_ah: 50}, large: {bank.capacity_ah: 400, bank.chemistry: lfp}}
  loads: {all: {}, quiet: {loads.radio: null}}
"""


def test_a_file_makes_a_study_of_each_combination(folder):
    path = write(folder, "night.yaml", CROSS)
    entries = load_studies([path], members=8)
    assert len(entries) == 8 and list(entries)[0] == "night_north_small_all"
    one = entries["night_south_large_quiet"].study
    assert (one.site.latitude_deg, one.bank.capacity_ah, one.bank.chemistry) == (40, 400, "lfp")
    assert "radio" not in one.loads and one.engine.members == 8
    again = load_studies([selector(entries["night_south_large_quiet"])])
    assert list(again) == ["night_south_large_quiet"]
    assert again["night_south_large_quiet"].path == Path(path)
    for words, answer in ((path, "makes 8 studies; name one"), (f"{path}::x", "makes no study x")):
        with pytest.raises(StudyError, match=answer):
            load_study(words)


@pytest.mark.parametrize(
    "cross",
    ["[]", "{}", "{a: {}}", "{a: [1]}", "{a: {b: 3}}", "{a: {b c: {}}}", "{a: {b: {bank.capacity_ah: x}}}"],
)
def test_a_crossing_with_a_fault_is_answered(folder, cross):
    with pytest.raises(StudyError, match=r"own\.yaml"):
        load_all(write(folder, "own.yaml", f"extends: base.yaml\ncross: {cross}\n"))


def test_all_studies_of_a_file_are_checked(folder, capsys):
    path = write(folder, "night.yaml", CROSS)
    assert main(["check", "--json", str(path)]) == 0
    assert capsys.readouterr().out.count('"study": "night_') == 8


def test_differences_replace_lists_and_join_sections():
    base = {"a": {"b": [1, 2], "c": {"d": 1, "e": 2}}, "w": {"x": {"a.b": 1}}}
    assert merged(base, {"a": {"b": [3]}, "a.c.d": 9})["a"] == {"b": [3], "c": {"d": 9, "e": 2}}
    assert merged(base, {"w": {"x": {"a.c": 2}, "y": {"a.b": 3}}})["w"]["x"] == {"a.b": 1, "a.c": 2}
    assert merged(base, {"a.c": None})["a"] == {"b": [1, 2]}
    assert (
        merged({"n": {"from": 1, "to": 2, "steps": 2}}, {"n": {"from": 3, "to": 4, "steps": 2}})["n"]["from"]
        == 3
    )
    assert base["a"]["c"] == {"d": 1, "e": 2}


def test_a_crossed_site_is_one_column_and_a_single_key_keeps_its_own(tmp_path):
    """Four studies: the list of sites changes several keys of each, the list of banks one."""
    (tmp_path / "base.yaml").write_text(yaml.safe_dump(STUDY), encoding="utf-8")
    (tmp_path / "night.yaml").write_text(
        "extends: base.yaml\n"
        "cross:\n"
        "  place: {south: {site: {name: South, latitude_deg: 40}, arrays.roof.tilt_deg: 45},"
        " north: {site.latitude_deg: 60}}\n"
        "  bank: {agm: {}, lfp: {bank.chemistry: lfp}}\n",
        encoding="utf-8",
    )
    found = differences({study.name: study for study in load_all(tmp_path / "night.yaml")})
    assert found["night_south_lfp"] == {"cross.place": "south", "bank.chemistry": "lfp"}
    assert [one["cross.place"] for one in found.values()] == ["south", "south", "north", "north"]
    other = study_from(STUDY | {"short_night_floor_wh": 7}, "other")
    mixed = differences({"other": other} | {s.name: s for s in load_all(tmp_path / "night.yaml")})
    assert mixed["other"]["cross.place"] == "" and mixed["other"]["short_night_floor_wh"] == 7


def test_a_sweep_keeps_the_values_that_are_given_and_both_ends():
    """From 0 on, and with as many digits as asked."""
    sweeps = {"tilts": {"arrays.roof.tilt_deg": {"from": 0, "to": 1, "steps": 4}},
              "lamps": {"loads.lamp.watts": [5.12345, 5.123451]}}  # fmt: skip
    study = study_from(STUDY | {"sweeps": sweeps})
    values = [next(iter(changes.values())) for changes in study.whatifs.values()]
    assert values == [0, 0.3333333333, 0.6666666667, 1, 5.12345, 5.123451]


@pytest.mark.parametrize("own, rate", [({}, 6.0), ({"sizing.prices.bank_per_ah": 5}, 5.0)])
def test_a_bank_of_twice_the_voltage_keeps_its_price_per_wh(own, rate, tmp_path):
    """3 a Ah at 12 V are 6 at 24 V, by extends, by cross and by a what-if; a price that the change gives stays."""
    volts = {"system.nominal_voltage_v": 24}
    base = spoilt({"sizing.prices.bank_per_ah_by_chemistry": {"lfp": 4, "agm": 3}})
    (tmp_path / "base.yaml").write_text(yaml.safe_dump(base))
    (tmp_path / "more.yaml").write_text(yaml.safe_dump({"extends": "base.yaml"} | volts | own))
    cross = {"cross": {"price": {"own": own}, "volts": {"high": volts, "low": {}}}}
    (tmp_path / "each.yaml").write_text(yaml.safe_dump({"extends": "base.yaml"} | cross))
    found = [load_study(tmp_path / "more.yaml"), *load_all(tmp_path / "each.yaml")[:1]]
    found += [] if own else [load_study(tmp_path / "base.yaml").with_changes(volts)]
    for study in found:
        assert study.sizing.prices.bank_per_ah == rate
        assert study.sizing.prices.bank_per_ah_by_chemistry == {"lfp": 8.0, "agm": 6.0}
    back = load_study(tmp_path / "more.yaml").with_changes({"system.nominal_voltage_v": 12})
    assert back.sizing.prices.bank_per_ah == rate / 2
    assert load_all(tmp_path / "each.yaml")[1].sizing.prices.bank_per_ah == (own and 5.0 or 3.0)
