"""The files that a study is made of: differences from another file, and several studies from one file.

``extends: base.yaml`` takes everything of that file but for what this one says: dotted keys, or sections with some
of their keys. ``cross`` has lists of named changes; each combination of one of every list is a study of its own,
named by the file and the changes. In both, null removes an entry or gives a key its default.
"""

from copy import deepcopy
from itertools import product
from math import prod
from pathlib import Path
from typing import NamedTuple

from darkspell.core.errors import StudyError
from darkspell.study.yaml_reader import read_file

VOLTAGES = (12, 24, 48)
PRICES, RATE, RATES = "sizing.prices.", "bank_per_ah", "bank_per_ah_by_chemistry"
EXTENDS, CROSS = "extends", "cross"
LONGEST_CHAIN = 5
MOST = 500
MARK = "::"  # between the file and the name of one of its studies


class Source(NamedTuple):
    """A study before it is validated.

    Parameters
    ----------
    name : str
    given : dict
        The whole study as a mapping.
    files : tuple of pathlib.Path
        Its own file first, then those that it extends.
    choices : dict
        Of a file with ``cross``: the list to the `Choice` taken of it.
    """

    name: str
    given: dict
    files: tuple
    choices: dict = {}


class Choice(NamedTuple):
    """What one study took of a list of ``cross``.

    Parameters
    ----------
    name : str
    keys : tuple of str
        Dotted keys that the changes of the list touch, those of all its choices.
    several : bool
        Whether a choice of the list changes more than one key.
    """

    name: str
    keys: tuple
    several: bool


def split_name(path):
    """File and name of one study in it, of ``file.yaml`` or ``file.yaml::name``.

    Parameters
    ----------
    path : path-like

    Returns
    -------
    pathlib.Path
    str or None
    """
    file, mark, name = str(path).partition(MARK)
    return Path(file), (name if mark else None)


def sources(path):
    """Studies of one file, with what they extend.

    Parameters
    ----------
    path : path-like
        ``file.yaml``, or ``file.yaml::name`` for one study of a file with ``cross``.

    Returns
    -------
    list of Source
        One, unless the file has ``cross``.

    Raises
    ------
    darkspell.core.errors.StudyError
        If a file cannot be read, is outside the folder of the study, or extends itself.
    """
    path, wanted = split_name(path)
    given, files = _read(path)
    if not isinstance(given, dict) or CROSS not in given:
        if wanted not in (None, path.stem):
            raise StudyError(f"{path}: makes one study, {path.stem}, and none of the name {wanted}")
        return [Source(path.stem, given, files)]
    found = {one.name: one for one in _crossed(path, given, files)}
    if wanted is None:
        return list(found.values())
    if wanted not in found:
        raise StudyError(f"{path}: makes no study {wanted}; it makes {', '.join(found)}")
    return [found[wanted]]


def _read(path):
    """A file's mapping with what it extends, and the files."""
    given, files = read_file(path), (path,)
    chain = [given]
    while isinstance(chain[-1], dict) and EXTENDS in chain[-1]:
        base = _base(files[0], files[-1], chain[-1].pop(EXTENDS))
        if base in files or len(files) > LONGEST_CHAIN:
            words = " extends ".join(file.name for file in (*files, base))
            raise StudyError(f"{path}: {words}; end the circle, or the chain after {LONGEST_CHAIN} files")
        chain.append(read_file(base))
        files = (*files, base)
    if len(chain) == 1:
        return given, files
    for file, one in zip(files, chain, strict=True):
        if not isinstance(one, dict):
            raise StudyError(f"{file}: has no keys; a study is a mapping (document:, site:, climate:, ...)")
    result = chain.pop()
    while chain:
        differences = chain.pop()
        result = at_price_per_wh(result, merged(result, differences), set(_dotted(differences)))
    return result, files


def _base(first, file, word):
    """Path of the file that `file` extends; never one outside the folder of the study, where nobody looks for it."""
    if not isinstance(word, str) or not word.strip():
        raise StudyError(f"{file}: extends: {word!r} is no file; give a study file of this folder")
    base, folder = file.parent / word, first.parent.resolve()
    if Path(word).is_absolute() or not base.resolve().is_relative_to(folder):
        raise StudyError(f"{file}: extends: {word} is outside the study's folder; copy it there")
    if not base.is_file():
        raise StudyError(f"{file}: extends: {word}: no such file in {file.parent}")
    return base


def _crossed(path, given, files):
    """A source for each combination of the choices."""
    lists = given.pop(CROSS)
    well = isinstance(lists, dict) and lists and all(isinstance(one, dict) and one for one in lists.values())
    if not well or not all(isinstance(one, dict) for choices in lists.values() for one in choices.values()):
        text = "give lists of named changes, such as bank: {small: {bank.capacity_ah: 100}, large: {...}}"
        raise StudyError(f"{path}: cross: {text}")
    count = prod(map(len, lists.values()))
    if count > MOST:
        raise StudyError(f"{path}: cross: makes {count} studies; keep to {MOST}")
    touched = [[list(_dotted(changes)) for changes in choices.values()] for choices in lists.values()]
    for choices in product(*(one.items() for one in lists.values())):
        mapping, taken = given, {}
        own = {key for _, changes in choices for key in _dotted(changes)}
        for title, keys, (name, changes) in zip(lists, touched, choices, strict=True):
            mapping = merged(mapping, changes)
            every = tuple(dict.fromkeys(key for one in keys for key in one))
            taken[str(title)] = Choice(str(name), every, max(map(len, keys)) > 1)
        mapping = at_price_per_wh(given, mapping, own)
        yield Source("_".join((path.stem, *(name for name, _ in choices))), mapping, files, taken)


def _dotted(changes, above=""):
    """Keys that changes touch, sections taken apart."""
    for key, value in changes.items():
        if isinstance(value, dict) and value:
            yield from _dotted(value, f"{above}{key}.")
        else:
            yield f"{above}{key}"


def merged(base, differences):
    """A study's mapping with differences.

    Parameters
    ----------
    base : dict
    differences : dict
        Sections with some of their keys, or dotted keys; None removes a key of the base. A list replaces a list.

    Returns
    -------
    dict
        New; neither mapping is changed.
    """
    result = deepcopy(base)
    for key, value in differences.items():
        *above, last = key.split(".") if key.count(".") else [key]
        target = result
        for part in above:
            inner = target.get(part)
            target[part] = target = inner if isinstance(inner, dict) else {}
        _set(target, last, value)
    return result


def _set(target, key, value):
    if value is None:
        target.pop(key, None)
    elif isinstance(value, dict) and isinstance(target.get(key), dict) and "steps" not in value:
        target[key] = _below(target[key], value)
    else:
        target[key] = deepcopy(value)


def _below(base, differences):
    """As `merged`, of a section: its keys are never dotted, for a what-if's keys have dots of their own."""
    result = dict(base)
    for key, value in differences.items():
        _set(result, key, value)
    return result


def at_price_per_wh(base, mapping, own):
    """A changed mapping whose bank keeps its price per Wh where the nominal voltage is another.

    Parameters
    ----------
    base, mapping : dict
        Before and after the changes.
    own : set of str
        Dotted keys that the changes give: a price among them stays as it is.

    Returns
    -------
    dict
        The same, or a copy with prices per Ah of the new voltage.
    """
    before, after = (_inner(one, "system").get("nominal_voltage_v") for one in (base, mapping))
    prices = _inner(_inner(mapping, "sizing"), "prices")
    if before == after or before not in VOLTAGES or after not in VOLTAGES or not prices:
        return mapping
    result, factor = deepcopy(mapping), after / before
    prices = result["sizing"]["prices"]
    for section, name in [(prices, RATE), *((_inner(prices, RATES), kind) for kind in _inner(prices, RATES))]:
        key = PRICES + (RATE if name == RATE else f"{RATES}.{name}")
        if key not in own and isinstance(section.get(name), int | float):
            section[name] = float(f"{factor * section[name]:.10g}")
    return result


def _inner(mapping, key):
    inner = mapping.get(key) if isinstance(mapping, dict) else None
    return inner if isinstance(inner, dict) else {}


def text_of(files):
    """The text of a study's files, as it goes into an appendix.

    Parameters
    ----------
    files : sequence of pathlib.Path
        Its own first, then those that it extends.

    Returns
    -------
    str
        The file alone, or all with their names above them.
    """
    texts = [file.read_text(encoding="utf-8-sig") for file in files]
    if len(files) == 1:
        return texts[0]
    return "\n".join(f"# {file.name}\n{text.rstrip()}\n" for file, text in zip(files, texts, strict=True))
