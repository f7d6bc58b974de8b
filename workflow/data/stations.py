"""Stations that the climate was fitted on, read from files that are not part of the project."""

from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pandas as pd

from darkspell.climate.extraterrestrial import daily_extraterrestrial
from darkspell.climate.record.quality_checks import stuck_days
from darkspell.core.constants import constant

STATIONS = {
    "de_bilt_1980_2019": (52.10, 5.18), "graz_2000_2021": (47.08, 15.45),
    "swift_current_1967_2018": (50.27, -107.73), "la_estanzuela_1966_1992": (-34.33, -57.70),
    "hyderabad_1975_1999": (17.53, 78.27), "carrington_1990_2017": (47.51, -99.13),
    "lushnje_1961_1984": (40.94, 19.69), "tifton_1996_2021": (31.48, -83.53),
    "ona_1992_2009": (27.26, -82.55), "palmira_1966_1984": (3.48, -76.37),
    "kadoma_1977_1990": (-18.32, 29.88), "pergamino_1967_2007": (-33.93, -60.55),
}  # fmt: skip
WAGENINGEN = 51.97, 5.67


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
    """All stations of a folder and Wageningen; list of Station."""
    read = [_station(name, *place, _csv(Path(folder) / f"{name}.csv")) for name, place in STATIONS.items()]
    return [*read, _station("wageningen_1976_1999", *WAGENINGEN, _wageningen())]


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
    """Columns of the file by their number; the first row of a date that stands there twice."""
    folder = Path(find_spec("pcse").submodule_search_locations[0], "tests", "test_data")
    found = {}
    for path in sorted(folder.glob("NL1.9*")):
        for line in path.read_text(encoding="latin-1").splitlines():
            parts = line.split()
            if len(parts) == 9 and parts[0] == "1" and parts[1].isdigit():
                day = pd.Timestamp(int(parts[1]), 1, 1) + pd.Timedelta(days=int(parts[2]) - 1)
                found.setdefault(day, [float(part) for part in parts])
    return pd.DataFrame.from_dict(found, orient="index").sort_index()
