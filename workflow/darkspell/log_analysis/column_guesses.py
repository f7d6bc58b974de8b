"""What columns of a log probably hold, by words in their names."""

import re

from darkspell.study.errors import shown

LOOKS_LIKE = {  # words in the names of columns, our choice
    "soc": r"soc|charge|%|pct",
    "voltage": r"v|u|volts?|voltages?|(bat|batt|vbat|ubat)v?|spannung|tension",
    "current": r"a|i|ma|amps?|amperes?|curr|currents?|strom",
    "power": r"w|p|watts?|powers?|leistung",
}
TIME = r"time|date|datetime|timestamp|zeit|datum|uhrzeit|heure|fecha|hora"


def guess_of(names):
    """Keys for columns whose names look like a voltage, a current or the like, in words; empty where none does.

    Parameters
    ----------
    names : list of str
        Names in the header.
    """
    found = {}
    for name in names:
        for kind, pattern in LOOKS_LIKE.items():
            if kind not in found and _has(name, pattern):
                found[kind] = name
                break
    if not found:
        return ""
    keys = ", ".join(f"{kind}_column: {shown(name)}" for kind, name in found.items())
    return f" probably as log: {{{keys}}}"


def guess_of_time(names):
    """The one column whose name has a word for time, as a key and its value in words; empty where none or several do.

    Parameters
    ----------
    names : list of str
    """
    found = [name for name in names if _has(name, TIME)]
    return f", probably to {shown(found[0])}" if len(found) == 1 else ""


def _has(name, pattern):
    """Whether a word of a name fits, words parted by marks or by capitals."""
    parted = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name).lower()
    return any(re.fullmatch(pattern, word) for word in re.split(r"[^a-z%]+", parted))
