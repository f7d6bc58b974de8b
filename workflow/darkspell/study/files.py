"""Where the weather file of a study lies."""

from difflib import get_close_matches
from importlib.util import find_spec
from pathlib import Path
from types import SimpleNamespace

PREFIX = "pvlib:"


def weather_file(study):
    """Path of the study's weather file.

    Parameters
    ----------
    study : Study

    Returns
    -------
    pathlib.Path or None
        None where the climate needs no file, or its name leaves pvlib's data folder.
    """
    name = study.climate.file
    if name is None:
        return None
    if not name.startswith(PREFIX):
        return Path(study.folder or ".", name)
    plain = name.removeprefix(PREFIX)
    return _pvlib_data() / plain if plain == Path(plain).name else None


def series_files(study, section):
    """Paths of the hourly series in a section whose entries may have one, by name of the entry."""
    rows = getattr(study, section)
    return {
        name: Path(study.folder or ".", row.file) for name, row in rows.items() if getattr(row, "file", None)
    }


def weather_inputs(study):
    """Files that the study's weather is read from, with the name that the record of inputs gives them.

    Parameters
    ----------
    study : Study

    Returns
    -------
    dict
        ``{name: pathlib.Path}``; downloaded years only as far as they are on disk.
    """
    if study.climate.source == "satellite":
        from darkspell.record.satellite import stored_files

        paths = stored_files(study.site, study.climate.satellite, study.folder or ".")
        return {f"{study.climate.satellite.folder}/{path.name}": path for path in paths}
    path = weather_file(study)
    return {} if path is None else {study.climate.file: path}


def file_faults(study):
    """What is wrong with the study's files, as a list of sentences (empty if nothing)."""
    faults = _weather_faults(study, "climate")
    for name, stop in study.itinerary.items():
        place = SimpleNamespace(climate=stop.climate, folder=study.folder)
        faults += _weather_faults(place, f"itinerary.{name}.climate")
    for section in ("measured_loads", "chargers"):
        for name, path in series_files(study, section).items():
            if not _is_file(path):
                text = f'"{getattr(study, section)[name].file}" does not exist beside the study file; check the path'
                faults.append(f"{section}.{name}.file: {text}")
    return faults


def _weather_faults(study, key):
    name = study.climate.file
    path = weather_file(study)
    if name is None or (path is not None and _is_file(path)):
        return []
    if name.startswith(PREFIX):
        known = sorted(entry.name for entry in _pvlib_data().iterdir() if _weather(entry.name))
        near = get_close_matches(name.removeprefix(PREFIX), known, n=1)
        guess = f"did you mean {PREFIX}{near[0]}?" if near else f"it carries {', '.join(known)}"
        return [f'{key}.file: "{name}" is not in pvlib\'s data folder; {guess}']
    return [f'{key}.file: "{name}" does not exist beside the study file; check the path']


def _is_file(path):
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def _weather(name):
    return name.lower().endswith((".tm2", "ty.csv", "tya.csv", ".epw"))


def _pvlib_data():
    return Path(find_spec("pvlib").submodule_search_locations[0], "data")
