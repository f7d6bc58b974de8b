"""Series for the tests: Wageningen's measured days, and the hours of a typical year as a user may have them."""

from importlib.util import find_spec
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd

from darkspell.climate.extraterrestrial import daily_extraterrestrial
from darkspell.climate.record import record_of
from darkspell.climate.weather_file import find_weather_file, read_weather_file
from darkspell.study.climate import Climate, Series

GREENSBORO = "pvlib:723170TYA.CSV"
WAGENINGEN = SimpleNamespace(latitude_deg=51.97, longitude_deg=5.67, altitude_m=7.0, utc_offset_h=1.0)
WAGENINGEN_SERIES = {
    "step": "daily",
    "time_columns": ["year", "doy"],
    "time_format": "%Y %j",
    "ghi_column": "kj",
    "ghi_unit": "kJ/m2",
    "temp_min_column": "tmin",
    "temp_max_column": "tmax",
    "repair": ["duplicates"],
}


def write_wageningen(path):
    """The daily file of Wageningen (Haarweg) 1976-1999 that the package pcse carries, as one CSV."""
    folder = Path(find_spec("pcse").submodule_search_locations[0], "tests", "test_data")
    lines = ["year,doy,kj,tmin,tmax"]
    for file in sorted(folder.glob("NL1.9*")):
        for line in file.read_text(encoding="latin-1").splitlines():
            parts = line.split()
            if len(parts) == 9 and parts[0] == "1" and parts[1].isdigit():
                lines.append(",".join(parts[1:6]))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def wageningen_weather():
    """Whole years of Wageningen without 29 February: month, temp [degC], kt [-], rain [mm], by the day."""
    folder = Path(find_spec("pcse").submodule_search_locations[0], "tests", "test_data")
    rows = {}
    for file in sorted(folder.glob("NL1.9*")):
        for line in file.read_text(encoding="latin-1").splitlines():
            parts = line.split()
            if len(parts) == 9 and parts[0] == "1" and parts[1].isdigit():
                day = pd.Timestamp(int(parts[1]), 1, 1) + pd.Timedelta(days=int(parts[2]) - 1)
                rows.setdefault(day, [float(parts[i]) for i in (3, 4, 5, 8)])
    table = pd.DataFrame.from_dict(rows, orient="index", columns=["kj", "low", "high", "rain"]).sort_index()
    table = table[(table.index.month != 2) | (table.index.day != 29)]
    table = table[table.groupby(table.index.year)["kj"].transform("size") == 365]
    outside = daily_extraterrestrial(WAGENINGEN.latitude_deg, np.tile(np.arange(1, 366), len(table) // 365))
    table["month"], table["temp"] = table.index.month, (table["low"] + table["high"]) / 2.0
    return table.assign(kt=table["kj"] / 3600.0 / outside)


def wageningen(folder, **changes):
    """Record of Wageningen, read as a study reads it."""
    write_wageningen(folder / "wageningen.csv")
    return read(folder, WAGENINGEN, "wageningen.csv", **(WAGENINGEN_SERIES | changes))


def read(folder, site, file, **series):
    """Record of a file in a folder."""
    climate = Climate(source="measured", file=file, series=Series(**series))
    return record_of(SimpleNamespace(site=site, climate=climate), folder)


def greensboro():
    """Site and hours of the typical year of Greensboro, two years of them, as a table by local time."""
    weather = read_weather_file(find_weather_file(GREENSBORO))
    site = SimpleNamespace(
        latitude_deg=weather.latitude,
        longitude_deg=weather.longitude,
        altitude_m=270.0,
        utc_offset_h=weather.utc_offset,
    )
    times = pd.date_range("2001-01-01", "2002-12-31 23:00", freq="h")
    table = pd.DataFrame({"ghi": np.tile(weather.ghi, 2), "temp": np.tile(weather.temp_air, 2)}, times)
    return site, table


def write_hours(path, table, label="%Y-%m-%d %H:%M"):
    """Write a table of hours as a CSV with the column ``date`` before its own."""
    table.to_csv(path, index_label="date", date_format=label)
