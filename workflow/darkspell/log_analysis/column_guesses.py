"""What columns of a log probably hold, by words in their names."""

import re

from darkspell.study.errors import shown

LOOKS_LIKE = {  # words in the names of columns, our choice
    "soc": r"soc|charge|%|pct",
    "voltage": r"v|u|volts?|voltages?|(bat|batt|vbat|ubat)v?|spannung|tension",
    "current": r"a|i|ma|amps?|amperes?|curr|currents?|strom",
    "power": r"w|p|watts?|powers?|leistung",
}


def guess_of(names):
    """Keys for columns whose names look like a voltage, a current or the like, in words; empty where none does.

    Parameters
    ----------
    names : list of str
        Names in the header.
    """
    found = {}
    for name in names:
        words = re.split(r"[^a-z%]+", name.lower())
        for kind, pattern in LOOKS_LIKE.items():
            if kind not in found and any(re.fullmatch(pattern, word) for word in words):
                found[kind] = name
                break
    if not found:
        return ""
    keys = ", ".join(f"{kind}_column: {shown(name)}" for kind, name in found.items())
    return f" probably as log: {{{keys}}}"
