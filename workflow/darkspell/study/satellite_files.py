"""Names of the files that downloaded years are kept in, and the query that each answers."""

from pathlib import Path

PARAMETERS = ("ghi", "temp_air")


def stored_files(site, satellite, base_dir="."):
    """Files of the years that are already on disk.

    Parameters
    ----------
    site : object
        With `latitude_deg`, `longitude_deg`.
    satellite : darkspell.study.climate.Satellite
    base_dir : path
        Folder to which `satellite.folder` is relative.

    Returns
    -------
    list of pathlib.Path
    """
    years = range(satellite.first_year, satellite.last_year + 1)
    paths = [year_path(Path(base_dir, satellite.folder), query_of(site, year)) for year in years]
    return [path for path in paths if path.is_file()]


def query_of(site, year):
    """Query of one year at a site; also the first line of its file.

    Parameters
    ----------
    site : darkspell.study Site
    year : int
    """
    return {
        "service": "NASA POWER hourly point",
        "latitude": round(float(site.latitude_deg), 4),
        "longitude": round(float(site.longitude_deg), 4),
        "start": f"{year}-01-01",
        "end": f"{year}-12-31",
        "parameters": list(PARAMETERS),
        "time_standard": "UTC",
    }


def year_path(folder, query):
    """Path of the file of one year.

    Parameters
    ----------
    folder : path-like
    query : object
        As `query_of` gives it.

    Returns
    -------
    pathlib.Path
    """
    location = f"{query['latitude']:.4f}_{query['longitude']:.4f}"
    return folder / f"nasa_power_{location}_{query['start'][:4]}.csv"
