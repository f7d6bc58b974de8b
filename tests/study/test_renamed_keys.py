"""Keys, values and sections under their old names: each is answered with the new one, in one line a key."""

from copy import deepcopy

import pytest

from darkspell.cli.main import main
from darkspell.core.errors import StudyError
from darkspell.study import study_from
from darkspell.study.key_tree import every_key, find
from darkspell.study.renamed_keys import RENAMED, RENAMED_SECTIONS, RENAMED_VALUES
from darkspell.study.section_names import SECTIONS
from study.example import STUDY, spoilt

KEYS = [dotted for dotted, _, _ in every_key()]


def message(mapping):
    """What a study is answered with."""
    with pytest.raises(StudyError) as fault:
        study_from(mapping, "test")
    return str(fault.value)


@pytest.mark.parametrize(("old", "new"), RENAMED.items())
def test_new_names_exist_and_old_ones_do_not(old, new):
    """The table of names is true to the keys."""
    last = [key for key in KEYS if key == new or key.rpartition(".")[2] == new]
    assert last or find(new.split(".")) is not None
    assert old not in KEYS


def test_new_values_and_sections_exist():
    """So are those of values and sections; an old section's name may have come back for another."""
    assert {new for new in RENAMED_SECTIONS.values()} <= set(SECTIONS)
    assert all(isinstance(new, str) and new != old[1] for old, new in RENAMED_VALUES.items())


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"bank.age_capacity_pct": 90}, ("bank.age_capacity_pct", "renamed; write bank.state_of_health_pct")),
        ({"loads.lamp.tier": "always"}, ("loads.lamp.tier", "renamed; write uninterruptible")),
        ({"arrays.roof.turns": True}, ("arrays.roof.turns", "renamed; write any_heading")),
        ({"document.sections": ["size", "certainty"]}, ("document.sections", 'renamed; write "uncertainty"')),
        (
            {"whatifs": {"old": {"bank.age_capacity_pct": 80}}},
            ("whatifs.old", "write bank.state_of_health_pct"),
        ),
        (
            {"sweeps": {"age": {"bank.age_capacity_pct": [80, 90]}}},
            ("bank.age_capacity_pct", "write bank.state_of_health_pct"),
        ),
        ({"sweeps": {"age": {"loads.lamp.tier": ["always"]}}}, ("loads.lamp.tier", "write uninterruptible")),
    ],
)
def test_old_names_are_answered_with_the_new_one(changes, words):
    """Nested, in lists, in what-ifs and in sweeps; one line."""
    said = message(spoilt(changes))
    assert all(word in said for word in words) and "\n" not in said


def test_a_section_under_its_old_name_is_not_called_missing_too():
    """One line a key, on the terminal as well."""
    given = deepcopy(STUDY)
    given["study"] = given.pop("document")
    assert message(given) == "test: study: was renamed; write document"


def test_check_and_run_print_one_line_a_key(tmp_path, capsys):
    """And end with exit code 1."""
    import yaml

    path = tmp_path / "old.yaml"
    given = spoilt({"load_doubt_pct": 10, "people": {}, "bank.standing_draw_w": 1})
    path.write_text(yaml.safe_dump(given), encoding="utf-8")
    for command in ("check", "run"):
        assert main([command, str(path)]) == 1
        lines = capsys.readouterr().err.strip().splitlines()
        assert len(lines) == 4 and sum("renamed; write" in line for line in lines) == 3
