"""What is written to a table comes back as it was."""

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from darkspell.core.atomic_files import write_table
from darkspell.core.table_reader import read_table

HOSTILE = (
    "none",
    "None",
    "NA",
    "N/A",
    "nan",
    "NaN",
    "null",
    "1",
    "01",
    "1e3",
    "0x1F",
    "true",
    "inf",
    "-1",
    "2025-03-30",
)


@pytest.mark.parametrize("column", ["whatif", "monitor", "array", "remedy"])
def test_names_stay_names(tmp_path, column):
    """Names that a CSV reader takes for gaps, numbers, dates and truth."""
    table = pd.DataFrame({column: list(HOSTILE), "mean": [0.5] * len(HOSTILE)})
    write_table(tmp_path / "t.csv", table)
    assert read_table(tmp_path / "t.csv")[column].tolist() == list(HOSTILE)


@settings(max_examples=50, deadline=None)
@given(st.lists(st.from_regex(r"[A-Za-z0-9_][A-Za-z0-9_-]{0,39}", fullmatch=True), min_size=1, max_size=5))
def test_every_name_that_a_study_allows_comes_back(tmp_path_factory, names):
    """Alone in its table, and among others."""
    path = tmp_path_factory.mktemp("names") / "t.csv"
    write_table(path, pd.DataFrame({"whatif": names, "mean": [1.0] * len(names)}))
    assert read_table(path)["whatif"].tolist() == names


def test_numbers_gaps_and_words(tmp_path):
    """Whole numbers, gaps in numbers, words of our own, and a file with nothing in it."""
    table = pd.DataFrame({"n": [1, 2], "mean": [0.5, None], "verdict": ["real", ""], "meets": [True, False]})
    write_table(tmp_path / "t.csv", table)
    back = read_table(tmp_path / "t.csv")
    assert back["n"].tolist() == [1, 2] and back["mean"].isna().tolist() == [False, True]
    assert back["meets"].tolist() == [True, False] and back["verdict"].isna().tolist() == [False, True]
    (tmp_path / "empty.csv").write_text("\n")
    assert read_table(tmp_path / "empty.csv").empty
