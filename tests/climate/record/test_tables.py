"""Tables as programs export them, good and bad: times, names and cells that are not what they seem."""

from types import SimpleNamespace

import numpy as np
import pytest

from darkspell.climate.record.csv_series import read_rows
from darkspell.core.errors import StudyError

DAYS = "date,ghi\n2021-01-01,1.0\n2021-01-02,2.0\n2021-01-03,3.0\n"


def read(tmp_path, text, **keys):
    """Rows of a text, read by a series with these keys."""
    series = dict(
        step="daily", time_columns=["date"], time_format=None, ghi_column="ghi", ghi_unit="kWh/m2",
        temp_column=None, temp_min_column=None, temp_max_column=None, wind_column=None, temp_unit="C",
        separator=",", decimal=".", header_row=1,
    )  # fmt: skip
    path = tmp_path / "made.csv"
    path.write_text(text, encoding="utf-8")
    return read_rows(path, SimpleNamespace(**series | keys))


@pytest.mark.parametrize(
    ("text", "keys", "words"),
    [
        (DAYS, {"time_format": "%Y-%m-%q"}, ("climate.series.time_format", "%Y-%m-%q", "no time format")),
        (DAYS, {"time_format": "%Y-%Y"}, ("climate.series.time_format", "twice")),
        (DAYS, {"time_format": "%"}, ("climate.series.time_format",)),
        ("date,ghi,ghi\n2021-01-01,1,2\n", {}, ("row 1", "names column ghi 2 times", "rename one")),
        ("date,ghi\n2021-01-01,1,2\n", {}, ("row 2", "more cells than the 2 names")),
        (
            "date,ghi\n2021-01-01T00:00+01:00,1\n2021-01-02T00:00,1\n",
            {},
            ("row 3", "column date", "some times have an offset"),
        ),
        (
            "date,hour,ghi\n2021-01-01,1,0\n2021-01-01,2.5,0\n",
            {"step": "hourly", "time_columns": ["date", "hour"], "time_format": "%Y-%m-%d %H"},
            ("row 3", "column date and hour", '"2021-01-01 2.5"'),
        ),
        (
            "date,ghi\n1609459200000,1\n1609545600000,2\n",
            {},
            ("row 2", "column date", "milliseconds since 1970", "divide by 1000"),
        ),
        ("date,ghi\n1609459200,1\n", {}, ("row 2", "seconds since 1970", "time_format: seconds")),
    ],
)
def test_bad_tables_name_row_column_and_cure(tmp_path, text, keys, words):
    """One sentence, no traceback."""
    with pytest.raises(StudyError) as fault:
        read(tmp_path, text, **keys)
    assert all(word in str(fault.value) for word in words) and "\n" not in str(fault.value)


def test_a_number_too_large_for_its_unit_is_above_what_the_sun_gives(tmp_path):
    """Infinite and no warning of numpy's; the test of the sun's limit sets it aside."""
    text = DAYS.replace("2.0", "1e308")
    assert read(tmp_path, text, ghi_unit="kWh/m2").ghi[1] > 1e300
    assert np.isinf(read(tmp_path, text, step="hourly", ghi_unit="kWh/m2").ghi[1])


def test_offsets_may_change_within_a_file(tmp_path):
    """A file over a change of daylight saving is one series in UTC."""
    rows = read(tmp_path, "date,ghi\n2021-03-27T12:00+01:00,1\n2021-03-28T12:00+02:00,2\n")
    assert rows.utc and list(np.diff(rows.times).astype(int)) == [23 * 3600]


def test_seconds_since_1970_and_years_far_away(tmp_path):
    """Both are read; what the years are worth is judged later."""
    rows = read(tmp_path, "date,ghi\n1609459200,1\n1609545600,2\n", time_format="seconds")
    assert rows.utc and str(rows.times[0]) == "2021-01-01T00:00:00"
    assert str(read(tmp_path, "date,ghi\n2300-01-01,1\n").times[0])[:4] == "2300"


def test_a_mark_at_the_end_of_rows_is_no_column(tmp_path):
    """Some programs end every row, or every row but the first, with a separator."""
    for text in ("date,ghi,\n2021-01-01,1,\n", "date,ghi\n2021-01-01,1,\n"):
        assert read(tmp_path, text).ghi.tolist() == [1000.0]


@pytest.mark.parametrize(
    ("keys", "head"),
    [
        ({}, "# FORM\n# fields = date,ghi\n# units = d,kWh/m2\n"),
        ({"header_row": 2, "time_columns": ["# fields = date"]}, "# FORM\n# fields = date,ghi\n"),
        ({}, "# FORM\n#\ndate,ghi\n"),
        ({}, "date,ghi\n"),
    ],
)
def test_rows_of_remarks_are_no_rows_and_may_name_the_columns(tmp_path, keys, head):
    """Faults name the row of the file, remarks counted."""
    body = "2021-01-01,1\n# a pause, or more\n2021-01-02,2\n2021-01-03,3\n"
    rows = read(tmp_path, head + body, **keys)
    above = head.count("\n")
    assert rows.ghi.tolist() == [1000.0, 2000.0, 3000.0]
    assert rows.number.tolist() == [above + 1, above + 3, above + 4]
    with pytest.raises(StudyError, match=f"row {above + 4}"):
        read(tmp_path, head + body.replace("03,3", "03,much"), **keys)
