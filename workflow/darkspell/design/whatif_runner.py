"""Many what-ifs on the same draws, with as many years as the asked precision needs."""

from dataclasses import replace

import numpy as np

from darkspell.core.batches import over_batches
from darkspell.core.calendar import HOURS
from darkspell.simulation.run import merged, simulate_batch
from darkspell.simulation.system import build_system
from darkspell.statistics.intervals import MEAN_LEVEL, difference_interval
from darkspell.statistics.paired_comparison import COLUMNS, COMPARED, OCCASIONAL, compare
from darkspell.statistics.registry import yearly_of
from darkspell.statistics.site_figures import probability_met, site_figures

CHANCE = "probability_met"
WHATIF_COLUMNS = (*COLUMNS, CHANCE)
# What the traces of a study depend on; what-ifs that leave it alone meet the very same arrays.
TRACED = (
    "site", "itinerary", "climate", "arrays", "controller", "chargers", "loads", "measured_loads", "inverter",
    "occupancy", "load_uncertainty_pct", "system", "engine",
)  # fmt: skip
# Of the bank, all but what only the bank's own step reads.
UNTRACED = (
    "capacity_ah", "rate_h", "depth_limit_pct", "planning_depth_pct", "cutoff_voltage_v",
    "reconnect_soc_pct", "reconnect_voltage_v", "block_voltage_v", "blocks_in_series", "strings_in_parallel",
    "block_capacity_ah", "self_consumption_w", "charge_current_max_a", "discharge_current_max_a",
    "charge_temperature_min_c", "charge_temperature_full_c", "charge_temperature_max_c", "absorption_h",
)  # fmt: skip


def trace_key(study):
    """Key that is equal for studies with the same input series.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    str
    """
    bank = {name: value for name, value in study.resolved()["bank"].items() if name not in UNTRACED}
    return f"{study.subtree_hash(*TRACED)} {bank}"


def run_whatifs(system, site_of, whatifs, workers=None, tell=None):
    """Run a study and its what-ifs side by side; rows of `WHATIF_COLUMNS`.

    Parameters
    ----------
    system : darkspell.simulation.system.System
        Of the study.
    site_of : callable
        From a study to ``(climate, sky)``.
    whatifs : dict
        ``{name: {dotted key: value}}``.
    workers, tell
        As in `darkspell.core.batches.over_batches`.

    Returns
    -------
    list of dict

    Notes
    -----
    With ``engine.precision`` years are added, doubling their number from look to look, until the interval of a
    what-if's difference in the statistic asked for is as narrow as asked, or until the next look would pass
    ``max_members``. Each what-if ends by itself: its rows do not know of the others, however they are cut
    into jobs. The number K of looks that may come is known beforehand. Every interval of every
    look, so also the last, is then one of level 1 - (1 - 0.95) / K: by Bonferroni's inequality all K cover at
    once with 95 %, so that stopping on what they show takes nothing from it.
    """
    study = system.study
    going = {}
    for name, changes in whatifs.items():
        changed = study.with_changes(changes).model_copy(update={"engine": study.engine})
        going[name] = build_system(changed, *site_of(changed))
    looks = looks_of(study.engine)
    level = 1.0 - (1.0 - MEAN_LEVEL) / len(looks)
    base, found, rows, done = {}, {name: {} for name in going}, {}, 0
    for members in looks:
        more = run_studies([system, *going.values()], done, members, workers, tell)
        base, done = _longer(base, more[0]), members
        found = {name: _longer(found[name], one) for name, one in zip(going, more[1:], strict=True)}
        parameter_draw = np.arange(members) % study.engine.parameter_draws
        for name in list(going):
            if members == looks[-1] or _narrow(base, found[name], parameter_draw, study, level):
                given = whatifs[name], base, found[name], parameter_draw, study.engine.seed, level
                chance = {CHANCE: chance_of(study, found[name], parameter_draw)}
                rows[name] = [row | chance for row in compare(name, *given)]
                del going[name]
        if not going:
            break
    return [row for name in whatifs for row in rows[name]]


def chance_of(study, members, parameter_draw):
    """Probability that the long-run average at this site keeps the study's first target.

    Parameters
    ----------
    study : darkspell.study.Study
        With the target.
    members : dict of float arrays [members]
        Statistics by member, of the study or of a what-if.
    parameter_draw : int array [members]

    Returns
    -------
    float
        [-], four decimals.
    """
    target = study.target
    column, scale = yearly_of(target.statistic), HOURS if target.statistic == "lolp" else 1.0
    values, demand = np.asarray(members[column], float)[:, None], float(np.mean(members["demand_kwh"]))
    found = site_figures(values, parameter_draw, [column], demand, study.engine.seed)
    return round(float(probability_met(found, target.at_most * scale)[0]), 4)


def looks_of(engine):
    """Numbers of members at which the differences are examined, ascending.

    Parameters
    ----------
    engine : darkspell.study.targets.Engine

    Returns
    -------
    list of int
    """
    looks, precision = [engine.members], engine.precision
    while precision is not None and 2 * looks[-1] <= precision.max_members:
        looks.append(2 * looks[-1])
    return looks


def run_studies(systems, first, last, workers=None, tell=None):
    """Statistics by member of several studies from one member to another; traces are made once for each key.

    Parameters
    ----------
    systems : list of darkspell.simulation.system.System
        All use the first one's number of parameter draws.
    first, last : int
    workers, tell
        As in `darkspell.core.batches.over_batches`.

    Returns
    -------
    list of dict of float arrays [last - first]
    """
    return [_kept(one.members) for one in simulate_together(systems, first, last, workers, tell)]


def simulate_together(systems, first, last, workers=None, tell=None, autonomy=False):
    """Simulate several studies from one member to another; traces are made once for each key.

    Parameters
    ----------
    systems, first, last, workers, tell
        As in `run_studies`.
    autonomy : bool
        As in `darkspell.simulation.run.simulate_batch`.

    Returns
    -------
    list of darkspell.simulation.run.Simulation
        Without events, recovery and counts of state of charge.
    """
    members = np.arange(first, last)
    part = replace(
        systems[0], members=members, parameter_draw=members % systems[0].study.engine.parameter_draws
    )
    keys = [trace_key(one.study) for one in systems]
    order = sorted(range(len(keys)), key=lambda place: (keys[place], place))

    def work(members, parameter_draw, count):
        found, last_key, traces = [], None, None
        for place in order:
            if keys[place] != last_key:
                last_key, traces = keys[place], systems[place].traces(members, parameter_draw)
            found.append(simulate_batch(systems[place], members, parameter_draw, count, traces, autonomy))
        return found

    parts = over_batches(work, part, workers, tell)
    columns = dict(zip(order, zip(*parts, strict=True), strict=True))
    return [merged(columns[place]) for place in range(len(keys))]


def _kept(members):
    return {name: np.asarray(members[name]) for name in (*COMPARED, *OCCASIONAL, "demand_kwh")}


def _longer(one, more):
    return {name: np.concatenate([one[name], values]) if one else values for name, values in more.items()}


def _narrow(base, other, parameter_draw, study, level):
    """Whether the difference of the statistic asked for is known as well as asked."""
    asked = study.engine.precision
    low, high = difference_interval(
        base[asked.statistic], other[asked.statistic], parameter_draw, level, study.engine.seed
    )
    return (high - low) / 2 <= asked.half_width
