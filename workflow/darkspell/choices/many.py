"""Many what-ifs on the same draws, with as many years as the asked precision needs."""

from dataclasses import replace

import numpy as np

from darkspell.assembly import assemble
from darkspell.batches import over_batches
from darkspell.choices.whatifs import COMPARED, compare
from darkspell.simulate import merged, simulate_batch
from darkspell.statistics.intervals import MEAN_LEVEL, difference_interval

# What the traces of a study depend on; what-ifs that leave it alone meet the very same arrays.
TRACED = (
    "site", "itinerary", "climate", "arrays", "controller", "chargers", "loads", "measured_loads", "inverter",
    "people", "load_doubt_pct", "system", "engine",
)  # fmt: skip
# Of the bank, all but what only the bank's own step reads.
UNTRACED = (
    "capacity_ah", "age_capacity_pct", "rate_h", "depth_limit_pct", "planning_depth_pct", "cutoff_voltage_v",
    "reconnect_soc_pct", "reconnect_voltage_v", "block_voltage_v", "blocks_in_series", "strings_in_parallel",
    "block_capacity_ah", "standing_draw_w",
)  # fmt: skip


def trace_key(study):
    """Studies with one key have the same traces."""
    bank = {name: value for name, value in study.resolved()["bank"].items() if name not in UNTRACED}
    return f"{study.subtree_hash(*TRACED)} {bank}"


def run_whatifs(assembly, site_of, whatifs, workers=None, tell=None):
    """Run a study and its what-ifs side by side; rows of `darkspell.choices.whatifs.COLUMNS`.

    Parameters
    ----------
    assembly : darkspell.assembly.Assembly
        Of the study.
    site_of : callable
        From a study to ``(climate, sky)``.
    whatifs : dict
        ``{name: {dotted key: value}}``.
    workers, tell
        As in `darkspell.batches.over_batches`.

    Returns
    -------
    list of dict

    Notes
    -----
    With ``engine.precision`` years are added, doubling their number from look to look, until the interval of
    every what-if's difference in the statistic asked for is as narrow as asked, or until the next look would
    pass ``most_members``. The number K of looks that may come is known beforehand. Every interval of every
    look, so also the last, is then one of level 1 - (1 - 0.95) / K: by Bonferroni's inequality all K cover at
    once with 95 %, so that stopping on what they show takes nothing from it.
    """
    study = assembly.study
    others = []
    for changes in whatifs.values():
        changed = study.with_changes(changes).model_copy(update={"engine": study.engine})
        others.append(assemble(changed, *site_of(changed)))
    looks, asked = looks_of(study.engine), study.engine.precision
    level = 1.0 - (1.0 - MEAN_LEVEL) / len(looks)
    results = [{} for _ in range(1 + len(others))]
    done = 0
    for members in looks:
        more = run_studies([assembly, *others], done, members, workers, tell)
        results = [_longer(*pair) for pair in zip(results, more, strict=True)]
        done = members
        world = np.arange(members) % study.engine.worlds
        if asked is None or _narrow(results, world, study, level):
            break
    base, *rest = results
    rows = []
    for (name, changes), other in zip(whatifs.items(), rest, strict=True):
        rows += compare(name, changes, base, other, world, study.engine.seed, level)
    return rows


def looks_of(engine):
    """Numbers of members at which the differences are looked at, ascending."""
    looks, precision = [engine.members], engine.precision
    while precision is not None and 2 * looks[-1] <= precision.most_members:
        looks.append(2 * looks[-1])
    return looks


def run_studies(assemblies, first, last, workers=None, tell=None):
    """Statistics by member of several studies from one member to another; traces are made once for each key.

    Parameters
    ----------
    assemblies : list of darkspell.assembly.Assembly
        The first one's number of worlds holds for all.
    first, last : int
    workers, tell
        As in `darkspell.batches.over_batches`.

    Returns
    -------
    list of dict of float arrays [last - first]
    """
    members = np.arange(first, last)
    part = replace(assemblies[0], members=members, world=members % assemblies[0].study.engine.worlds)
    keys = [trace_key(one.study) for one in assemblies]
    order = sorted(range(len(keys)), key=lambda place: (keys[place], place))

    def work(members, world, count):
        found, last_key, traces = [], None, None
        for place in order:
            if keys[place] != last_key:
                last_key, traces = keys[place], assemblies[place].traces(members, world)
            found.append(simulate_batch(assemblies[place], members, world, count, traces))
        return found

    parts = over_batches(work, part, workers, tell)
    columns = dict(zip(order, zip(*parts, strict=True), strict=True))
    return [_kept(merged(columns[place]).members) for place in range(len(keys))]


def _kept(members):
    return {name: np.asarray(members[name]) for name in (*COMPARED, "demand_kwh")}


def _longer(one, more):
    return {name: np.concatenate([one[name], values]) if one else values for name, values in more.items()}


def _narrow(results, world, study, level):
    """Whether every difference of the statistic asked for is known as well as asked."""
    asked, (base, *others) = study.engine.precision, results
    for other in others:
        a, b = base[asked.statistic], other[asked.statistic]
        low, high = difference_interval(a, b, world, level, study.engine.seed)
        if not (high - low) / 2 <= asked.half_width:
            return False
    return True
