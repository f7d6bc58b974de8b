"""Logs as people export them, good and bad."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from darkspell.core.errors import StudyError
from darkspell.log_analysis.reader import read_log
from darkspell.log_analysis.timestamps import first_column_stamps
from darkspell.study.log_format import Log


def written(tmp_path, text, **keys):
    path = tmp_path / "log.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_log(path, Log(**keys), 1.0)


def seconds(*when, zone=UTC):
    return datetime(*when, tzinfo=zone).timestamp()


@pytest.mark.parametrize(
    ("text", "keys", "word"),
    [
        ("", {}, "is empty"),
        ("time,current\n", {}, "no rows"),
        ("time,current\n2025-01-01 00:00,1\n", {}, "holds 1 row"),
        ("time,current\n2025-01-01 00:00,1\n2025-01-01 00:10,much\n", {}, 'row 3, column "current": "much"'),
        (
            "time,current\n2025-01-01 00:00,1\nyesterday,2\n",
            {},
            'row 3, column "time": "yesterday" is no time',
        ),
        ("time,current\n2025-02-29 00:00,1\n2025-03-01 00:00,2\n", {}, "row 2"),
        ("when,current\n2025-01-01 00:00,1\n", {}, "log.time_column"),
        (
            "time,amps\n2025-01-01 00:00,1\n",
            {},
            'name them in the study under log: probably as log: {current_column: "amps"}',
        ),
        (
            "time,Batt_V,I (A)\n2025-01-01 00:00,12,1\n",
            {},
            'probably as log: {voltage_column: "Batt_V", current_column: "I (A)"}',
        ),
        ("time,level\n2025-01-01 00:00,12\n", {}, "name them in the study under log:"),
        ("time,BatteryVoltage\n2025-01-01 00:00,12\n", {}, 'log: {voltage_column: "BatteryVoltage"}'),
        ("Msg time,voltage\n2025-01-01 00:00,12\n", {}, 'set log.time_column, probably to "Msg time"'),
        ("time,current\n2025-01-01 00:00,1,5\n2025-01-01 00:10,1,6\n", {}, "decimal comma"),
        ("time,current\n2025-01-01T00:00Z,1\n2025-01-01T00:10,1\n", {}, "carry an offset"),
        ("time,soc\n2025-01-01 00:00,130\n2025-01-01 00:10,90\n", {"soc_unit": "fraction"}, "log.soc_unit"),
        ("time,current\n2025-01-01 00:00,=1+1\n2025-01-01 00:10,2\n", {}, '"=1+1" is no number'),
        (b"\x00\x01\x02\x00\n", {}, "not a text file"),
    ],
)
def test_a_bad_log_gets_one_clear_message(tmp_path, text, keys, word):
    with pytest.raises(StudyError) as told:
        written(tmp_path, text, **keys)
    assert word in str(told.value) and "\n" not in str(told.value)


def test_percent_and_fractions_are_told_apart(tmp_path):
    for text in ("90", "0.9"):
        rows = written(tmp_path, f"time,soc\n2025-01-01 00:00,{text}\n2025-01-01 00:10,{text}\n")
        assert rows.values["soc"] == pytest.approx([0.9, 0.9])


def test_marks_of_spreadsheets(tmp_path):
    text = "\ufefftime;current;voltage\n2025-01-01 00:00;-1,5;12,50\n2025-01-01 00:10;;13,25\n"
    rows = written(tmp_path, text)
    assert rows.values["voltage"] == pytest.approx([12.5, 13.25])
    assert rows.values["current"][0] == -1.5 and np.isnan(rows.values["current"][1])


def test_units_and_signs(tmp_path):
    text = "t,i,u,temp\n2025-01-01 00:00,1500,12500,50\n2025-01-01 00:10,-500,13000,32\n"
    keys = dict(
        time_column="t", current_column="i", current_unit="mA", charging="negative", voltage_column="u"
    )
    rows = written(tmp_path, text, voltage_unit="mV", temperature_column="temp", temperature_unit="F", **keys)
    assert rows.values["current"] == pytest.approx([-1.5, 0.5])
    assert rows.values["voltage"] == pytest.approx([12.5, 13.0])
    assert rows.values["temperature"] == pytest.approx([10.0, 0.0])


def test_newest_first_and_steps_back(tmp_path):
    rows = written(tmp_path, "time,current\n2025-01-01 02:00,3\n2025-01-01 01:00,2\n2025-01-01 00:00,1\n")
    assert list(rows.values["current"]) == [1, 2, 3] and "order was reversed" in rows.notes[0]
    rows = written(tmp_path, "time,current\n2025-01-01 02:00,1\n2025-01-01 01:30,2\n2025-01-01 03:00,3\n")
    assert list(rows.values["current"]) == [2, 1, 3] and "went back by 30 min" in rows.notes[0]


def test_offsets_come_to_local_standard_time(tmp_path):
    text = "time,current\n2025-03-30T00:30+01:00,1\n2025-03-30T03:30+02:00,2\n2025-03-30T02:30Z,3\n"
    rows = written(tmp_path, text)
    assert list(rows.seconds - rows.seconds[0]) == [0, 2 * 3600, 3 * 3600]
    assert rows.seconds[0] == seconds(2025, 3, 30, 0, 30)


def test_a_named_zone_follows_summer_time(tmp_path):
    hours = "2025-10-26 01:30,1\n2025-10-26 02:30,2\n2025-10-26 02:15,3\n2025-10-26 03:30,4\n"
    rows = written(tmp_path, "time,current\n" + hours, time_zone="Europe/Vienna")
    local = [datetime(1970, 1, 1) + timedelta(seconds=s) for s in rows.seconds]
    assert [(one.hour, one.minute) for one in local] == [(0, 30), (1, 30), (2, 15), (3, 30)]


def test_other_time_formats(tmp_path):
    rows = written(
        tmp_path, "time,current\n31.01.2025 13:05,1\n31.01.2025 13:10,2\n", time_format="%d.%m.%Y %H:%M"
    )
    assert rows.seconds[0] == seconds(2025, 1, 31, 13, 5)
    rows = written(tmp_path, "time,current\n1738328700,1\n1738328800,2\n", time_format="seconds")
    assert rows.seconds[0] == 1738328700 + 3600


def test_quick_stamps_are_those_of_the_standard_library():
    rng = np.random.default_rng(1)
    whens = [
        datetime(1900, 1, 1) + timedelta(seconds=int(s)) for s in rng.integers(0, 200 * 365 * 86400, 400)
    ]
    whens += [datetime(2000, 2, 29, 23, 59, 59), datetime(2100, 2, 28), datetime(2024, 2, 29)]
    block = "".join(f"{when:%Y-%m-%d %H:%M:%S},1\n" for when in whens).encode()
    wanted = [int(when.replace(tzinfo=UTC).timestamp()) for when in whens]
    assert first_column_stamps(block).tolist() == wanted
    for bad in (b"2023-02-29 00:00:00,1\n", b"2023-13-01 00:00,1\n", b"2023-01-01 00:00:00Z,1\n", b"x\n"):
        assert first_column_stamps(bad) is None
