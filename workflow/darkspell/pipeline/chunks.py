"""A study's years cut into parts, each a job of its own, and put together again bit for bit."""

from dataclasses import fields
from math import ceil

import numpy as np

from darkspell.core.atomic_files import replacing
from darkspell.core.batches import LANES
from darkspell.core.calendar import HOURS
from darkspell.core.constants import constant
from darkspell.core.errors import StudyError
from darkspell.statistics.histogram import SocHistogram

MOST_PARTS = 10_000


def parts_of(seconds, units, asked=None):
    """Into how many parts a work is cut.

    Parameters
    ----------
    seconds : float
        Processor time of the whole, estimated [s].
    units : int
        What it can be cut into at most.
    asked : int or str, optional
        The number that the user asks for; else each part takes about `part_s` of the table of constants.

    Returns
    -------
    int

    Raises
    ------
    StudyError
        If the number asked for is none.
    """
    if asked is None:
        return max(1, min(ceil(seconds / constant("pipeline", "part_s")), units))
    if not str(asked).isdecimal() or not 1 <= int(asked) <= MOST_PARTS:
        raise StudyError(f"parts: {asked!r} is not possible; give a whole number from 1 to {MOST_PARTS}")
    return min(int(asked), units)


def member_parts(study, asked=None):
    """Into how many parts the years of a study's own design are cut."""
    members = study.engine.members
    seconds = members * HOURS * constant("pipeline", "member_hour_ns") * 1e-9
    return parts_of(seconds, ceil(members / LANES), asked)


def grid_parts(study, asked=None):
    """Into how many parts the grid of a study is cut: blocks of designs, each with all the years."""
    designs = len(study.sizing.array_wp) * len(study.sizing.bank_ah)
    pairs = study.engine.members * HOURS * designs
    return parts_of(pairs * constant("pipeline", "pair_hour_ns") * 1e-9, ceil(designs / LANES), asked)


def whatif_parts(study, asked=None):
    """Into how many parts the what-ifs of a study are cut; each runs the study itself beside its own."""
    engine = study.engine
    years = engine.members if engine.precision is None else engine.precision.max_members
    return _studies_in_parts(len(study.whatifs), years, asked)


def sensitivity_parts(study, asked=None):
    """Into how many parts the points of a study's ``sensitivity`` are cut."""
    one = study.sensitivity
    return (
        1 if one is None else _studies_in_parts(one.trajectories * (len(one.inputs) + 1), one.members, asked)
    )


def _studies_in_parts(studies, years, asked):
    seconds = years * HOURS * studies * constant("pipeline", "member_hour_ns") * 1e-9
    return parts_of(seconds, max(studies, 1), asked)


def some_of(many, part, parts):
    """One part of a list or a mapping (part from 1), in its order."""
    here = slices(len(many), parts)[part - 1]
    return dict(list(many.items())[here]) if isinstance(many, dict) else many[here]


def some_designs(designs, part, parts):
    """One part of the designs of a grid (part from 1), cut where blocks of lanes end."""
    block = slices(ceil(len(designs) / LANES), parts)[part - 1]
    return designs[block.start * LANES : block.stop * LANES]


def slices(units, parts):
    """Consecutive slices of nearly equal length that cover `units`; list of `parts` slices."""
    edges = [units * n // parts for n in range(parts + 1)]
    return [slice(*pair) for pair in zip(edges[:-1], edges[1:], strict=True)]


def some_members(system, part, parts):
    """A system with one part of its members, cut where batches end.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    part : int
        From 1.
    parts : int
    """
    members = system.members.size
    batch = slices(ceil(members / LANES), parts)[part - 1]
    here = slice(batch.start * LANES, min(batch.stop * LANES, members))
    return system.with_members(here)


def save_part(path, simulation):
    """Store a `Simulation` as an .npz file."""
    arrays = {}
    for field in fields(simulation):
        arrays |= _flat(field.name, getattr(simulation, field.name))
    with replacing(path) as temporary:
        np.savez(temporary, **arrays)


def load_part(path):
    """Read a `Simulation` back."""
    from darkspell.simulation.run import Simulation

    tree = {}
    with np.load(path, allow_pickle=False) as stored:
        for name in stored.files:
            *above, last = name.split("/")
            place = tree
            for key in above:
                place = place.setdefault(key, {})
            if last:
                place[last] = stored[name]
    for name in ("soc_true", "soc_reported"):
        histogram = SocHistogram()
        histogram.counts[:] = tree[name]
        tree[name] = histogram
    return Simulation(**tree)


def _flat(name, value):
    if isinstance(value, SocHistogram):
        return {name: value.counts}
    if not isinstance(value, dict):
        return {name: value}
    flat = {f"{name}/": np.empty(0)}  # keeps a mapping that is empty
    for key, inner in value.items():
        flat |= _flat(f"{name}/{key}", inner)
    return flat
