"""Texts as times: a bad format, an odd row, offsets that change, dates that no clock counts."""

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest

from darkspell.core.errors import StudyError
from darkspell.core.timestamps import format_fault, read_epoch, read_times, time_cure


@pytest.mark.parametrize("form", ["%Y-%m-%d %H:%M", "%d.%m.%Y", "%Y %j", "%y%m%d", "%Y-%m-%dT%H:%M:%S%z"])
def test_formats_of_the_c_standard_are_accepted(form):
    """Directives as in the strftime of ISO C, table 7.27.3.5."""
    assert format_fault(form) is None


@pytest.mark.parametrize("form", ["%Y-%m-%q", "%", "%%", "text", "%Y-%Y", "%s", "%Q", "100 %"])
def test_what_is_no_format_is_said_so(form):
    """Each with a sentence."""
    assert format_fault(form)
    with pytest.raises(StudyError, match="time format"):
        read_times(pd.Series(["2025-01-01"]), form)


def test_offsets_that_change_are_followed():
    """A log over the change to summer time in Vienna, 30 March 2025, 01:00 UTC (EU directive 2000/84/EC)."""
    times, offset = read_times(pd.Series(["2025-03-30T01:59:00+01:00", "2025-03-30T03:00:00+02:00"]))
    wanted = [datetime(2025, 3, 30, 0, 59, tzinfo=UTC), datetime(2025, 3, 30, 1, 0, tzinfo=UTC)]
    assert times.astype(int).tolist() == [w.timestamp() for w in wanted]
    assert offset.all()


@pytest.mark.parametrize(
    "text",
    [
        "0000-00-00",
        "2025-02-29",
        "",
        "now",
        "1735689600",
    ],
)
def test_what_is_no_time_is_left_out(text):
    """Not a time rather than an overflow."""
    assert np.isnat(read_times(pd.Series(["2025-01-01", text]))[0]).tolist() == [False, True]


def test_years_far_from_ours_do_not_overflow():
    """Nanoseconds since 1970 would end in 2262."""
    times, _ = read_times(pd.Series(["1600-01-01 00:00", "9999-12-31 23:00"]))
    assert times.astype("datetime64[Y]").astype(int).tolist() == [1600 - 1970, 9999 - 1970]


def test_seconds_since_1970():
    """As the standard library counts them; milliseconds, infinities and words are none."""
    words = pd.Series(["1735689600", "1735689600.5", "-1", "1735689600000", "1e400", "x", "-62198755200"])
    times = read_epoch(words)
    assert datetime.fromtimestamp(1735689600, UTC).replace(tzinfo=None) == times[0].item()
    assert np.isnat(times).tolist() == [False, False, False, True, True, True, True]
    assert "milliseconds" in time_cure("1735689600000") and "seconds" in time_cure("1735689600")
    assert time_cure("2025-01-01") == ""
