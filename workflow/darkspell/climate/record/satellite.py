"""Satellite-derived hourly years, downloaded once through pvlib and cached on disk with their query.

NASA POWER (Langley Research Center): irradiance from CERES SYN1deg, temperature from MERRA-2, on a grid of about one
degree. Each year has its own file, so a broken download loses one year. Each file contains its query and is used
only for the same query.
"""

import json
import threading
from pathlib import Path

import numpy as np

from darkspell.climate.record.csv_series import Rows
from darkspell.climate.record.hourly_checks import hourly_record
from darkspell.climate.record.quality_checks import no_duplicates
from darkspell.climate.record.time_checks import to_site_time
from darkspell.core.atomic_files import write_text
from darkspell.core.errors import StudyError
from darkspell.study.satellite_files import PARAMETERS, query_of, year_path

URL = "https://power.larc.nasa.gov/api/temporal/hourly/point"
PATIENCE_S = 180.0
CURE = (
    "connect to the network and run again (years already fetched are kept), or give climate.source: monthly or "
    "atlas"
)


def downloaded(site, satellite, base_dir="."):
    """Record of a site from downloaded years.

    Parameters
    ----------
    site : object
        With `latitude_deg`, `longitude_deg`, `utc_offset_h`.
    satellite : darkspell.study.climate.Satellite
    base_dir : path
        Folder to which `satellite.folder` is relative.

    Returns
    -------
    darkspell.climate.record.Record

    Raises
    ------
    StudyError
        Without a network, or if the service refuses or answers with something else.
    """
    years = range(satellite.first_year, satellite.last_year + 1)
    folder = Path(base_dir, satellite.folder)
    parts = [_year(folder, query_of(site, year)) for year in years]
    times, ghi, temp = (np.concatenate(columns) for columns in zip(*parts, strict=True))
    name = f"NASA POWER, {satellite.first_year} to {satellite.last_year}"
    rows = Rows(name, times, True, ghi, {"temp_column": temp}, np.arange(times.size))
    series = _series()
    local = to_site_time(rows, series, site.utc_offset_h)
    order, faults = no_duplicates(rows, local, series)
    return hourly_record(site, rows, local, order, series, faults)


def _series():
    """Format of the service's rows: hourly means in W/m2, labelled by the beginning of the hour, in UTC."""
    from darkspell.study.climate import Series

    return Series(step="hourly", ghi_unit="W/m2", time_columns=["time"], time_zone="UTC")


def _year(folder, query):
    """Times [datetime64[s]], irradiation [Wh/m2] and temperature [degC] of one year, from disk or the service."""
    path = year_path(folder, query)
    if path.is_file():
        return _read(path, query)
    table = _fetch(query)
    head = f"# {json.dumps(query)}\n"
    write_text(
        path, head + table.to_csv(index_label="time", date_format="%Y-%m-%dT%H:%M", lineterminator="\n")
    )
    return _read(path, query)


def _read(path, query):
    import pandas as pd

    try:
        with open(path, encoding="utf-8") as file:
            stored = json.loads(file.readline().removeprefix("# "))
        table = pd.read_csv(path, skiprows=1)
        times = pd.to_datetime(table["time"], format="%Y-%m-%dT%H:%M").to_numpy().astype("datetime64[s]")
        values = [table[name].to_numpy(float) for name in PARAMETERS]
    except (ValueError, KeyError, OSError) as error:
        raise StudyError(
            f"{path}: does not read as a downloaded year ({error}); delete it and run again"
        ) from error
    if stored != query:
        raise StudyError(f"{path}: was fetched with another query; delete it and run again")
    return times, *values


def _fetch(query):
    """One year from the service, as a table in UTC, with a time limit."""
    import requests

    answer = {}

    def ask():
        from pvlib import iotools

        try:
            answer["table"], _ = iotools.get_nasa_power(
                query["latitude"], query["longitude"], query["start"], query["end"], list(PARAMETERS), url=URL
            )
        except Exception as error:
            answer["error"] = error

    worker = threading.Thread(target=ask, daemon=True)
    worker.start()
    worker.join(PATIENCE_S)
    year, error = query["start"][:4], answer.get("error")
    if "table" in answer:
        return _checked(answer["table"], year)
    if isinstance(error, requests.HTTPError):
        raise StudyError(
            f"climate.source: the satellite service refused the year {year} ({_first_words(error)}); check site and "
            "climate.satellite"
        )
    if error is not None and not isinstance(error, requests.RequestException | OSError):
        raise StudyError(
            f"climate.source: the satellite service answered the year {year} with something that is no series "
            f"({type(error).__name__}: {_first_words(error)}); try again later"
        )
    why = "it does not answer" if error is None else f"{type(error).__name__}"
    raise StudyError(f"climate.source: the satellite service cannot be reached for {year} ({why}); {CURE}")


def _checked(table, year):
    missing = [name for name in PARAMETERS if name not in table]
    if missing or len(table) < 8760:
        raise StudyError(
            f"climate.source: the satellite service gave {len(table)} hours of {year}"
            + (f" without {missing[0]}" if missing else "")
            + "; a year has 8760: choose years that are over"
        )
    return table[list(PARAMETERS)].tz_convert("UTC").tz_localize(None)


def _first_words(error):
    return " ".join(str(error).split())[:160]
