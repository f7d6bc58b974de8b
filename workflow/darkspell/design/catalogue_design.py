"""The least costly design of whole pieces that reaches every target, and its neighbours."""

import numpy as np

from darkspell.core.calendar import HOURS
from darkspell.core.errors import StudyError
from darkspell.design.catalogue import ladders, scales_of_ladders, with_life_cycle_costs
from darkspell.design.catalogue_search import Column, cheapest_first
from darkspell.design.frontier import find_frontier
from darkspell.design.requirements import measured, meets_all
from darkspell.simulation.run import simulate
from darkspell.simulation.system import build_system
from darkspell.statistics.registry import AUTONOMY_KINDS, LOSSES, yearly_of
from darkspell.statistics.site_interval import site_distribution

ALTERNATIVES = 3  # designs shown on either side of the chosen one; our choice
WAIT = "longest_full_charge_interval_days"
COLUMNS = (
    "place", "module", "modules", "block", "blocks", "controller", "tilt_deg", "azimuth_deg", "array_wp", "bank_ah",
    "cost", "bank_life_years", "life_cycle_cost", "yearly_cost", "requirement", "statistic", "value", "low", "high",
    "limit", "direction", "is_share_of_years",
    "meets", "probability_met", "probability_all_met", "worst_month", "not_evaluated",
)  # fmt: skip


def design(system, sky_of, workers=None, tell=None):
    """Find the design of least first cost, or cost over life, as `sizing.minimise` says; rows of `COLUMNS`.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    sky_of : callable
        From a study to its `SiteSky`, for the slopes and directions tried.
    workers, tell
        As in `darkspell.core.batches.over_batches`; `tell` is called for each complete design.

    Returns
    -------
    list of dict
        Places: ``chosen``, ``next`` (dearer ones that meet the targets), ``cheaper`` (the dearest of the
        cheaper ones that do not; their values show what they give up). ``not_evaluated``: designs of the list
        of which nothing is known, 0 where the search went to its end.

    Notes
    -----
    The first target's border is found by `find_frontier` with lanes across designs. From there on designs are
    simulated whole and held against every target, in the order of `cheapest_first`. A larger bank waits longer for
    a full charge, so targets on the longest such wait bound each column from above, found in the same way: within
    the bounds a failure says what it says of a plain store. Other targets on full charges (their number, the days
    with one) lack such a bound.
    """
    columns = []
    least_of = "cost" if system.study.sizing.minimise == "first_cost" else "life_cycle_cost"

    def worth(entry):
        return getattr(entry[0], least_of)

    for turned, here in oriented(system, sky_of):
        stacks = with_life_cycle_costs(here, ladders(here.study), workers)
        target = here.study.target
        scales = scales_of_ladders(here, stacks)
        found = find_frontier(here, scales, target.statistic, target.at_most, workers, judge_of(here.study))
        most = full_charge_most(here, scales, waits_of(target), workers)
        for stack, least, last in zip(stacks, found.least, most, strict=True):
            # A column without a bank that is full in time keeps its smallest, known to fail.
            kept, low = stack[: max(last + 1, 1)], int(least) - 1 if last >= 0 else 0
            columns.append(Column(kept, turned, here, min(low, len(kept) - 1), minimise=least_of))
    below = [(column.stack[column.low], column) for column in columns if 0 <= column.low < len(column.stack)]
    runs = {}

    def meets(one, column):
        rows, month = runs[one, column.turned] = _whole(one, column.here, workers)
        if tell:
            tell(min(0.99, len(runs) / (len(runs) + 10)))
        return meets_all(rows, column.here.study.target)

    meeting, failed, untried = cheapest_first(columns, meets, ALTERNATIVES + 1)
    limit = worth(meeting[0]) if meeting else np.inf
    cheaper = {
        (one, column.turned): (one, column)
        for one, column in (*failed, *below)
        if worth((one, column)) < limit
    }.values()
    cheaper = sorted(cheaper, key=lambda entry: -worth(entry))[:ALTERNATIVES]
    for one, column in cheaper:
        if (one, column.turned) not in runs:
            meets(one, column)
    rows = []
    for place, entries in (("chosen", meeting[:1]), ("next", meeting[1:]), ("cheaper", cheaper)):
        for one, column in entries:
            rows += _rows(place, one, column.turned, *runs[one, column.turned], untried)
    return rows


def judge_of(study):
    """Whether designs meet the first target with the chance asked for; see `find_frontier`.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    callable
    """
    target, column = study.target, yearly_of(study.target.statistic)
    limit = target.at_most * (HOURS if target.statistic == "lolp" else 1.0)

    def judge(counts, parameter_draw):
        values = np.asarray(counts[column], float)
        probability = site_distribution(values, parameter_draw, column in LOSSES).probability(limit)
        known = np.where(np.isnan(probability), values.mean(axis=0) <= limit, probability)
        return 100.0 * known >= target.chance_pct

    return judge


def waits_of(target):
    """Targets on the longest time between full charges.

    Parameters
    ----------
    target : darkspell.study.targets.Target

    Returns
    -------
    list of (callable, float)
        Function of the counts, and the greatest mean allowed.
    """

    def late(days):
        return lambda counts: (counts[WAIT] > days).astype(float)

    def share(years_pct):  # as many years may be late as are left, a rounding error more
        return 1.0 - years_pct / 100.0 + 1e-9

    again, waits = target.full_charge, []
    if again is not None:
        waits.append((late(again.within_days), share(again.years_pct)))
    for one in target.additional.values():
        if one.statistic == WAIT and one.at_most is not None and one.years_pct is not None:
            waits.append((late(one.at_most), share(one.years_pct)))
        elif one.statistic == WAIT and one.at_most is not None:
            waits.append((lambda counts: counts[WAIT].astype(float), one.at_most))
    return waits


def full_charge_most(system, scales, waits, workers=None):
    """Place of the largest bank of each column that is full again in time; -1 where none is.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    scales : float32 array [columns, banks, 6]
        As `find_frontier` takes them.
    waits : list
        Of `waits_of`; without any the largest bank of all.
    workers : int, optional
        Threads; all cores if not given.

    Returns
    -------
    int array [columns]
    """
    last = scales.shape[1] - 1
    most = np.full(len(scales), last)
    for wait, limit in waits:
        most = np.minimum(most, last - find_frontier(system, scales[:, ::-1], wait, limit, workers).least)
    return most


def oriented(system, sky_of):
    """The study with its arrays at every slope and direction tried; (label, System).

    Parameters
    ----------
    system : darkspell.simulation.system.System
    sky_of : callable
        Sky of a system whose arrays were turned.

    Raises
    ------
    StudyError
        If the study has no catalogue.
    """
    study, shelf = system.study, system.study.sizing.catalogue
    if shelf is None:
        raise StudyError("sizing.catalogue: is missing; list the modules and batteries to choose from")
    for tilt in shelf.tilts_deg or [None]:
        for azimuth in shelf.azimuths_deg or [None]:
            changes = {}
            for name in study.arrays:
                changes |= {} if tilt is None else {f"arrays.{name}.tilt_deg": tilt}
                changes |= {} if azimuth is None else {f"arrays.{name}.azimuth_deg": azimuth}
            if not changes:
                yield (tilt, azimuth), system
                continue
            turned = _changed(study, changes)
            yield (tilt, azimuth), build_system(turned, system.climate, sky_of(turned))


def _changed(study, changes):
    """A what-if that keeps what is being asked: target, sizing and engine."""
    made = study.with_changes(changes)
    return made.model_copy(update={name: getattr(study, name) for name in ("target", "sizing", "engine")})


def _whole(one, here, workers):
    """A design simulated whole: what it reaches, and the month with most hours lost (0: none)."""
    study = _changed(here.study, one.changes(here.study))
    parts = build_system(study, here.climate, here.sky)
    days = any(one.statistic in AUTONOMY_KINDS for one in study.target.additional.values())
    result = simulate(parts, autonomy=days, workers=workers)
    lost = np.asarray(result.months["lolh"], float).mean(axis=0)
    return measured(study, result, parts.parameter_draw), int(lost.argmax()) + 1 if lost.max() > 0 else 0


def _rows(place, one, turned, requirements, month, untried):
    tilt, azimuth = turned
    pieces = (place, one.module, one.modules, one.block, one.blocks, one.controller, tilt, azimuth)
    sizes = (one.array_wp, one.bank_ah, one.cost, one.bank_life_years, one.life_cycle_cost, one.yearly_cost)
    for row in requirements:
        yield dict(zip(COLUMNS, (*pieces, *sizes, *row.values(), month, untried), strict=True))
