import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from darkspell.report.figures.labels import spread
from darkspell.report.figures.layout import balanced, row_name, text_width, wrapped

places = st.lists(st.floats(0, 100), min_size=1, max_size=8)


@settings(max_examples=100, deadline=None)
@given(places)
def test_labels_keep_apart_inside_and_in_order(wanted):
    got = spread(wanted, 6, 0, 100)
    order = np.argsort(wanted, kind="stable")
    assert (np.diff(got[order]) >= 6 - 1e-9).all()
    assert got.min() >= -1e-9 and got.max() <= 100 + 1e-9


def test_labels_far_apart_stay():
    assert spread([10, 50, 90], 6, 0, 100).tolist() == [10, 50, 90]


def test_two_that_touch_part_evenly():
    # Least squares: each of the two gives way by half.
    assert spread([50, 52], 6, 0, 100).tolist() == [48, 54]


def test_lines_fit():
    text = "In December the bank stands at 54 % at dawn in a middling year; in one year of ten below 31 %"
    for lines in (wrapped(text, 90), balanced(text, 90)):
        assert " ".join(lines) == text
        assert max(map(text_width, lines)) <= 90
    assert len(balanced(text, 90)) == len(wrapped(text, 90))


def test_a_word_wider_than_its_column_is_cut_between_letters():
    lines = wrapped("the W" + 40 * "W" + " end", 40)
    assert "".join(lines).replace(" ", "") == "the" + 41 * "W" + "end" and max(map(text_width, lines)) <= 40


def test_a_name_of_a_row_fits_two_lines():
    for name in ("roof", "second wall array and its long name", 40 * "W", "\U0001f600" * 40, ""):
        lines = row_name(name).split("\n")
        assert len(lines) <= 2 and max(map(text_width, lines)) <= 32
    assert row_name("second wall array").replace("\n", " ") == "second wall array"
    assert row_name(40 * "W").endswith("\u2026")
