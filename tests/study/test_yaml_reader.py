import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from darkspell.core.errors import StudyError
from darkspell.study.yaml_reader import LARGEST_FILE, read_file, read_yaml


@pytest.mark.parametrize(
    ("text", "value"),
    [
        # YAML 1.2.2, section 10.3 (core schema): no base 60, octal, yes/no, dates.
        ("18:30", "18:30"),
        ("no", "no"),
        ("on", "on"),
        ("2026-02-31", "2026-02-31"),
        ("010", 10),
        ("-12", -12),
        ("1e3", 1000.0),
        (".5", 0.5),
        ("1_000", "1_000"),
        ("0x10", "0x10"),
        ("true", True),
        ("False", False),
        ("~", None),
        ("", None),
        ("'12'", "12"),
        ("'18:30'", "18:30"),
    ],
)
def test_scalars_mean_what_they_look_like(text, value):
    read = read_yaml(f"key: {text}")["key"]
    assert read == value and type(read) is type(value)


def test_not_a_number_and_infinity_are_read_and_left_to_the_models():
    read = read_yaml("a: .nan\nb: -.inf\nc: 1e999")
    assert math.isnan(read["a"]) and read["b"] == -math.inf and read["c"] == math.inf


def test_keys_are_always_texts():
    assert read_yaml("no: 1\n12: 2\ntrue: 3\n18:30: 4") == {"no": 1, "12": 2, "true": 3, "18:30": 4}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a: 1\nb: 2\na: 3", ("line 3", "'a'", "line 1")),
        ("a:\n  x: 1\n  x: 2", ("line 3", "'x'", "line 2")),
        ("a: &top [1]\nb: *top", ("line 1", "anchors")),
        ("b: *top", ("line 1", "aliases")),
        ("a: !!python/object/apply:os.system [ls]", ("line 1", "tag")),
        ("a: !!set {x}", ("line 1", "tag")),
        ("? [1, 2]\n: 3", ("line 1", "single word")),
        ("a: [1, 2", ("line", "not readable as YAML")),
        ("a: 1\n b: 2", ("line 2", "not readable as YAML")),
        ("a: 1\n---\nb: 2", ("document",)),
        ("a: \x00", ("not readable as YAML",)),
        ("[" * 50 + "]" * 50, ("levels of nesting",)),
        ("a: " + "9" * 5000, ("digits",)),
        ("<<: {a: 1}", None),
    ],
)
def test_what_is_not_plain_is_refused_with_its_line(text, words):
    if words is None:
        assert read_yaml(text) == {"<<": {"a": 1}}
        return
    with pytest.raises(StudyError) as fault:
        read_yaml(text)
    for word in words:
        assert word in str(fault.value)


@settings(max_examples=150, deadline=None)
@given(st.text(alphabet=st.sampled_from("ab:-[]{}&*!?|>'\"#% \n\t,0.~"), max_size=40))
def test_any_text_is_read_or_refused(text):
    try:
        read_yaml(text)
    except StudyError as fault:
        assert str(fault)


def test_files_that_are_none(tmp_path):
    latin, large = tmp_path / "latin.yaml", tmp_path / "large.yaml"
    latin.write_bytes("title: Hütte".encode("latin-1"))
    large.write_bytes(b"#" * (LARGEST_FILE + 1))
    for path, word in (
        (tmp_path / "none.yaml", "no such file"),
        (tmp_path, "is a folder"),
        (latin, "UTF-8"),
        (large, "MB"),
    ):
        with pytest.raises(StudyError, match=word):
            read_file(path)


def test_a_byte_order_mark_is_no_part_of_the_first_key(tmp_path):
    path = tmp_path / "marked.yaml"
    path.write_bytes("\ufeffa: 1".encode())
    assert read_file(path) == {"a": 1}
