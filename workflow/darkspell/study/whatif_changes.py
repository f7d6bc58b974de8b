"""What-ifs: named differences from a study, and the hashes that tell which results they leave standing."""

import json
from copy import deepcopy
from hashlib import sha256
from types import SimpleNamespace

from darkspell.core.errors import StudyError
from darkspell.study.errors import report, unknown
from darkspell.study.files import proposal_files, series_files, weather_file
from darkspell.study.key_tree import find
from darkspell.study.study_files import at_price_per_wh

FIXED = ("document", "target", "sizing", "engine", "whatifs", "sweeps", "sensitivity")
USUAL = {"monitors": {"shunt": {"kind": "shunt"}}}


def with_changes(study, changes):
    """The study with some keys changed, validated whole.

    Parameters
    ----------
    study : Study
    changes : dict
        Dotted key to value; None removes the entry (a load, an array) or returns the key to its default.

    Returns
    -------
    Study
        Without what-ifs of its own. Defaults that follow from a changed key follow it.

    Raises
    ------
    darkspell.core.errors.StudyError
        With all faults in one message.
    """
    from darkspell.study.loader import validated

    mapping, faults = changed(study._given, changes)
    result, more = (None, faults) if faults else validated(mapping, study.name, study.folder)
    if more:
        raise StudyError(report(study.name, more))
    return result


def changed(given, changes):
    """Apply changes to a study's mapping.

    Parameters
    ----------
    given : dict
        As read from the file.
    changes : dict
        New values by dotted key.

    Returns
    -------
    dict, list of str
        A changed copy without what-ifs, and the faults of the changes.
    """
    mapping = deepcopy(
        {key: value for key, value in given.items() if key not in ("whatifs", "sweeps", "sensitivity")}
    )
    faults = []
    for dotted, value in changes.items():
        fault = _change(mapping, str(dotted).split("."), deepcopy(value))
        faults += [f"{dotted}: {fault}"] if fault else []
    _drop_other_forms(mapping, {str(dotted) for dotted in changes})
    return at_price_per_wh(given, mapping, set()), faults


def _drop_other_forms(mapping, changes):
    """Of an array whose power or modules change, drop the other way of saying its power, which no longer holds."""
    arrays = mapping.get("arrays")
    for name, array in arrays.items() if isinstance(arrays, dict) else ():
        changed = {key for key in ("power_wp", "modules", "module_wp") if f"arrays.{name}.{key}" in changes}
        if not isinstance(array, dict) or not changed:
            continue
        if changed == {"power_wp"}:
            array.pop("modules", None)
        elif "power_wp" not in changed and array.keys() >= {"modules", "module_wp"}:
            array.pop("power_wp", None)


def _change(mapping, parts, value):
    """Make one change in place; the fault as a sentence, or None."""
    if parts[0] in FIXED:
        return f"a what-if changes the system, the loads or the place, not {parts[0]}"
    if find(parts) is None:
        return unknown(parts)
    if parts[0] in USUAL:
        mapping.setdefault(parts[0], deepcopy(USUAL[parts[0]]))
    target = mapping
    for depth, part in enumerate(parts[:-1]):
        if not isinstance(target, dict):
            return f"{'.'.join(parts[:depth])} is no mapping"
        if _is_entry(parts[: depth + 1]) and part not in target:
            return f"{parts[0]} has no {part}; it has {_names(target)}"
        target = target.setdefault(part, {})
    if not isinstance(target, dict):
        return f"{'.'.join(parts[:-1])} is no mapping"
    if value is not None:
        target[parts[-1]] = value
    elif _is_entry(parts) and parts[-1] not in target:
        return f"nothing to remove; {parts[0]} has {_names(target)}"
    else:
        target.pop(parts[-1], None)
    return None


def _names(mapping):
    return ", ".join(map(str, mapping)) or "no entries"


def _is_entry(parts):
    """Whether the key names a load, an array or a monitor."""
    return len(parts) == 2 and find(parts[:1]).entries


def subtree_hash(study, *sections):
    """Short hash of some sections of a resolved study, for the names of cached results.

    Parameters
    ----------
    study : Study
    *sections : str
        Top-level keys, such as ``"site", "climate", "arrays"``, or dotted ones; the contents of a weather file
        count as part of ``climate``, those of the proposal's files as part of ``document``.

    Returns
    -------
    str
        12 hexadecimal digits, the same on every machine.
    """
    resolved = study.resolved()
    parts = {section: _at(resolved, section) for section in sections}
    if "climate" in parts and study.climate.file is not None:
        parts["weather file"] = sha256(weather_file(study).read_bytes()).hexdigest()
    for name, stop in study.itinerary.items() if "itinerary" in parts else ():
        if stop.climate.file is not None:
            path = weather_file(SimpleNamespace(climate=stop.climate, folder=study.folder))
            parts[f"weather file of {name}"] = sha256(path.read_bytes()).hexdigest()
    for name, path in proposal_files(study).items():
        if "document" in parts or f"document.{name}" in parts:
            parts[f"file of study.{name}"] = sha256(path.read_bytes()).hexdigest()
    for section in {"measured_loads", "chargers"} & set(sections):
        for name, path in series_files(study, section).items():
            parts[f"file of {section}.{name}"] = sha256(path.read_bytes()).hexdigest()
    canonical = json.dumps(parts, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return sha256(canonical.encode()).hexdigest()[:12]


def _at(mapping, dotted):
    for part in dotted.split("."):
        mapping = mapping[part]
    return mapping
