"""A study's work cut into parts, each a job of its own."""

from math import ceil

from darkspell.core.batches import LANES
from darkspell.core.calendar import HOURS
from darkspell.core.constants import constant
from darkspell.core.errors import StudyError

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
    """Number of parts for the years of a study's own design.

    Parameters
    ----------
    study : darkspell.study.Study
    asked : int, optional
        Number that the user asks for.

    Returns
    -------
    int
    """
    members = study.engine.members
    seconds = members * HOURS * constant("pipeline", "member_hour_ns") * 1e-9
    return parts_of(seconds, ceil(members / LANES), asked)


def grid_parts(study, asked=None):
    """Number of parts for the sizing grid; each part has some designs and all years.

    Parameters
    ----------
    study : darkspell.study.Study
    asked : int, optional
        Number that the user asks for.

    Returns
    -------
    int
    """
    designs = len(study.sizing.array_wp) * len(study.sizing.bank_ah)
    pairs = study.engine.members * HOURS * designs
    return parts_of(pairs * constant("pipeline", "pair_hour_ns") * 1e-9, ceil(designs / LANES), asked)


def whatif_parts(study, asked=None):
    """Number of parts for the what-ifs; each part also runs the study itself.

    Parameters
    ----------
    study : darkspell.study.Study
    asked : int, optional
        Number that the user asks for.

    Returns
    -------
    int
    """
    engine = study.engine
    years = engine.members if engine.precision is None else engine.precision.max_members
    return _studies_in_parts(len(study.whatifs), years, asked)


def sensitivity_parts(study, asked=None):
    """Number of parts for the points of the sensitivity.

    Parameters
    ----------
    study : darkspell.study.Study
    asked : int, optional
        Number that the user asks for.

    Returns
    -------
    int
    """
    one = study.sensitivity
    return (
        1 if one is None else _studies_in_parts(one.trajectories * (len(one.inputs) + 1), one.members, asked)
    )


def _studies_in_parts(studies, years, asked):
    seconds = years * HOURS * studies * constant("pipeline", "member_hour_ns") * 1e-9
    return parts_of(seconds, max(studies, 1), asked)


def some_of(many, part, parts):
    """One part of a list or a mapping, in its order.

    Parameters
    ----------
    many : list or dict
    part : int
        From 1.
    parts : int

    Returns
    -------
    list or dict
    """
    here = slices(len(many), parts)[part - 1]
    return dict(list(many.items())[here]) if isinstance(many, dict) else many[here]


def some_designs(designs, part, parts):
    """One part of the designs of a grid; the cuts are between blocks of lanes.

    Parameters
    ----------
    designs : float64 array [designs, 2]
    part : int
        From 1.
    parts : int

    Returns
    -------
    float64 array [some, 2]
    """
    block = slices(ceil(len(designs) / LANES), parts)[part - 1]
    return designs[block.start * LANES : block.stop * LANES]


def slices(units, parts):
    """Consecutive slices of nearly equal length that cover all units.

    Parameters
    ----------
    units : int
    parts : int

    Returns
    -------
    list of slice
        As many as `parts`.
    """
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
