"""Logs in the forms that loggers and spreadsheets really write; each form from general knowledge of data files."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from darkspell.core.errors import StudyError
from darkspell.log_analysis.plausibility import plausible
from darkspell.log_analysis.reader import read_log
from darkspell.study.log_format import Log

JAN = 1735689600  # 2025-01-01 00:00 UTC, by `date -u -d 2025-01-01 +%s`


def written(tmp_path, text, **keys):
    path = tmp_path / "log.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_log(path, Log(**keys), 1.0)


def test_header_of_several_rows_with_units_below(tmp_path):
    text = (
        "Station 7\nlogger,firmware 2\n\ntime,voltage,current\nTS,Volts,Amps\n,Smp,Avg\n"
        '"2025-01-01 00:00:00",12.5,-1\n"2025-01-01 00:10:00",12.6,2\n'
    )
    rows = written(tmp_path, text)
    assert rows.values["voltage"] == pytest.approx([12.5, 12.6]) and rows.seconds[0] == JAN
    notes = " ".join(rows.notes)
    assert "3 rows above the header were skipped" in notes and "2 rows between header and values" in notes


def test_header_row_and_skip_rows_are_obeyed(tmp_path):
    text = "a\ntime,voltage\n2024-01-01 00:00,1\n2025-01-01 00:00,12.5\n2025-01-01 00:10,12.6\n"
    rows = written(tmp_path, text, header_row=2, skip_rows=1)
    assert rows.values["voltage"] == pytest.approx([12.5, 12.6])


def test_codes_for_missing_values_are_counted(tmp_path):
    text = "time,voltage\n" + "".join(
        f"2025-01-01 00:{m:02d},{v}\n"
        for m, v in enumerate(["NAN", -999, 7999, "-9999.0", "bad", -1, 12.5, 12.6])
    )
    rows = written(tmp_path, text, missing=["bad", -1])
    assert np.isnan(rows.values["voltage"]).sum() == 6
    assert rows.values["voltage"][6:] == pytest.approx([12.5, 12.6])
    assert "5 cells of voltage held a code" in " ".join(rows.notes)


def test_milliamperes_of_7999_are_a_value(tmp_path):
    rows = written(tmp_path, "time,current\n2025-01-01 00:00,7999\n2025-01-01 00:10,1\n", current_unit="mA")
    assert rows.values["current"] == pytest.approx([7.999, 0.001])


def test_comments_and_repeated_headers_are_left_out(tmp_path):
    text = "# made by a logger\ntime,voltage\n2025-01-01 00:00,12.5\n# restart\ntime,voltage\n2025-01-01 00:10,12.6\n"
    rows = written(tmp_path, text)
    assert rows.values["voltage"] == pytest.approx([12.5, 12.6])
    notes = " ".join(rows.notes)
    assert (
        "1 row beginning with # was left out" in notes and "1 row repeating the header was left out" in notes
    )


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-8-sig", "latin-1"])
def test_encodings(tmp_path, encoding):
    text = "time;voltage;Höhe\r\n2025-01-01 00:00;12,5;1\r\n2025-01-01 00:10;12,6;1\r\n"
    assert written(tmp_path, text.encode(encoding)).values["voltage"] == pytest.approx([12.5, 12.6])


def test_values_with_their_units(tmp_path):
    text = "time,voltage,current,soc\n2025-01-01 00:00,12.8 V,-250 mA,50%\n2025-01-01 00:10,13 V,2 A,51 %\n"
    rows = written(tmp_path, text)
    assert rows.values["voltage"] == pytest.approx([12.8, 13.0])
    assert rows.values["current"] == pytest.approx([-0.25, 2.0])
    assert rows.values["soc"] == pytest.approx([0.5, 0.51])


def test_date_and_time_in_two_columns(tmp_path):
    text = "date,time,voltage\n2025-01-01,00:00,12.5\n2025-01-01,00:10,12.6\n"
    assert written(tmp_path, text).seconds[1] == JAN + 600
    text = "day,clock,voltage\n01.01.2025,00:00,12.5\n01.01.2025,00:10,12.6\n"
    rows = written(tmp_path, text, time_column=["day", "clock"], time_format="%d.%m.%Y %H:%M")
    assert rows.seconds[1] == JAN + 600


@pytest.mark.parametrize(("factor", "word"), [(1, "seconds since 1970"), (1000, "milliseconds since 1970")])
def test_times_counted_from_1970(tmp_path, factor, word):
    text = f"time,voltage\n{JAN * factor},12.5\n{(JAN + 600) * factor},12.6\n"
    rows = written(tmp_path, text)
    assert rows.seconds[0] == JAN + 3600 and word in " ".join(rows.notes)
    named = "milliseconds" if factor > 1 else "seconds"
    assert written(tmp_path, text, time_format=named).seconds[0] == JAN + 3600


@pytest.mark.parametrize("sign", [1, -1])
def test_charge_and_load_current_make_the_net(tmp_path, sign):
    """Each column has a sign of its own; the zero error of a sensor keeps its sign."""
    text = f"time,sun,use\n2025-01-01 00:00,5,{2 * sign}\n2025-01-01 00:10,-0.3,{2 * sign}\n"
    rows = written(tmp_path, text, charge_current_column="sun", load_current_column="use")
    assert rows.values["current"] == pytest.approx([3.0, -2.3])
    assert rows.values["load_current"] == pytest.approx([2.0, 2.0])
    with pytest.raises(StudyError, match="holds no state of charge"):
        written(tmp_path, text, charge_current_column="sun")


def test_rows_of_name_and_value(tmp_path):
    text = (
        "time,what,reading\n2025-01-01 00:00,U,12.5\n2025-01-01 00:00,I,-1\n2025-01-01 00:00,door,open\n"
        "2025-01-01 00:10,U,12.6\n2025-01-01 00:10,I,2\n"
    )
    rows = written(
        tmp_path, text, name_column="what", value_column="reading", voltage_column="U", current_column="I"
    )
    assert rows.values["voltage"] == pytest.approx([12.5, 12.6])
    assert rows.values["current"] == pytest.approx([-1.0, 2.0])


def test_what_cannot_be_is_set_aside_and_counted():
    values, notes = plausible(
        {"voltage": np.array([0.0, 12.5, 99.0]), "soc": np.array([0.5, 1.2, 0.1])}, 12.0, 100.0
    )
    assert np.isnan(values["voltage"]).tolist() == [True, False, True]
    assert np.isnan(values["soc"]).tolist() == [False, True, False]
    assert len(notes) == 2 and notes[0].startswith("2 values set aside: voltage outside 3.6 to 20.4 V")


@pytest.mark.parametrize("row", ['2025-01-01 00:00,"', '2025-01-01 00:00,"12.5'])
def test_a_quotation_mark_that_does_not_close_is_named(tmp_path, row):
    """Such a mark joins lines, so that rows can no longer be counted."""
    text = "\n".join(["time,voltage", row, '"', "time", "2025-01-01 00:00", "2025-01-01 01:00,12.5"])
    with pytest.raises(StudyError, match="quotation mark"):
        written(tmp_path, text.encode())


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(
        st.lists(
            st.sampled_from(
                ["2025-01-01 00:00", "2025-01-01 00:10", "1735689600000", "1e400", "9" * 30, "-1", "12.5", "50%",
                 "NaN", "time", "voltage", "", "#", "12,5", "99999999999999999999", "2025-13-41", "\x00", "ü",
                 '"', "24:00"]
            ),
            min_size=1,
            max_size=4,
        ),
        max_size=8,
    ),
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["utf-8", "utf-16", "latin-1"]),
)  # fmt: skip
def test_no_file_ends_in_a_traceback(tmp_path, rows, separator, encoding):
    """Whatever the cells hold: rows of values, or one message."""
    text = "\n".join([f"time{separator}voltage", *(separator.join(row) for row in rows)])
    try:
        written(tmp_path, text.encode(encoding))
    except StudyError as told:
        assert "\n" not in str(told)
