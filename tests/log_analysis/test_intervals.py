"""Rows of means, momentary rows, and the moment of its interval that a row is named by: invented logs."""

import numpy as np
import pytest

from darkspell.core.calendar import Calendar
from darkspell.log_analysis.hourly_means import hours_of
from darkspell.log_analysis.reader import read_log
from darkspell.study.log_format import Log

JAN = 1735689600  # 2025-01-01 00:00 UTC, by `date -u -d 2025-01-01 +%s`
CURVE = np.arange(24.0) / 10.0 + 11.0  # V by hour of the day


def written(tmp_path, name="voltage", head="", first=1, days=4, **keys):
    """Log of hours, its first row at this hour; the mean of the hour from h to h + 1 is `CURVE`[h]."""
    lines = [head + f"time,{name}"]
    for at in range(24 * days):
        when = np.datetime64(JAN + 3600 * (at + first), "s")
        lines.append(f"{str(when).replace('T', ' ')},{CURVE[at % 24]:.2f}")
    path = tmp_path / "log.csv"
    path.write_text("\n".join(lines) + "\n")
    return read_log(path, Log(voltage_column=name, **keys), 0.0)


def by_hour(rows):
    hours = hours_of(rows, Calendar(1), 12.0, 100.0)
    return hours.log.voltage.reshape(-1, 24)


@pytest.mark.parametrize(
    ("case", "why"),
    [
        ({"rows_are": "means"}, "the first row, one interval after midnight"),
        ({"row_time": "end"}, ""),
        ({"name": "V_Avg"}, "the header of column V_Avg"),
        ({"head": "# timestamp_meaning = end\n", "rows_are": "means"}, "timestamp_meaning"),
    ],
)
def test_means_named_by_their_end_are_put_where_they_belong(tmp_path, case, why):
    rows = written(tmp_path, **case)
    assert rows.kind == "means" and rows.moment_known and rows.seconds[0] == JAN
    assert why in " ".join(rows.notes)
    np.testing.assert_allclose(by_hour(rows), np.tile(CURVE, (4, 1)), atol=1e-6)


def test_means_named_by_their_beginning_stay(tmp_path):
    rows = written(tmp_path, first=0, rows_are="means", row_time="beginning")
    np.testing.assert_allclose(by_hour(rows), np.tile(CURVE, (4, 1)), atol=1e-6)
    rows = written(tmp_path, first=0, rows_are="means")
    assert rows.seconds[0] == JAN and not rows.moment_known


@pytest.mark.parametrize(
    ("case", "kind"), [({}, None), ({"rows_are": "samples"}, "samples"), ({"name": "V_Smp"}, "samples")]
)
def test_momentary_rows_are_not_moved(tmp_path, case, kind):
    rows = written(tmp_path, **case)
    assert rows.kind == kind and rows.seconds[0] == JAN + 3600 and not rows.moment_known
