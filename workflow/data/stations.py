"""Stations and satellite series for the fits, read from files that are not part of the project."""

from dataclasses import dataclass, replace
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pandas as pd

from darkspell.climate.atlas_grid import great_circle
from darkspell.climate.extraterrestrial import daily_extraterrestrial
from darkspell.climate.record.quality_checks import stuck_days
from darkspell.core.constants import constant
from darkspell.validation.stations import listed

WAGENINGEN = 51.97, 5.67
NEAR_KM = 800.0  # a station is judged without all others within
SPLICE = 2001  # first year of one homogeneous part of the satellite series
FEWEST_YEARS = 5


@dataclass(frozen=True)
class Station:
    """Consecutive measured days, in the form that `darkspell.climate.from_record` takes.

    Parameters
    ----------
    kt : float array [days]
        Clearness; NaN where there is none.
    month : int array [days]
        0-11.
    dates : datetime64[D] array [days]
    """

    name: str
    latitude_deg: float
    longitude_deg: float
    kt: np.ndarray
    month: np.ndarray
    dates: np.ndarray
    temp_air = None
    temp_air_range = None
    dark = False  # no station has a polar night
    wind_in_sun = None
    altitude_m = 0.0  # unknown for the stations

    @property
    def means(self):
        """Mean clearness of the twelve months."""
        return [float(np.nanmean(self.kt[self.month == month])) for month in range(12)]

    @property
    def day_of_year(self):
        """Day of the year, 1-365."""
        return np.minimum((self.dates - self.dates.astype("datetime64[Y]")).astype(int) + 1, 365)

    @property
    def span(self):
        """First and last year."""
        return f"{str(self.dates[0])[:4]} to {str(self.dates[-1])[:4]}"

    def sentences(self):
        """Nothing is said of faults here: they are set aside on reading."""
        return []


def read_all(folder):
    """All stations of a folder and Wageningen.

    Parameters
    ----------
    folder : path-like
        With daily files and their locations, as `darkspell.validation.stations` reads it.

    Returns
    -------
    list of Station
    """
    folder = Path(folder)
    read = [_station(Path(file).stem, *where, _csv(folder / file)) for file, _, *where in listed(folder)]
    return [*read, _station("wageningen_1976_1999", *WAGENINGEN, _wageningen())]


def read_satellites(folder):
    """Daily satellite series of a folder: those from 2001 on, or else the part before.

    Parameters
    ----------
    folder : path-like
        With `stations.csv` (columns file, latitude, longitude) and the files; may be missing.

    Returns
    -------
    list of Station
    """
    table = Path(folder) / "stations.csv"
    rows = pd.read_csv(table).itertuples() if table.is_file() else []
    return [satellite(folder, row) for row in rows]


def satellite(folder, row):
    """One satellite series; `row` of `stations.csv`."""
    days = _csv(Path(folder) / row.file)
    late = days[days.index.year >= SPLICE]
    days = late if late.size >= FEWEST_YEARS * 365 else days[days.index.year < SPLICE]
    return _station(row.file.removesuffix(".csv.gz"), row.latitude, row.longitude, days)


def distances(stations):
    """Great-circle distance between all stations [km]; float64 [n, n]."""
    latitudes, longitudes = (
        np.array([getattr(s, f"{a}_deg") for s in stations]) for a in ("latitude", "longitude")
    )
    return np.array(
        [great_circle(*where, latitudes, longitudes) for where in zip(latitudes, longitudes, strict=True)]
    )


def part(station, first_year, last_year):
    """The days of some years of a station."""
    years = station.dates.astype("datetime64[Y]").astype(int) + 1970
    days = (years >= first_year) & (years <= last_year)
    return replace(station, **{name: getattr(station, name)[days] for name in ("kt", "month", "dates")})


def _station(name, latitude, longitude, ghi):
    ghi = ghi.asfreq("D")
    dates = ghi.index.to_numpy().astype("datetime64[D]")
    kt = ghi.to_numpy() / daily_extraterrestrial(latitude, np.minimum(ghi.index.day_of_year.to_numpy(), 365))
    good = (kt > 0.0) & (kt <= constant("climate", "highest_daily_kt")) & ~stuck_days(ghi.to_numpy())
    return Station(
        name, latitude, longitude, np.where(good, kt, np.nan), ghi.index.month.to_numpy() - 1, dates
    )


def _csv(path):
    table = pd.read_csv(path, parse_dates=["date"]).drop_duplicates("date").set_index("date")
    return table["ghi_MJ_m2_d"] / 3.6


def _wageningen():
    return _wageningen_rows()[3] / 3600.0


def wageningen_days():
    """Days of Wageningen: mean temperature [degC], clearness [-] and rain [mm]; table by date."""
    rows = _wageningen_rows()
    extra = daily_extraterrestrial(WAGENINGEN[0], np.minimum(rows.index.day_of_year.to_numpy(), 365))
    kt = rows[3] / 3600.0 / extra
    good = (kt > 0.0) & (kt <= constant("climate", "highest_daily_kt"))
    return pd.DataFrame({"temp": (rows[4] + rows[5]) / 2.0, "kt": kt.where(good), "rain": rows[8]})


def _wageningen_rows():
    """Columns of the file by their number; the first row of a repeated date."""
    folder = Path(find_spec("pcse").submodule_search_locations[0], "tests", "test_data")
    found = {}
    for path in sorted(folder.glob("NL1.9*")):
        for line in path.read_text(encoding="latin-1").splitlines():
            parts = line.split()
            if len(parts) == 9 and parts[0] == "1" and parts[1].isdigit():
                day = pd.Timestamp(int(parts[1]), 1, 1) + pd.Timedelta(days=int(parts[2]) - 1)
                found.setdefault(day, [float(part) for part in parts])
    return pd.DataFrame.from_dict(found, orient="index").sort_index()
