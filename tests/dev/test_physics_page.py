"""The page on the physics names tests, commands and keys that exist."""

import re
from importlib.util import find_spec
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "workflow/darkspell/PHYSICS.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| (\d+) ([^|]+)\|(.*)\|$", PAGE, re.M)


def test_there_are_thirteen_parts():
    assert [int(number) for number, *_ in ROWS] == list(range(1, 14))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row[0]} {row[1].strip()}")
def test_each_part_names_a_test_that_exists(row):
    named = re.findall(r"`(tests/[\w/]+\.py)::(\w+)`", row[2])
    assert named
    for path, name in named:
        assert f"def {name}(" in (ROOT / path).read_text(encoding="utf-8")


def test_commands_exist():
    commands = set(re.findall(r"`python -m ([\w.]+)", PAGE))
    assert len(commands) >= 6 and all(find_spec(name) for name in commands)


def test_keys_exist():
    """Each study key named is in the list of keys; glass is an array's."""
    listed = (ROOT / "config" / "README.md").read_text(encoding="utf-8")
    keys = re.findall(r"`((?:sizing|arrays|system|controller|bank|climate)\.[\w<>.]+)`", PAGE)
    assert len(keys) >= 4
    for key in (*keys, "arrays.<name>.glass", "controller.efficiency_10_pct"):
        assert f"`{key}" in listed
