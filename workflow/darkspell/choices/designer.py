"""The least-cost design of whole pieces that reaches every target, and its neighbours."""

import numpy as np

from darkspell.assembly import assemble
from darkspell.choices.frontier import find_frontier
from darkspell.choices.requirements import measured
from darkspell.choices.shelf import ladders, scales_of_ladders
from darkspell.errors import StudyError
from darkspell.simulate import simulate
from darkspell.study.shelf import AUTONOMY

MOST_TRIED = 40  # designs simulated whole before the search ends; our choice
ALTERNATIVES = 3  # designs shown on either side of the chosen one; our choice
COLUMNS = (
    "place", "module", "modules", "block", "blocks", "controller", "tilt_deg", "azimuth_deg", "array_wp", "bank_ah",
    "cost", "requirement", "statistic", "value", "low", "high", "wanted", "at", "of_years",
    "meets", "surely", "worst_month",
)  # fmt: skip


def design(assembly, sky_of, workers=None, tell=None):
    """Find the cheapest design on the study's list; rows of `COLUMNS`, one a design and target.

    Parameters
    ----------
    assembly : darkspell.assembly.Assembly
    sky_of : callable
        From a study to its `SiteSky`, for the slopes and directions tried.
    workers, tell
        As in `darkspell.batches.over_batches`; `tell` is told of each whole design.

    Returns
    -------
    list of dict
        Places: ``chosen``, ``next`` (dearer ones that meet the targets), ``cheaper`` (the dearest of the
        cheaper ones that do not; what they give up stands in their figures).

    Notes
    -----
    The first target's border is found by `find_frontier` with lanes across designs. Designs on its good side are
    then simulated whole in the order of their price, and held against every target. A design that has
    no more of anything than one that failed is passed over: with a plain store it cannot do better. The chosen
    one is therefore held against its smaller neighbours too, which have all been run or passed over so.
    """
    candidates, near = [], []
    for turned, here in oriented(assembly, sky_of):
        columns = ladders(here.study)
        target = here.study.target
        found = find_frontier(
            here, scales_of_ladders(here, columns), target.statistic, target.at_most, workers
        )
        for column, least in zip(columns, found.least, strict=True):
            candidates += [(one, turned, here) for one in column[least:]]
            near += [(column[least - 1], turned, here)] if 0 < least <= len(column) else []
    candidates.sort(key=lambda entry: _order(entry[0]))
    meeting, failed = _tried(candidates, workers, tell)
    chosen = meeting[0][0].cost if meeting else np.inf
    cheaper = [entry for entry in sorted(near, key=lambda e: -e[0].cost) if entry[0].cost < chosen]
    cheaper = [(*entry, *_whole(*entry[::2], workers)) for entry in cheaper[:ALTERNATIVES]]
    failed = [entry for entry in failed if entry[0].cost < chosen]
    cheaper = sorted(failed + cheaper, key=lambda entry: -entry[0].cost)[:ALTERNATIVES]
    rows = []
    for place, entries in (("chosen", meeting[:1]), ("next", meeting[1:]), ("cheaper", cheaper)):
        for entry in entries:
            rows += _rows(place, *entry)
    return rows


def oriented(assembly, sky_of):
    """The study with its arrays at every slope and direction tried; (label, Assembly)."""
    study, shelf = assembly.study, assembly.study.sizing.as_sold
    if shelf is None:
        raise StudyError("sizing.as_sold: is missing; list the modules and batteries to choose from")
    for tilt in shelf.tilts_deg or [None]:
        for azimuth in shelf.azimuths_deg or [None]:
            changes = {}
            for name in study.arrays:
                changes |= {} if tilt is None else {f"arrays.{name}.tilt_deg": tilt}
                changes |= {} if azimuth is None else {f"arrays.{name}.azimuth_deg": azimuth}
            if not changes:
                yield (tilt, azimuth), assembly
                continue
            turned = _changed(study, changes)
            yield (tilt, azimuth), assemble(turned, assembly.climate, sky_of(turned))


def _changed(study, changes):
    """A what-if that keeps what is being asked: target, sizing and engine."""
    made = study.with_changes(changes)
    return made.model_copy(update={name: getattr(study, name) for name in ("target", "sizing", "engine")})


def _order(one):
    return one.cost, one.array_wp, one.bank_ah, one.controller


def _tried(candidates, workers, tell):
    """Designs that meet all targets, cheapest first, and those that were tried and failed."""
    meeting, failed = [], []
    for number, (one, turned, here) in enumerate(candidates):
        if len(meeting) > ALTERNATIVES or len(meeting) + len(failed) >= MOST_TRIED:
            break
        if any(_no_more(one, turned, other) for other in failed):
            continue
        rows, month = _whole(one, here, workers)
        good = all(row["meets"] for row in rows)
        (meeting if good else failed).append((one, turned, here, rows, month))
        if tell:
            tell(min(0.99, (number + 1) / len(candidates)))
    return meeting, failed


def _no_more(one, turned, failed):
    """Whether a design has no more array, bank or controller than one that failed, turned alike."""
    other = failed[0]
    limits = (np.inf if d.limit_a is None else d.limit_a for d in (one, other))
    mine, its = limits
    return (
        turned == failed[1]
        and one.array_wp <= other.array_wp
        and one.bank_ah <= other.bank_ah
        and mine <= its
    )


def _whole(one, here, workers):
    """A design simulated whole: what it reaches, and the month with most hours lost (0: none)."""
    study = _changed(here.study, one.changes(here.study))
    parts = assemble(study, here.climate, here.sky)
    days = any(one.statistic in AUTONOMY for one in study.target.also.values())
    result = simulate(parts, autonomy=days, workers=workers)
    lost = np.asarray(result.months["loss_of_load_hours"], float).mean(axis=0)
    return measured(study, result, parts.world), int(lost.argmax()) + 1 if lost.max() > 0 else 0


def _rows(place, one, turned, here, requirements, month):
    tilt, azimuth = turned
    pieces = (place, one.module, one.modules, one.block, one.blocks, one.controller, tilt, azimuth)
    sizes = (one.array_wp, one.bank_ah, one.cost)
    for row in requirements:
        yield dict(zip(COLUMNS, (*pieces, *sizes, *row.values(), month), strict=True))
