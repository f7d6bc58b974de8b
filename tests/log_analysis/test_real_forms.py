"""Logs in the forms that loggers and spreadsheets really write; each form from general knowledge of data files."""

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from darkspell.core.errors import StudyError
from darkspell.log_analysis.plausibility import plausible
from darkspell.log_analysis.reader import read_log
from darkspell.study.errors import faults_of
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


TABLE = (
    '"TOA5","Invented weir","model","17","1.0","weir.prg","4711","weir"\n'
    '"TIMESTAMP","RECORD","BattV","Pond_Avg"\n"TS","RN","Volts","m"\n"","","Smp","Avg"\n'
)


def test_a_table_of_four_header_rows_is_known_by_its_first_cell(tmp_path):
    """The published form: station, names, units and processing, then rows; no key but the voltage's."""
    text = (
        TABLE
        + '"2025-01-01 00:00:00",1,12.5,3\n"2025-01-01 00:15:00",2,"NAN",3\n"2025-01-01 00:30:00",3,12.6,3\n'
    )
    rows = written(tmp_path, text, voltage_column="BattV")
    assert rows.seconds[0] == JAN and rows.values["voltage"][[0, 2]] == pytest.approx([12.5, 12.6])
    with pytest.raises(StudyError, match='has no column "battv"; it has "TIMESTAMP", "RECORD", "BattV"'):
        written(tmp_path, text, voltage_column="battv")


REMARKS = (
    "# FORM 1.0\n# [FIELDS]\n# fields = timestamp,ISWR,V\n# units = time,W/m^2,V\n"
    "# names_in_store = t,swin,v\n# [DATA]\n# \n"
    "2025-01-01 00:00:00,5,12.5\n# pause\n2025-01-01 00:10:00,6,12.6\n"
)


@pytest.mark.parametrize("time", ["timestamp", ["# fields = timestamp"], "time"])
def test_names_in_a_row_of_remarks(tmp_path, time):
    rows = written(tmp_path, REMARKS, voltage_column="V", time_column=time)
    assert rows.values["voltage"] == pytest.approx([12.5, 12.6])
    assert rows.seconds.tolist() == [JAN, JAN + 600]


@pytest.mark.parametrize("header", ["Y M D h m s battery\n", ""])
def test_blanks_between_columns_and_time_in_six(tmp_path, header):
    text = header + "2025 01 01 00 00 00  12.50\n2025 01 01 00 10 00  12.60 \n"
    names = {"time_column": list("YMDhms"), "voltage_column": "battery"}
    if not header:
        names = {"time_column": [1, 2, 3, 4, 5, 6], "voltage_column": 7}
    rows = written(tmp_path, text, **names)
    assert rows.seconds.tolist() == [JAN, JAN + 600] and rows.values["voltage"] == pytest.approx([12.5, 12.6])


def test_a_file_without_names_and_with_rows_of_two_lengths(tmp_path):
    text = "\n2025-01-01 00:00,1,2\n2025-01-01 00:10,1,2,3,12.5\n2025-01-01 00:20,1,2\n2025-01-01 00:30,1,2,3,12.6\n"
    rows = written(tmp_path, text, time_column="1", voltage_column="5")
    assert rows.values["voltage"][[1, 3]] == pytest.approx([12.5, 12.6]) and np.isnan(
        rows.values["voltage"][0]
    )
    with pytest.raises(StudyError, match="no row of names; give the columns by their positions"):
        written(tmp_path, text, voltage_column="battery")
    with pytest.raises(StudyError, match="its rows have 5 cells"):
        written(tmp_path, text, time_column="1", voltage_column="9")


def test_a_time_of_two_columns_below_one_name_is_explained(tmp_path):
    with pytest.raises(StudyError, match="date and time are two columns"):
        written(tmp_path, "time voltage\n2025-01-01 00:00 12.5\n2025-01-01 00:10 12.6\n")


@pytest.mark.parametrize("mark", ['"', ""])
def test_a_row_cut_off_within_a_quotation_mark_is_dropped_and_named(tmp_path, mark):
    lines = [f"{mark}2025-01-01 {h:02d}:{m:02d}:00{mark},12.5" for h in range(5) for m in range(0, 60, 5)]
    lines[20] = '"2025-01-01 01' if mark else '2025-01-01 01:40:00,"12'
    rows = written(tmp_path, "time,voltage\n" + "\n".join(lines) + "\n")
    assert rows.seconds.size == 59 and (rows.values["voltage"] == 12.5).all()
    assert "1 row cut off within quotation marks (row 22) was left out." in rows.notes


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (["a"] * 7, "log.time_column: a list of 7"),
        (3.5, "log.time_column"),
        ([], "log.time_column"),
        ("", "log.time_column"),
    ],
)
def test_a_wrong_time_column_is_said_without_names_of_types(value, words):
    with pytest.raises(ValidationError) as error:
        Log(time_column=value)
    items = [{**item, "loc": ("log", *item["loc"])} for item in error.value.errors(include_url=False)]
    (fault,) = faults_of(SimpleNamespace(errors=lambda include_url: items))
    assert fault.startswith("log.time_column: ") and "constrained" not in fault and "list[" not in fault
