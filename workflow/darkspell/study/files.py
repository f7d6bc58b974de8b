"""Paths of the files that a study names."""

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
    """Paths of the hourly series in a section.

    Parameters
    ----------
    study : darkspell.study.Study
    section : str

    Returns
    -------
    dict of pathlib.Path
        By name of the entry.
    """
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
        from darkspell.study.satellite_files import stored_files

        paths = stored_files(study.site, study.climate.satellite, study.folder or ".")
        return {f"{study.climate.satellite.folder}/{path.name}": path for path in paths}
    path = weather_file(study)
    return {} if path is None else {study.climate.file: path}


def file_faults(study):
    """Faults of the files that a study names.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    list of str
        Sentences; empty if there are none.
    """
    faults = _weather_faults(study, "climate")
    for name, stop in study.itinerary.items():
        place = SimpleNamespace(climate=stop.climate, folder=study.folder)
        faults += _weather_faults(place, f"itinerary.{name}.climate")
    for section in ("measured_loads", "chargers"):
        for name, path in series_files(study, section).items():
            if not _is_file(path):
                text = f'"{getattr(study, section)[name].file}" does not exist next to the study file; check the path'
                faults.append(f"{section}.{name}.file: {text}")
    for key, path in proposal_files(study).items():
        if not _is_file(path):
            faults.append(
                f'document.{key}: "{path.name}" does not exist next to the study file; check the path'
            )
        elif not _within(path, study.folder or "."):
            faults.append(f"document.{key}: the file must be in the folder of the study file, or below it")
        elif key == "logo" and not _is_picture(path):
            faults.append(f'document.logo: "{path.name}" is not a PNG or JPEG picture; convert it to one')
    return faults


def missing_weather(study):
    """What to say where the weather of a log is not there: its name, and the folder that was searched.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    str
        Without a stop.
    """
    name, folder = study.log.weather_file, Path(study.folder or ".").resolve()
    where = "" if Path(name).is_absolute() else f" in {folder}, the folder of the study file"
    return f'log.weather_file: "{name}" is not{where or " there"}; check its path, or leave it out'


def proposal_files(study):
    """Files that the study gives for the proposal.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    dict of pathlib.Path
        By key.
    """
    about, folder = study.document, Path(study.folder or ".")
    named = {"logo": about.logo, "figure_style": about.figure_style, "terms": about.terms}
    named |= {f"texts.{place}": name for place, name in about.texts.items()}
    return {key: Path(folder, name) for key, name in named.items() if name is not None}


def _is_picture(path):
    """Whether a file is a PNG or a JPEG by its name and its first bytes."""
    starts = {".png": b"\x89PNG\r\n", ".jpg": b"\xff\xd8\xff", ".jpeg": b"\xff\xd8\xff"}
    wanted = starts.get(path.suffix.lower())
    with path.open("rb") as file:
        return wanted is not None and file.read(8).startswith(wanted)


def _within(path, folder):
    return path.resolve().is_relative_to(Path(folder).resolve())


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
    return [f'{key}.file: "{name}" does not exist next to the study file; check the path']


def _is_file(path):
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def _weather(name):
    return name.lower().endswith((".tm2", "ty.csv", "tya.csv", ".epw"))


def _pvlib_data():
    return Path(find_spec("pvlib").submodule_search_locations[0], "data")
