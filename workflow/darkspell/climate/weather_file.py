"""Read a typical-year weather file: EPW, TMY3 or TMY2, recognised by its content.

For all formats, hours are returned in local standard time, labelled by their
beginning, 1 January first. EPW and TMY3 name the hour by its end, TMY2 counts 1-24 by its end too;
pvlib has already moved EPW and TMY2 to the beginning, TMY3 not.
"""

import warnings
from dataclasses import dataclass
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np

from darkspell.core.atomic_files import file_hash
from darkspell.core.calendar import HOURS, MONTH_LENGTHS
from darkspell.core.constants import constant
from darkspell.core.errors import StudyError

PREFIX = "pvlib:"
COMMON_YEAR = 2001
ENCODING = "latin-1"  # decodes every byte; numbers are the same in all
# Header lines before the first hour; columns of irradiation, temperature and wind as pvlib names them, and
# the factor of temperature and wind.
FORMATS = {
    "EPW": (8, "ghi", "temp_air", "wind_speed", 1.0),
    "TMY3": (2, "ghi", "temp_air", "wind_speed", 1.0),
    "TMY2": (1, "GHI", "DryBulb", "Wspd", 0.1),
}
LOCATION_FIELDS = 10  # of the first line of an EPW file
PARTS_OF_HOUR = "5", "50", "25", "75"  # decimals that time zones have


@dataclass(frozen=True)
class WeatherYear:
    """One year of hours, 1 January first, local standard time, labelled by the beginning of the hour.

    Parameters
    ----------
    ghi : float64 array [8760]
        Global horizontal irradiation of the hour [Wh/m2].
    temp_air : float64 array [8760]
        Air temperature [degC].
    latitude, longitude : float
        Of the file [degrees].
    utc_offset : float
        Local standard time less UTC [h].
    kind : {"EPW", "TMY3", "TMY2"}
    wind : float64 array [8760]
        Wind speed 10 m above ground [m/s]; NaN where the file does not give it.
    """

    ghi: np.ndarray
    temp_air: np.ndarray
    latitude: float
    longitude: float
    utc_offset: float
    kind: str
    wind: np.ndarray

    @property
    def wind_in_sun(self):
        """Mean wind at the modules, weighted by irradiation [m/s]; 0 where half of the light has none given.

        A power law of the height with the exponent 1/7 brings it from 10 m to 2 m.
        """
        known = np.isfinite(self.wind)
        if self.ghi[known].sum() < 0.5 * self.ghi.sum():
            return 0.0
        mean = np.average(self.wind[known], weights=self.ghi[known])
        return float(mean * constant("climate", "wind_low_over_10_m"))


def find_weather_file(name, base_dir="."):
    """Path of a weather file named in a study; ``pvlib:NAME`` is in pvlib's own data folder.

    Parameters
    ----------
    name : str
    base_dir : path-like
        Folder of the study file.

    Returns
    -------
    pathlib.Path

    Raises
    ------
    StudyError
        If it is not there.
    """
    if name.startswith(PREFIX):
        folder = Path(find_spec("pvlib").submodule_search_locations[0], "data")
        path = folder / Path(name.removeprefix(PREFIX)).name
    else:
        path = Path(base_dir, name)
    if not path.is_file():
        raise StudyError(f'climate.file: "{name}" is not there; check its path, relative to the study file')
    return path


def read_weather_file(path):
    """Read a weather file of 8,760 hours (a 29 February is left out).

    Parameters
    ----------
    path : pathlib.Path

    Returns
    -------
    WeatherYear

    Raises
    ------
    StudyError
        Unknown format, hours missing or twice, a value that cannot be; names file, row and column.
    """
    return _year_of(path, file_hash(path))


@lru_cache(maxsize=4)  # reading TMY2 takes seconds, and each what-if that moves does it again
def _year_of(path, _):
    """Weather of a file with this content."""
    kind = file_kind(path)
    offset = _epw_offset(path) if kind == "EPW" else None
    table, place = _read(path, kind)
    header, ghi, temp_air, wind, factor = FORMATS[kind]
    table = table.assign(row=np.arange(len(table)) + header + 1)
    hour = _hour_of_year(table.index, kind)
    _check_hours(path, hour)
    table = table[hour >= 0].iloc[np.argsort(hour[hour >= 0], kind="stable")]
    return WeatherYear(
        ghi=_column(path, table, ghi, 1.0, constant("climate", "hourly_ghi_bounds"), "Wh/m2"),
        temp_air=_column(path, table, temp_air, factor, constant("climate", "temp_air_bounds"), "degC"),
        latitude=float(place["latitude"]),
        longitude=float(place["longitude"]),
        utc_offset=float(place["TZ"]) if offset is None else offset,
        kind=kind,
        wind=_wind(table, wind, factor),
    )


def file_kind(path):
    """Format of a weather file, from its first two lines.

    Parameters
    ----------
    path : path-like

    Returns
    -------
    str
        "EPW", "TMY3" or "TMY2".

    Raises
    ------
    darkspell.core.errors.StudyError
        If the file has none of these formats.
    """
    with open(path, encoding=ENCODING) as file:
        first, second = file.readline(), file.readline()
    if first.upper().startswith("LOCATION,"):
        return "EPW"
    if second.startswith("Date (MM/DD/YYYY)"):
        return "TMY3"
    if second[:7].strip().isdigit() and len(second.strip()) >= 140:
        return "TMY2"
    raise StudyError(
        f'{path.name}: neither EPW (first line "LOCATION,..."), TMY3 (second line "Date (MM/DD/YYYY),...") '
        "nor TMY2 (lines of 142 characters); give the file as it was downloaded, or climate.source: monthly"
    )


def _epw_offset(path):
    """Time zone of an EPW file whose first line has it with a decimal comma, in two fields; None if it has not [h].

    Raises
    ------
    StudyError
        If the line has more fields than the format for another reason.
    """
    with open(path, encoding=ENCODING) as file:
        fields = file.readline().strip().rstrip(",;").split(",")
    if len(fields) <= LOCATION_FIELDS:
        return None
    if len(fields) == LOCATION_FIELDS + 1 and fields[9] in PARTS_OF_HOUR:
        try:
            return float(f"{int(fields[8])}.{fields[9]}")
        except ValueError:
            pass
    raise StudyError(
        f"{path.name}, row 1: {len(fields)} fields, and an EPW location has {LOCATION_FIELDS}: LOCATION, city, "
        "region, country, source, station, latitude, longitude, time zone, altitude; write numbers with a decimal "
        "point, and names without commas"
    )


def _read(path, kind):
    """Table and place by pvlib, in the file's own time zone, labelled by the beginning of the hour."""
    from pvlib import iotools

    reader = {"EPW": iotools.read_epw, "TMY3": iotools.read_tmy3, "TMY2": iotools.read_tmy2}[kind]
    # One common year: in a leap year pvlib takes the last hour of 28 February for 1 March.
    options = {"coerce_year": COMMON_YEAR, "encoding": ENCODING} if kind == "TMY3" else {}
    try:
        with warnings.catch_warnings():  # pandas' warnings on odd cells; the columns read are checked below
            warnings.simplefilter("ignore")
            if kind == "EPW":  # pvlib would read UTF-8, and headers have letters of older encodings
                with open(path, encoding=ENCODING) as lines:
                    return reader(lines)
            return reader(str(path), **options)
    except (ValueError, KeyError, IndexError, TypeError, AttributeError) as error:
        raise StudyError(
            f"{path.name}: starts as {kind} but does not read on as {kind} ({str(error).split('. ')[0]}); "
            "give the file as it was downloaded, not saved again by a spreadsheet"
        ) from error


def _hour_of_year(index, kind):
    """Hour of the year, 0-8759, at which each row begins; -1 on 29 February."""
    if kind == "TMY3":
        index = index - np.timedelta64(1, "h")
    month, day = np.asarray(index.month), np.asarray(index.day)
    start = np.concatenate([[0], np.cumsum(MONTH_LENGTHS)[:-1]])
    hour = (start[month - 1] + day - 1) * 24 + np.asarray(index.hour)
    return np.where((month == 2) & (day == 29), -1, hour)


def _check_hours(path, hour):
    count = np.bincount(hour[hour >= 0], minlength=HOURS)
    if (count == 1).all():
        return
    first = int(np.argmax(count != 1))
    day = int(np.searchsorted(np.cumsum(MONTH_LENGTHS) * 24, first, side="right"))
    of_month = first // 24 - int(MONTH_LENGTHS[:day].sum()) + 1
    raise StudyError(
        f"{path.name}: a typical year has each of {HOURS} hours once, but the hour from {first % 24:02d}:00 "
        f"on day {of_month} of month {day + 1} occurs {count[first]} times "
        f"({len(hour)} rows in all); give a whole year of hours"
    )


def _wind(table, name, factor):
    """Wind [m/s]; NaN where it is missing or impossible (EPW writes 999)."""
    import pandas as pd

    values = pd.to_numeric(table[name], errors="coerce").to_numpy(float) * factor
    return np.where((values >= 0.0) & (values <= constant("record", "most_wind")), values, np.nan)


def _column(path, table, name, factor, bounds, unit):
    """One column as numbers within bounds; the first row that is not so is named."""
    import pandas as pd

    values = pd.to_numeric(table[name], errors="coerce").to_numpy(float) * factor
    bad = ~((values >= bounds[0]) & (values <= bounds[1]))
    if bad.any():
        row = table.iloc[int(np.argmax(bad))]
        raise StudyError(
            f"{path.name}, row {row['row']}, column {name}: {row[name]} does not lie within "
            f"{bounds[0] / factor:g} to {bounds[1] / factor:g} ({bounds[0]:g} to {bounds[1]:g} {unit}); "
            f"{int(bad.sum())} such rows: fill the gaps, or use another file"
        )
    return values
