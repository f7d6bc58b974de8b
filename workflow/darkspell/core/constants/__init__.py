"""The table of model constants: one TOML file a room, each entry with its value, unit and source."""

import tomllib
from functools import cache
from pathlib import Path

ROOMS = (
    "weather",
    "pv",
    "loads",
    "bank",
    "monitor",
    "climate",
    "record",
    "statistics",
    "hand_check",
    "pipeline",
    "log_analysis",
)


@cache
def table(room):
    """All constants of one room.

    Parameters
    ----------
    room : str
        Name of a room, see `ROOMS`.

    Returns
    -------
    dict
        ``{name: {"value": ..., "unit": str, "source": str}}``; nested tables hold rows, as chemistries.
    """
    path = Path(__file__).with_name(f"{room}.toml")
    with path.open("rb") as file:
        return tomllib.load(file)


CHEMISTRIES = tuple(name for name in table("bank") if name != "common")


def constant(room, *name):
    """Value of one constant.

    Parameters
    ----------
    room : str
        See `ROOMS`.
    *name : str
        Path of the constant in the room's table, as in ``constant("bank", "lfp", "r")``.

    Returns
    -------
    object
        Number, text or list, in the unit that the table gives.
    """
    entry = table(room)
    for part in name:
        entry = entry[part]
    return entry["value"]


def sources(rooms=ROOMS):
    """All constants with their sources, for the provenance record.

    Parameters
    ----------
    rooms : sequence of str

    Returns
    -------
    list of dict
        Keys ``room``, ``name``, ``value``, ``unit``, ``source``.
    """
    return [row for room in rooms for row in _rows(room, "", table(room))]


def _rows(room, prefix, entries):
    for name, entry in entries.items():
        label = f"{prefix}{name}"
        if "value" in entry:
            yield {"room": room, "name": label, **entry}
        else:
            yield from _rows(room, f"{label}.", entry)
