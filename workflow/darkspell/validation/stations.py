"""Measured stations for judging the weather model: those of a folder, and Wageningen from the package pcse.

The folder has one CSV file per station with the columns ``date, ghi_MJ_m2_d``. Locations are in ``stations.csv``
(columns ``file, name, latitude, longitude``) or in a table of README.md (columns file, station, lat, lon). The data
are not copied; the chapter stores only results.
"""

import re
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from types import SimpleNamespace

import numpy as np

from darkspell.climate.record.study_years import days_of_years
from darkspell.core.calendar import DAYS, Calendar
from darkspell.core.errors import StudyError
from darkspell.validation.dark_spells import winters

DAILY = {"step": "daily", "ghi_column": "ghi_MJ_m2_d", "ghi_unit": "MJ/m2", "repair": ["duplicates"]}
WAGENINGEN = ("Wageningen", 51.97, 5.67)
MOST_MISSING = 120  # days of a year in the joint test
FEWEST_YEARS = 3
KNOWN_WINTER = 0.9  # share of known days of a winter
# Standard deviation of daily clearness within its month, median of the months [-]; the 24 stations and 88 satellite
# series of workflow/data/README.md have 0.08 or more.
LEAST_SPREAD = 0.03
NUMBER = r"-?\d+(?:\.\d+)?"


@dataclass(frozen=True)
class Station:
    """One measured station.

    Parameters
    ----------
    name : str
    site : object
        With `latitude_deg`, `longitude_deg`, `altitude_m`, `utc_offset_h`.
    record : darkspell.climate.record.Record
    """

    name: str
    site: object
    record: object

    @property
    def start_month(self):
        """First month of the study year."""
        return 7 if self.site.latitude_deg >= 0 else 1


def read_stations(folder=None, set_aside=None):
    """Stations of a folder, and Wageningen where the package pcse is installed.

    Parameters
    ----------
    folder : path-like, optional
    set_aside : list, optional
        Takes (name, reason) of each station that cannot be read or judged; without it the first is an error.

    Returns
    -------
    list of Station

    Raises
    ------
    StudyError
        If there is no station, or a file cannot be read.
    """
    stations = []
    if folder is not None:
        path = Path(folder)
        if not path.is_dir():
            raise StudyError(f"stations: {folder} is not a folder; give --config stations=<folder>")
        for file, name, *where in listed(path):
            try:
                station = _station(path / file, name, *where)
                fault = unfit(station)
            except StudyError as error:
                station, fault = None, str(error)
            if fault is None:
                stations.append(station)
            elif set_aside is None:
                raise StudyError(f"{name}: {fault}")
            else:
                set_aside.append((name, fault))
    if find_spec("pcse"):
        stations.append(_wageningen())
    if not stations:
        raise StudyError(
            "stations: none; give --config stations=<folder> with daily files and a stations.csv, or install the "
            "package pcse, which carries Wageningen"
        )
    return stations


def unfit(station):
    """Why a station cannot judge the model, or None.

    Parameters
    ----------
    station : Station

    Returns
    -------
    str or None
    """
    record, latitude = station.record, station.site.latitude_deg
    _, days = days_of_years(record, Calendar(station.start_month))
    known = np.where(days >= 0, np.isfinite(record.kt[days]), False)
    years = int((known.sum(axis=1) >= DAYS - MOST_MISSING).sum())
    if years < FEWEST_YEARS:
        return f"{years} study years with {DAYS - MOST_MISSING} known days or more; {FEWEST_YEARS} are needed"
    rows = winters(record.dates, record.kt, latitude)
    if not rows.size or not (np.isfinite(rows).mean(axis=1) > KNOWN_WINTER).any():
        return f"no winter has {100 * KNOWN_WINTER:.0f} % of its days (days of the polar night do not count)"
    spread = np.median([np.nanstd(record.kt[record.month == month]) for month in range(12)])
    if spread < LEAST_SPREAD:
        return (
            f"daily clearness varies by {spread:.3f} within its months, measured days by 0.08 or more: these are "
            "means or constants, not measured days"
        )
    return None


def listed(folder):
    """Stations that a folder lists.

    Parameters
    ----------
    folder : pathlib.Path

    Returns
    -------
    list of (str, str, float, float)
        File, name, latitude and longitude [degrees].

    Raises
    ------
    StudyError
        If the folder does not give the locations.
    """
    table = folder / "stations.csv"
    readme = folder / "README.md"
    if table.is_file():
        rows = _from_csv(table)
    elif readme.is_file():
        rows = _from_readme(readme.read_text(encoding="utf-8"))
    else:
        rows = []
    rows = [row for row in rows if (folder / row[0]).is_file()]
    if not rows:
        raise StudyError(
            f"stations: {folder} does not give the locations of its stations; put a stations.csv there with columns "
            "file, name, latitude, longitude"
        )
    return rows


def _from_csv(path):
    import pandas as pd

    table = pd.read_csv(path)
    missing = {"file", "name", "latitude", "longitude"} - set(table.columns)
    if missing:
        raise StudyError(
            f"{path.name}: no column {sorted(missing)[0]}; it needs file, name, latitude, longitude"
        )
    for name in ("latitude", "longitude"):
        table[name] = pd.to_numeric(table[name], errors="coerce")
    columns = (table[name] for name in ("file", "name", "latitude", "longitude"))
    return [(Path(str(f)).name, str(n), float(y), float(x)) for f, n, y, x in zip(*columns, strict=True)]


def _from_readme(text):
    """Rows ``| file.csv | name | latitude, longitude | ...`` of a table in Markdown."""
    found = re.findall(
        rf"^\|\s*([\w.-]+\.csv)\s*\|\s*([^|]+?)\s*\|\s*({NUMBER})\s*,\s*({NUMBER})\s*\|", text, re.M
    )
    return [(file, re.sub(r"[,(].*", "", name).strip(), float(y), float(x)) for file, name, y, x in found]


def _station(path, name, latitude, longitude):
    from darkspell.study.climate import Series

    if not (abs(latitude) <= 90.0 and abs(longitude) <= 180.0):
        raise StudyError(
            f"{path.name}: its latitude and longitude are no numbers within -90 to 90 and -180 to 180 degrees; "
            "correct them in stations.csv"
        )
    return _read(path, name, latitude, longitude, Series(**DAILY))


def _read(path, name, latitude, longitude, series):
    from darkspell.climate.record.reader import measured

    site = SimpleNamespace(
        name=name,
        latitude_deg=latitude,
        longitude_deg=longitude,
        altitude_m=0.0,
        utc_offset_h=float(round(longitude / 15.0)),
    )
    climate = SimpleNamespace(file=path.name, series=series)
    return Station(name, site, measured(site, climate, path.parent))


def _wageningen():
    """The daily file of Wageningen (Haarweg), 1976-1999, that the package pcse carries for its own tests."""
    from tempfile import TemporaryDirectory

    from darkspell.study.climate import Series

    folder = Path(find_spec("pcse").submodule_search_locations[0], "tests", "test_data")
    lines = ["year,day,kj,low,high"]
    for file in sorted(folder.glob("NL1.9*")):
        rows = (line.split() for line in file.read_text(encoding="latin-1").splitlines())
        lines += [",".join(row[1:6]) for row in rows if len(row) == 9 and row[0] == "1" and row[1].isdigit()]
    series = Series(
        step="daily", time_columns=["year", "day"], time_format="%Y %j", ghi_column="kj", ghi_unit="kJ/m2",
        temp_min_column="low", temp_max_column="high", repair=["duplicates"],
    )  # fmt: skip
    with TemporaryDirectory() as place:
        path = Path(place, "wageningen.csv")
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return _read(path, *WAGENINGEN, series)
