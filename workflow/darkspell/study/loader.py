"""From a file, or a mapping, to a whole and valid study."""

from copy import deepcopy
from re import fullmatch

from pydantic import ValidationError

from darkspell.core.errors import StudyError
from darkspell.study.base import NAME_PATTERN
from darkspell.study.errors import FULL, faults_of, report
from darkspell.study.files import file_faults
from darkspell.study.model import Study
from darkspell.study.study_files import MARK, sources, split_name
from darkspell.study.sweeps import with_sweeps
from darkspell.study.whatif_changes import changed

TAKEN = {  # folders of results that are no study's
    "validation": "the validation chapter",
    "options": "the proposal of several studies",
}


def load_study(path):
    """Read a study file and validate it whole, what-ifs included.

    Parameters
    ----------
    path : str or pathlib.Path
        The YAML file; its name without the ending becomes the name of the study. One study of a file with
        ``cross`` is ``file.yaml::name``.

    Returns
    -------
    Study

    Raises
    ------
    darkspell.core.errors.StudyError
        With all faults in one message, or where the file makes several studies.
    """
    found = _sources(path)
    if len(found) > 1:
        text = f"makes {len(found)} studies; name one, such as {path}{MARK}{found[0].name}"
        raise StudyError(f"{path}: {text}, or give all of them to: darkspell run {path}")
    return _loaded(found[0])


def load_all(path):
    """Read all studies of a file, see `load_study`.

    Parameters
    ----------
    path : path-like

    Returns
    -------
    list of Study
    """
    return [_loaded(one) for one in _sources(path)]


def selectors(path):
    """Names of a file's studies, as `load_study` takes them.

    Parameters
    ----------
    path : path-like

    Returns
    -------
    list of str
        The path itself where it makes one study.
    """
    found = _sources(path)
    return [str(path)] if len(found) == 1 else [f"{path}{MARK}{one.name}" for one in found]


def _loaded(source):
    path, *bases = source.files
    label = str(path) if source.name == path.stem else f"{path}{MARK}{source.name}"
    label += f" (with {', '.join(base.name for base in bases)})" if bases else ""
    study = study_from(source.given, source.name, path.parent, label)
    study._files, study._choices = source.files, source.choices
    return study


def named(path, name=None):
    """Refuse a file, or one study of it, whose name cannot be the name of a results folder.

    Parameters
    ----------
    path : path-like
    name : str, optional
        Of the study; the file's without its ending if not given.

    Raises
    ------
    darkspell.core.errors.StudyError
        If the name has other characters, is too long, or is that of a folder which darkspell writes.
    """
    if name is None and path.is_dir():
        raise StudyError(f"{path}: is a folder; give the study file in it")
    which = f"the name of a study, {name}," if name not in (None, path.stem) else "the file's name"
    name = name or path.stem
    if not fullmatch(NAME_PATTERN, name) or len(name) > 60:
        becomes = "becomes the study's" if name == path.stem else "becomes that of a folder"
        raise StudyError(f"{path}: {which} {becomes}; use letters, digits, _ and -, at most 60")
    if name.lower() in TAKEN:  # some file systems tell no capitals apart
        what = TAKEN[name.lower()]
        raise StudyError(f"{path}: results/{name.lower()} is taken by {what}; give another name")


def _sources(path):
    """Studies of a file, unless a name of theirs is refused."""
    file, name = split_name(path)
    if name is None:
        named(file)
    found = sources(path)
    for one in found:
        named(one.files[0], one.name)
    return found


def study_from(given, name="study", folder=None, label=None):
    """Validate a study that comes as a mapping.

    Parameters
    ----------
    given : dict
        The study as in its file.
    name : str
        Name of the study.
    folder : pathlib.Path, optional
        Folder that its paths are relative to.
    label : str, optional
        How messages call it; its name if not given.

    Returns
    -------
    Study

    Raises
    ------
    darkspell.core.errors.StudyError
        With all faults in one message.
    """
    label = label or name
    if not isinstance(given, dict):
        raise StudyError(f"{label}: has no keys; a study is a mapping (document:, site:, climate:, ...)")
    given, sweep_faults = with_sweeps(given)
    study, faults = validated(given, name, folder)
    faults = sweep_faults + faults + own_faults(study)
    if len(faults) < FULL:
        faults += whatif_faults(given, name, folder, faults)
    if faults:
        raise StudyError(report(label, faults))
    return study


def validated(given, name, folder):
    """Validate a study; what-ifs are not tried.

    Parameters
    ----------
    given : dict
        As read from the file.
    name : str
    folder : path-like
        Of the study file.

    Returns
    -------
    study : darkspell.study.Study or None
    faults : list of str
    """
    try:
        study = Study.model_validate(deepcopy(given))
    except ValidationError as error:
        return None, faults_of(error)
    study._name, study._folder, study._given = name, folder, deepcopy(given)
    return study, file_faults(study)


def own_faults(study):
    """Faults of a study that are allowed in a what-if: a worn bank may be tried while `ageing` is given.

    Parameters
    ----------
    study : darkspell.study.Study
    """
    if study is None or study.ageing is None:
        return []
    end, now = study.ageing.end_of_life_pct, study.bank.state_of_health_pct
    if end < now:
        return []
    text = f"{end:g} % is not below what the bank holds today (bank.state_of_health_pct, {now:g} %)"
    return [f"ageing.end_of_life_pct: {text}: it is worn out already; lower it, or leave ageing out"]


def whatif_faults(given, name, folder, known):
    """Faults of the what-ifs that the study itself does not have.

    Parameters
    ----------
    given : dict
        As read from the file.
    name : str
    folder : path-like
        Of the study file.
    known : collection of str
        Faults of the study itself.
    """
    whatifs = given.get("whatifs")
    faults = []
    for title, changes in whatifs.items() if isinstance(whatifs, dict) else ():
        if not isinstance(changes, dict):
            continue
        mapping, own = changed(given, changes)
        new = own or [fault for fault in validated(mapping, name, folder)[1] if fault not in known]
        faults += [f"whatifs.{title}: {fault}" for fault in new]
        if len(faults) > 5 * FULL:
            break
    return faults
