"""Mutants of weather files: measured series by the day and the hour, and typical years."""

from datetime import datetime, timedelta
from functools import cache
from importlib.util import find_spec
from math import cos, exp, pi, sin
from pathlib import Path

from dev.fuzz.table_mutants import FORMATS, ZONES, Table, mutated
from dev.fuzz.values import spoilt_bytes

PVLIB = Path(find_spec("pvlib").submodule_search_locations[0], "data")
SERIES = {
    "daily": {"step": "daily", "ghi_unit": "kWh/m2", "temp_column": "temp"},
    "hourly": {"step": "hourly", "time_columns": ["date"], "ghi_unit": "W/m2", "temp_column": "temp"},
    "two": {
        "step": "hourly",
        "time_columns": ["day", "hour"],
        "time_format": "%Y-%m-%d %H",
        "ghi_unit": "W/m2",
    },
}


def weather_mutant(rng):
    """A weather file and the section ``climate`` that names it.

    Parameters
    ----------
    rng : random.Random

    Returns
    -------
    str
        Name of the file.
    bytes
        Its contents.
    dict
        The section.
    list of str
        Names of the mutations.
    """
    kind = rng.choice(("daily", "daily", "daily", "hourly", "two", "TMY2", "TMY3", "EPW"))
    if kind not in SERIES:
        name = {"TMY2": "made.tm2", "TMY3": "madeTY.csv", "EPW": "made.epw"}[kind]
        data, done = _typical(rng, kind)
        return name, data, {"source": "typical_year", "file": name}, [kind, *done]
    table = _series(kind)
    data = mutated(rng, table)
    series = dict(SERIES[kind])
    if rng.random() < 0.4:
        table.done.append(_otherwise(rng, series))
    return "made.csv", data, {"source": "measured", "file": "made.csv", "series": series}, [kind, *table.done]


def _otherwise(rng, series):
    """Change one key of how to read the series."""
    key, values = rng.choice(
        (
            ("time_format", FORMATS), ("time_zone", ZONES), ("hour_label", ("beginning", "middle", "end")),
            ("ghi_unit", ("W/m2", "Wh/m2", "kWh/m2", "J/cm2", "kJ/m2", "MJ/m2")), ("step", ("hourly", "daily")),
            ("separator", (",", ";", "tab", "blank")), ("decimal", (".", ",")), ("header_row", (1, 2, 3, 200)),
            ("repair", ([], ["duplicates"], ["short_gaps"], ["duplicates", "short_gaps", "shift"])),
            ("time_columns", (["date"], ["date", "date"], ["ghi"], ["day", "hour"], ["nothing"])),
            ("ghi_column", ("ghi", "date", "temp", "", "nothing")), ("temp_unit", ("C", "K", "F")),
        )
    )  # fmt: skip
    series[key] = rng.choice(values)
    return f"series.{key}"


def _sun(day, hour):
    """Rough irradiance of a clear hour at 45 degrees north [W/m2]."""
    height = 0.71 * sin(0.41 * sin(2 * pi * (day - 80) / 365)) + 0.71 * cos(0.41) * cos(pi * (hour - 12) / 12)
    return 900.0 * max(height, 0.0)


@cache
def _rows(kind):
    """Rows of a made series: two years of days or one of hours, with a fixed pattern of cloud."""
    start, rows = datetime(2021, 1, 1), []
    for n in range(730 if kind == "daily" else 8760):
        at = start + timedelta(days=n) if kind == "daily" else start + timedelta(hours=n)
        day = at.timetuple().tm_yday
        cloud = (
            0.35 + 0.6 * exp(-((n * 7919 % 101) / 40.0))
            if kind == "daily"
            else 0.35 + 0.6 * (day * 7919 % 7 / 7)
        )
        temp = f"{10 - 9 * cos(2 * pi * (day - 20) / 365):.1f}"
        if kind == "daily":
            rows.append(
                (f"{at:%Y-%m-%d}", f"{cloud * sum(_sun(day, h) for h in range(24)) / 1000:.3f}", temp)
            )
        else:
            when = (f"{at:%Y-%m-%d %H:%M}",) if kind == "hourly" else (f"{at:%Y-%m-%d}", f"{at:%H}")
            rows.append((*when, f"{cloud * _sun(day, at.hour + 0.5):.1f}", temp))
    return rows


def _series(kind):
    names = {"two": ["day", "hour", "ghi", "temp"]}.get(kind, ["date", "ghi", "temp"])
    return Table(list(names), [list(row) for row in _rows(kind)])


@cache
def _lines(kind):
    if kind == "EPW":
        return _epw()
    file = {"TMY2": "12839.tm2", "TMY3": "723170TYA.CSV"}[kind]
    return tuple((PVLIB / file).read_text(encoding="latin-1").splitlines())


def _epw():
    """A made EPW file: eight lines above 8,760 rows of 35 cells."""
    head = [
        "LOCATION,Nowhere,-,-,made,0,45.0,10.0,1.0,200.0", "DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0", "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,made", "COMMENTS 2,made",
        "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
    ]  # fmt: skip
    rows = []
    for row in _rows("hourly"):
        at = datetime.fromisoformat(row[0])
        cells = [
            f"{at.year}",
            f"{at.month}",
            f"{at.day}",
            f"{at.hour + 1}",
            "60",
            "?",
            row[2],
            "5",
            "70",
            "98000",
        ]
        cells += ["0", "0", "300", f"{float(row[1]):.0f}", "0", "0", *["0"] * 19]
        rows.append(",".join(cells))
    return (*head, *rows)


def _typical(rng, kind):
    lines, done = list(_lines(kind)), []
    for _ in range(rng.choice((1, 1, 2))):
        mutate = rng.choice((_one_line, _gone, _twice, _cell, _cut, _head))
        mutate(rng, lines)
        done.append(mutate.__name__.strip("_"))
    data = ("\n".join(lines) + "\n").encode("latin-1", "replace")
    if rng.random() < 0.2:
        return spoilt_bytes(rng, data.decode("latin-1").encode()), [*done, "spoilt_bytes"]
    return data, done


def _one_line(rng, lines):
    if not lines:
        return
    at = rng.randrange(len(lines))
    lines[at] = rng.choice(
        ("", lines[at][:40], lines[at] + "9", lines[at].replace("0", "O"), "x", lines[at][::-1])
    )


def _gone(rng, lines):
    at = rng.randrange(len(lines) + 1)
    del lines[at : at + rng.choice((1, 24, 3000))]


def _twice(rng, lines):
    at = rng.randrange(len(lines) + 1)
    lines[at:at] = lines[at : at + rng.choice((1, 24))]


def _cell(rng, lines):
    if not lines:
        return
    at = rng.randrange(len(lines))
    mark = "," if "," in lines[at] else " "
    cells = lines[at].split(mark)
    cells[rng.randrange(len(cells))] = rng.choice(
        ("", "9999", "-9999", "nan", "x", "1e400", "25", "0", "13/45/2001", "24:60")
    )
    lines[at] = mark.join(cells)


def _cut(rng, lines):
    del lines[rng.randrange(len(lines) + 1) :]


def _head(rng, lines):
    if lines:
        at = rng.randrange(min(len(lines), 9))
        lines[at] = rng.choice(
            (lines[at].replace(",", ";"), lines[at].upper(), "", lines[at].replace("1", "-999"), "LOCATION,")
        )
