"""Sweeps: what-ifs made by list, one for every combination of the values of their keys."""

from itertools import product
from math import isfinite, prod
from re import sub

from darkspell.study.errors import unknown
from darkspell.study.key_tree import find

MOST = 500


def with_sweeps(given):
    """The mapping with a what-if for each step of each sweep, and the faults of the sweeps.

    Parameters
    ----------
    given : dict
        The study as in its file; not changed.

    Returns
    -------
    dict
    list of str
        Sentences with key and cure. What is no mapping is left to the check of the whole study.
    """
    sweeps, whatifs = given.get("sweeps"), given.get("whatifs", {})
    if not isinstance(sweeps, dict) or not isinstance(whatifs, dict):
        return given, []
    made, fresh, faults = dict(whatifs), {}, []
    for title, keys in sweeps.items():
        if not isinstance(keys, dict) or not keys:
            continue
        lists = {}
        for dotted, values in keys.items():
            parts = str(dotted).split(".")
            if find(parts) is None:
                faults.append(f"sweeps.{title}.{dotted}: {unknown(parts)}")
                continue
            try:
                lists[str(dotted)] = _values(values)
            except ValueError as fault:
                faults.append(f"sweeps.{title}.{dotted}: {fault}")
        count = prod(len(values) for values in lists.values())
        if len(lists) == len(keys) and len(made) + count <= MOST:
            for name, changes in _steps(title, lists):
                if name in fresh or whatifs.get(name, changes) != changes:
                    faults.append(f"sweeps.{title}: makes a second what-if {name}; rename the sweep")
                made[name] = fresh[name] = changes
        elif len(lists) == len(keys):
            faults.append(f"sweeps.{title}: makes {count} what-ifs; keep all together to {MOST}")
    return {**given, "whatifs": made}, faults


def _values(values):
    if isinstance(values, dict):
        return _evenly(values)
    if isinstance(values, list) and values:
        return values
    raise ValueError(f"{values!r} is no list of values; give [a, b, ...] or {{from, to, steps}}")


def _evenly(given):
    """Evenly spaced values of ``{from, to, steps}``: both ends as they are given, ten digits between them."""
    if set(given) != {"from", "to", "steps"}:
        raise ValueError("as a mapping needs exactly the keys from, to and steps")
    low, high, steps = given["from"], given["to"], given["steps"]
    if not all(type(number) in (int, float) and isfinite(number) for number in (low, high)):
        raise ValueError("needs numbers for from and to")
    if type(steps) is not int or not 2 <= steps <= 200 or low >= high:
        raise ValueError("needs from below to, and steps as a whole number from 2 to 200")
    between = [float(f"{low + (high - low) * step / (steps - 1):.10g}") for step in range(1, steps - 1)]
    return [low, *between, high]


def steps_of_sweeps(sweeps):
    """Every step of some sweeps, in the order of their lists.

    Parameters
    ----------
    sweeps : dict
        As ``study.sweeps``: title to keys, each with its values.

    Yields
    ------
    title : str
        Of the sweep.
    name : str
        Of the what-if that the step is.
    changes : dict
        Dotted key to value.
    """
    for title, keys in sweeps.items():
        for name, changes in _steps(title, {str(key): _values(values) for key, values in keys.items()}):
            yield title, name, changes


def _steps(title, lists):
    for values in product(*lists.values()):
        yield _name(title, values), dict(zip(lists, values, strict=True))


def _name(title, values):
    """Name of one step: letters, digits, _ and - only."""
    parts = [sub(r"[^A-Za-z0-9-]+", "p" if isinstance(v, float) else "_", _text(v)) for v in values]
    return "_".join((str(title), *parts))[:40]


def _text(value):
    return f"{value:.10g}" if isinstance(value, int | float) and not isinstance(value, bool) else str(value)
