"""Where the weather file of a study lies."""

from difflib import get_close_matches
from importlib.util import find_spec
from pathlib import Path

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


def file_faults(study):
    """What is wrong with the study's weather file, as a list of sentences (empty if nothing)."""
    name = study.climate.file
    path = weather_file(study)
    if name is None or (path is not None and _is_file(path)):
        return []
    if name.startswith(PREFIX):
        known = sorted(entry.name for entry in _pvlib_data().iterdir() if _weather(entry.name))
        near = get_close_matches(name.removeprefix(PREFIX), known, n=1)
        guess = f"did you mean {PREFIX}{near[0]}?" if near else f"it carries {', '.join(known)}"
        return [f'climate.file: "{name}" is not in pvlib\'s data folder; {guess}']
    return [f'climate.file: "{name}" does not exist beside the study file; check the path']


def _is_file(path):
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def _weather(name):
    return name.lower().endswith((".tm2", "ty.csv", "tya.csv", ".epw"))


def _pvlib_data():
    return Path(find_spec("pvlib").submodule_search_locations[0], "data")
