"""What is typed into a study and is not quite YAML, not quite a number, or nothing: each with its cure."""

from copy import deepcopy

import pytest

from darkspell.core.errors import StudyError
from darkspell.study import study_from
from darkspell.study.errors import FULL
from darkspell.study.key_tree import every_key
from darkspell.study.typing_slips import compass_degrees, number_cure
from darkspell.study.yaml_reader import read_yaml
from study.example import STUDY, spoilt


@pytest.mark.parametrize(
    ("text", "unit", "cure"),
    [
        ("45 W", "W", "unit: 45"),
        ("45W", "W", "unit: 45"),
        ("\u221210", "degC", "plain characters: -10"),
        ("1\u00a0200", "Wp", "plain characters: 1200"),
        ("\u201c45\u201d", "W", "plain characters: 45"),
        ("1,200", "Wp", "1200, or 1.200 if the comma is a decimal mark"),
        ("1,200,000", "Wp", "1200000"),
        ("1'200", "Wp", "1200"),
        ("1_200", "Wp", "1200"),
        ("61.4N", "deg", "west negative: 61.4"),
        ("33.9 S", "deg", "west negative: -33.9"),
        ("61:24", "deg", "west negative: 61.4"),
        ("61\u00b024'N", "deg", "west negative: 61.4"),
        ("24\u00b006'36\"W", "deg", "west negative: -24.11"),
        ("18 degrees", "deg", ""),
        ("4,5", "W", "with a point: 4.5"),
        ("45", "W", "unit: 45"),
        ("45 Wh", "W", ""),
        ("12:30", "h", ""),
        ("ten", "W", ""),
    ],
)
def test_a_text_where_a_number_is_asked_for(text, unit, cure):
    """What was probably meant, and nothing where that is not clear."""
    assert (cure in number_cure(text, unit)) if cure else number_cure(text, unit) == ""


def test_compass_words():
    """The sixteen points are 22.5 degrees apart, clockwise from north (WMO code table 0877 uses the same)."""
    words = {"south": 180, "S": 180, "SSW": 202.5, "south-west": 225, "Northeast": 45, "N": 0, "wnw": 292.5}
    assert {word: compass_degrees(word) for word in words} == words
    assert compass_degrees("up") is None and compass_degrees(180) is None


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("loads:\n  a:\n    watts:45\n    hours: 4\n", ("line 3", "blank after the colon: watts: 45")),
        ("loads:\n  watts:\u00a045\n  b: 1\n", ("line 2", "no-break space")),
        ('a: "\\U99999999"', ("no character",)),
        ('a: "\\UFFFFFFFF"', ("no character",)),
    ],
)
def test_lines_that_are_not_quite_yaml(text, words):
    """The line, and what to type."""
    with pytest.raises(StudyError) as fault:
        read_yaml(text)
    assert all(word in str(fault.value) for word in words) and "\n" not in str(fault.value)


OPTIONAL = [
    dotted
    for dotted, _, field in every_key()
    if dotted.count(".") == 1 and "<name>" not in dotted and not field.is_required()
]


@pytest.mark.parametrize("dotted", [d for d in OPTIONAL if d.split(".")[0] in STUDY])
def test_null_means_the_default(dotted):
    """A key that says null counts as left out, wherever it stands."""
    section, name = dotted.split(".")
    if name in STUDY[section]:
        pytest.skip("given in the example")
    given = deepcopy(STUDY)
    given[section][name] = None
    assert study_from(given).resolved() == study_from(STUDY).resolved()


def test_null_for_a_load_s_peak_and_a_bank_s_limits():
    """Keys whose null once reached the arithmetic."""
    given = deepcopy(STUDY)
    given["loads"]["lamp"]["peak_watts"] = None
    given["bank"] |= dict.fromkeys(("depth_limit_pct", "planning_depth_pct", "reconnect_soc_pct"))
    assert study_from(given).resolved() == study_from(STUDY).resolved()


def test_null_where_something_is_needed():
    """It is missing, with the unit."""
    with pytest.raises(StudyError, match=r"bank.capacity_ah: is missing; add it \[Ah\]"):
        study_from({**STUDY, "bank": {"chemistry": "agm", "capacity_ah": None}})


@pytest.mark.parametrize("count", [300, 5000])
def test_thousands_of_unknown_keys_are_one_screen(count):
    """The first in full, the rest counted; names and values cut."""
    given = spoilt({f"bank.capacity_of_number_{n}": n for n in range(count)})
    given["loads"]["x" * 5000] = {"watts": "y" * 5000}
    given["whatifs"] = {f"w{n}": {f"bank.capacity_{n}": 1} for n in range(400)}
    with pytest.raises(StudyError) as fault:
        study_from(given)
    lines = str(fault.value).splitlines()
    assert len(lines) == FULL + 2 and len(str(fault.value)) < 6000
    assert f"{count + 3 - FULL} more" in lines[-1]  # the long name, its watts and its missing tier too


def test_words_for_true_and_false():
    """As they are typed elsewhere."""
    for word, meant in (("yes", "true"), ("off", "false")):
        with pytest.raises(StudyError, match=f"did you mean {meant}"):
            study_from(spoilt({"loads.lamp.bypasses_shunt": word}))


@pytest.mark.parametrize(
    ("text", "cure"),
    [
        (
            "a: 'The client's name'\nb: 1\n",
            "line 1: put a text with an apostrophe in it between double quotes",
        ),
        ("a: [1, 2\nb: 3\n", "close the list with ]"),
        ("a: {b: 1\nc: 3\n", "close the mapping with }"),
        ("a: 1\n---\nb: 2\n", "one document; remove the line ---"),
        ("a: 1\nb: x\0y\n", "line 2: not readable as YAML (a NUL character); remove it"),
    ],
)
def test_what_is_wrong_with_a_line_and_what_to_do(text, cure):
    with pytest.raises(StudyError) as fault:
        read_yaml(text)
    assert cure in str(fault.value)


def test_a_direction_in_another_language_is_told_of_compass_words():
    with pytest.raises(StudyError, match="compass word"):
        study_from(spoilt({"arrays.roof.azimuth_deg": "sud"}))
