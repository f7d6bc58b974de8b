"""Forms in which loggers and spreadsheets write a log: the same rows come back from each, or one clear refusal.

Four days of rows ten minutes apart, an invented log. What the rows hold is known, so nothing is copied from a result.
"""

import numpy as np
import pytest

from darkspell.core.errors import StudyError
from darkspell.log_analysis.reader import read_log
from darkspell.study.log_format import Log

COUNT = 24 * 6 * 4
TIMES = np.datetime64("2024-05-01T00:00") + 10 * np.arange(COUNT).astype("m8[m]")
CURRENT = np.round(4.0 * np.sin(np.arange(COUNT) / 23.0) - 1.0, 2)
VOLTAGE = np.round(13.0 + 0.3 * np.sin(np.arange(COUNT) / 30.0), 2)


def at(form):
    return [moment.astype("M8[s]").item().strftime(form) for moment in TIMES]


def rows(times, separator=",", current=None, voltage=None, head=None):
    """Text of a log; cells as they are given."""
    current = [f"{value:.2f}" for value in CURRENT] if current is None else current
    voltage = [f"{value:.2f}" for value in VOLTAGE] if voltage is None else voltage
    head = separator.join(["time", "current", "voltage"]) if head is None else head
    return (
        head + "\n" + "".join(separator.join(row) + "\n" for row in zip(times, current, voltage, strict=True))
    )


def comma(values, places=2):
    return [f"{value:.{places}f}".replace(".", ",") for value in values]


ISO, POINTED = at("%Y-%m-%d %H:%M"), at("%d.%m.%Y %H:%M")
THOUSANDS = [f"{1000 * value:,.1f}" for value in CURRENT]
SWAPPED = [text.translate(str.maketrans(",.", ".,")) for text in THOUSANDS]
NIGHT = [time.replace("AM", "a.m.").replace("PM", "p.m.") for time in at("%m/%d/%Y %I:%M %p")]
SERIAL = [f"{(one - np.datetime64('1899-12-30T00:00')) / np.timedelta64(1, 'D'):.6f}" for one in TIMES]
LAST = [
    str(one - np.timedelta64(1, "D"))[:10] + " 24:00"
    if str(one)[11:] == "00:00"
    else str(one).replace("T", " ")
    for one in TIMES
]
MOVED = [
    str(one + np.timedelta64(1, "h") * (k >= 300)).replace("T", " ") + f":00+0{1 + (k >= 300)}:00"
    for k, one in enumerate(TIMES)
]
MERGED = [(str(one)[:10] if k % 144 == 0 else "") + "," + str(one)[11:] for k, one in enumerate(TIMES)]
UNITS = "time;current;voltage\n;(A);(V)"
MILLI = dict(
    current=[f"{1000 * value:.0f}" for value in CURRENT], voltage=[f"{1000 * value:.0f}" for value in VOLTAGE]
)


@pytest.mark.parametrize(
    ("text", "keys", "encoding"),
    [
        (rows(POINTED, ";", comma(CURRENT), comma(VOLTAGE)), {"time_format": "%d.%m.%Y %H:%M"}, "utf-8"),
        (rows(ISO, ";", comma(CURRENT), comma(VOLTAGE), UNITS), {}, "utf-8"),
        ("sep=;\n" + rows(ISO, ";", comma(CURRENT), comma(VOLTAGE)), {}, "utf-8"),
        (rows(ISO, ";", SWAPPED), {"current_unit": "mA"}, "utf-8"),
        (rows(ISO, ",", [f'"{text}"' for text in THOUSANDS]), {"current_unit": "mA"}, "utf-8"),
        (rows(at("%m/%d/%Y %I:%M:%S %p")), {"time_format": "%m/%d/%Y %I:%M:%S %p"}, "utf-8"),
        (rows(NIGHT), {"time_format": "%m/%d/%Y %I:%M %p"}, "utf-8"),
        (rows(at("%Y-%m-%d %I:%M %p")), {}, "utf-8"),
        (rows(at("%d-%b-%Y %H:%M")), {}, "utf-8"),
        (rows(SERIAL), {}, "utf-8"),
        (rows(LAST), {}, "utf-8"),
        (rows(MOVED), {}, "utf-8"),
        (rows(MERGED, head="date,time,current,voltage"), {}, "utf-8"),
        (rows(ISO, current=[f"{value:.2f}".replace("-", "\u2212") for value in CURRENT]), {}, "utf-8"),
        (
            rows(ISO, current=[f"({-value:.2f})" if value < 0 else f"{value:.2f}" for value in CURRENT]),
            {},
            "utf-8",
        ),
        (rows(ISO, current=[f"{-value:.2f}" for value in CURRENT]), {"charging": "negative"}, "utf-8"),
        (rows(ISO, **MILLI), {"current_unit": "mA", "voltage_unit": "mV"}, "utf-8"),
        (rows(ISO, "\t"), {}, "utf-16"),
        (rows(ISO, ";", comma(CURRENT), [f"{text} V" for text in comma(VOLTAGE)]), {}, "latin-1"),
        (rows(ISO).replace("\n", "\r"), {}, "utf-8"),
        (rows(ISO).replace("\n", ",,\n"), {}, "utf-8"),
        (rows(ISO) + "Total,123.4,\n", {}, "utf-8"),
        ("Battery,,\n" + rows(ISO), {}, "utf-8"),
    ],
)
def test_the_same_rows_come_back(tmp_path, text, keys, encoding):
    path = tmp_path / "log.csv"
    path.write_bytes(text.encode(encoding))
    found = read_log(path, Log(**keys), 1.0)
    assert np.array_equal(found.seconds, TIMES.astype("M8[s]").astype(float))
    assert found.values["current"] == pytest.approx(CURRENT, abs=6e-4)
    assert found.values["voltage"] == pytest.approx(VOLTAGE, abs=6e-4)


def read(tmp_path, text, **keys):
    (tmp_path / "log.csv").write_text(text)
    return read_log(tmp_path / "log.csv", Log(**keys), 1.0)


def test_what_is_filled_left_out_or_merged_is_counted(tmp_path):
    assert (
        "572 rows without a date took that of the row above."
        in read(tmp_path, rows(MERGED, head="date,time,current,voltage")).notes
    )
    twice = [ISO[k // 2 * 2] for k in range(COUNT)]
    assert any(note.startswith("288 rows repeat the time") for note in read(tmp_path, rows(twice)).notes)
    cells = ["#N/A" if k % 31 == 0 else f"{value:.2f}" for k, value in enumerate(CURRENT)]
    assert "19 cells of current held no readable number." in read(tmp_path, rows(ISO, current=cells)).notes


@pytest.mark.parametrize("times", [POINTED, at("%m/%d/%Y %I:%M %p"), [f"{time} GMT+1" for time in ISO]])
def test_a_time_that_may_be_read_two_ways_is_refused_with_the_key_to_set(tmp_path, times):
    with pytest.raises(StudyError, match=r"row 2.*log\.time_format"):
        read(tmp_path, rows(times))


def test_the_end_of_summer_time_asks_for_the_zone(tmp_path):
    autumn = np.datetime64("2024-10-25T00:00") + 10 * np.arange(COUNT).astype("m8[m]")
    back = autumn >= np.datetime64("2024-10-27T03:00")
    times = [str(one).replace("T", " ") for one in autumn - np.timedelta64(1, "h") * back]
    assert any("set log.time_zone by its name" in note for note in read(tmp_path, rows(times)).notes)
    named = read(tmp_path, rows(times), time_zone="Europe/Vienna")
    assert np.all(np.diff(named.seconds) == 600.0)
