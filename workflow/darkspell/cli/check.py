"""Check studies: faults, or the hand calculation, one after the other."""

import json
import os
import sys
from re import split

from darkspell.climate import site_climate
from darkspell.core.errors import StudyError, printable
from darkspell.hand_check import findings, hand_check
from darkspell.hand_check.load_draw_check import drawn
from darkspell.hand_check.terminal_report import data, page
from darkspell.pipeline.preflight import preflight
from darkspell.study import load_study
from darkspell.study.loader import selectors
from darkspell.study.study_files import MARK


def check(paths, as_json=False, draw=False):
    """Print the hand calculation of some studies.

    Parameters
    ----------
    paths : list of str
        Study files. A faulty one does not keep the others from being checked.
    as_json : bool
        One JSON list in place of pages.
    draw : bool
        Whether to draw some years of loads and hold their mean against the budget.

    Returns
    -------
    int
        Exit code: 0, or 1 if one of the files is no valid study.
    """
    colour = sys.stdout.isatty() and "NO_COLOR" not in os.environ
    done, faults, warnings = [], [], []
    paths = [one for path in paths for one in _each(path, faults)]
    for path in paths:
        try:
            study = load_study(path)
            climate = site_climate(study, study.folder)
            warnings += [_with_path(path, warning) for warning in preflight(study)]
        except StudyError as fault:
            faults.append(_with_path(path, str(fault)))
            continue
        worked = hand_check(study, climate)
        source = climate.source if as_json else " ".join([f"{climate.source}.", *climate.notes]).rstrip(".")
        told = (study, worked, findings(study, worked), source)
        years = drawn(study, climate) if draw else None
        if as_json:
            done.append(data(*told, years=years))
        else:
            heading = f"{path}\n\n" if len(paths) > 1 else ""
            done.append(heading + page(*told, colour=colour, years=years))
    if as_json:
        print(json.dumps(done, indent=1, ensure_ascii=False, allow_nan=False))
    else:
        print("\n\n".join(done), end="")
    sys.stdout.flush()
    for text in warnings + said_once(faults):
        print(printable(text), file=sys.stderr)
    return 1 if faults else 0


def _each(path, faults):
    """The studies of a file; none where it cannot be read, which is then among the faults."""
    try:
        return selectors(path)
    except StudyError as fault:
        faults.append(_with_path(path, str(fault)))
        return []


def said_once(faults):
    """Faults that many studies of one file share, once.

    Parameters
    ----------
    faults : list of str
        Each with its study in front, ``file.yaml::name: ...``.

    Returns
    -------
    list of str
    """
    groups = {}
    for fault in faults:
        file, mark, rest = fault.partition(MARK)
        name = split(r"[: ]", rest, maxsplit=1)[0]
        groups.setdefault((file, rest.replace(name, "", 1)) if mark else fault, []).append(fault)
    more = {len(group): f" (and {len(group) - 1} more of this file)" for group in groups.values()}
    return [group[0] + (more[len(group)] if len(group) > 1 else "") for group in groups.values()]


def _with_path(path, fault):
    return fault if fault.startswith(str(path)) else f"{path}: {fault}"
