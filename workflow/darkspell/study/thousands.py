"""Numbers such as 1.200, which some write for one thousand two hundred and a study reads as 1.2."""

import re

import yaml

from darkspell.study.key_tree import find
from darkspell.study.yaml_reader import tree_of

GROUPED = re.compile(r"[1-9]\d{0,2}\.\d{3}")
LARGE = ("currency", "Wp", "Ah", "Wh", "kWh", "m")  # units of what is seldom given to a thousandth
MAYBE = ("W",)  # of what may be, but not with a zero at the end


def doubtful_numbers(text):
    """Warnings on numbers of a study file that may have a mark between thousands.

    Parameters
    ----------
    text : str
        A study file that reads as YAML.

    Returns
    -------
    list of str
        With key, line and both readings.
    """
    out = []
    for parts, node in _scalars(tree_of(text), ()):
        unit = _unit(parts)
        doubtful = unit in LARGE or (unit in MAYBE and node.value.endswith("0"))
        if node.style is None and doubtful and GROUPED.fullmatch(node.value):
            whole, plain = node.value.replace(".", ""), f"{float(node.value):g}"
            named = "" if unit == "currency" else f" {unit}"
            out.append(
                f"{'.'.join(parts)}: {node.value} (line {node.start_mark.line + 1}) is read as {plain}{named}; write "
                f"{whole} if {whole} is meant, or {plain}"
            )
    return out


def _unit(parts):
    """Unit of a key, of the entries of a list, or of a key that a what-if names."""
    if parts[0] == "whatifs" and len(parts) > 2:
        parts = [word for part in parts[2:] for word in part.split(".")]
    place = find(parts) or (find(parts[:-1]) if parts[-1] in ("from", "to") else None)
    return place.unit if place else ""


def _scalars(node, parts):
    """Every value with its key; entries of a list have the key of the list."""
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            yield from _scalars(value, (*parts, *str(key.value).split(".")))
    elif isinstance(node, yaml.SequenceNode):
        for value in node.value:
            yield from _scalars(value, parts)
    elif node is not None and parts:
        yield parts, node
