"""People who look at the monitor at 18:00, save while it reads low, and stop once it reads well again.

See `darkspell.simulation.settle`; what `PASSES` passes leave unsettled is counted.
"""

from dataclasses import replace

import numpy as np

from darkspell.core.calendar import DAYS
from darkspell.monitor.all_monitors import readings
from darkspell.simulation.run import Year
from darkspell.simulation.settle import iterate_until_settled
from darkspell.statistics.bounded_means import bounded_intervals
from darkspell.statistics.registry import mean_units

LOOK_HOUR = 18
PASSES = 60
UNSETTLED = "unsettled_days"
# Days on which they save though the true charge would not have them do so, and what they then go without; days on
# which they do not though it would, and how far beyond the planning depth the bank then goes.
WRONG = mean_units(("needless_days", "needless_kwh", "late_days", "late_beyond_planning_pct"))


def year_with_saving(system, members, parameter_draw):
    """Years of some members whose people save while the first shunt reads low.

    Parameters
    ----------
    system : darkspell.simulation.system.System
        Of a study with ``occupancy.saving``.
    members, parameter_draw : int arrays [lanes]

    Returns
    -------
    darkspell.simulation.run.Year
        Its ``feedback`` holds ``saving_days``, `UNSETTLED` and `WRONG`.
    """
    rule = system.study.occupancy.saving
    levels = rule.below_soc_pct / 100.0, rule.until_soc_pct / 100.0
    asked = system.traces(members, parameter_draw)

    def respond(saving):
        given = saved(asked, saving, rule) if saving.any() else asked
        reading = _reading(system, given, members)
        return answers(reading[LOOK_HOUR - 1 :: 24], *levels), None

    start = np.zeros((DAYS, len(members)), bool)
    saving, _, unsettled = iterate_until_settled(respond, start, PASSES)
    given = saved(asked, saving, rule) if saving.any() else asked
    bank = system.bank(given)
    right = answers(bank.soc[LOOK_HOUR - 1 :: 24], *levels)
    counts = {"saving_days": saving.sum(0), UNSETTLED: unsettled.sum(0)}
    planning = system.study.bank.planning_depth_pct / 100.0
    return Year(given, bank, counts | wrong_answers(saving, right, asked, given, bank, planning))


def _reading(system, traces, members):
    """What the first shunt reads; float32 [8760, lanes]."""
    study = system.study
    own = {study.monitor: study.monitors[study.monitor]}
    return readings(study, system.chemistry, system.bank(traces), traces, members, own)[study.monitor].soc


def wrong_answers(saving, right, asked, given, bank, planning):
    """Days of needless and of missing saving, and what they cost.

    Parameters
    ----------
    saving, right : bool arrays [365, lanes]
        Days of saving by the reading, and by the true charge.
    asked, given : darkspell.simulation.input_series.TraceBlock
        Loads as wanted, and as they are with the saving.
    bank : darkspell.bank.bank_results.BankBlock
    planning : float
        Planning depth [-].

    Returns
    -------
    dict of arrays [lanes]
        `WRONG`.
    """
    needless, late = saving & ~right, right & ~saving
    forgone = (asked.essential + asked.deferrable) - (given.essential + given.deferrable)
    beyond = np.maximum(1.0 - bank.soc - planning, 0.0)
    values = (
        needless.sum(0),
        np.where(_hours(needless), forgone, 0.0).sum(0) / 1000.0,
        late.sum(0),
        100.0 * np.where(_hours(late), beyond, 0.0).max(0),
    )
    return dict(zip(WRONG, values, strict=True))


def answers(seen, low, well):
    """Days of saving that readings lead to.

    Parameters
    ----------
    seen : float array [365, lanes]
        Reading at 18:00 of each day [-].
    low, well : float
        Readings below which they begin, and at or above which they stop [-].

    Returns
    -------
    bool array [365, lanes]
        The year begins as it ended.
    """
    saving = np.zeros(seen.shape[1], bool)
    out = np.empty(seen.shape, bool)
    for _ in range(2):
        for day, reading in enumerate(seen):
            saving = (reading < low) | (saving & (reading < well))
            out[day] = saving
    return out


def saved(traces, saving, rule):
    """Traces with less asked for from 18:00 of the days of saving until 18:00 of the next.

    Parameters
    ----------
    traces : darkspell.simulation.input_series.TraceBlock
    saving : bool array [365, lanes]
    rule : darkspell.study.occupancy.Saving

    Returns
    -------
    darkspell.simulation.input_series.TraceBlock
        The greatest load within an hour stays as it is: what still runs may start as before.
    """
    factor = np.where(_hours(saving), np.float32(1.0 - rule.less_pct / 100.0), np.float32(1.0))
    deferrable = traces.deferrable * factor
    essential = traces.essential * factor if rule.loads == "all" else traces.essential
    before = traces.essential + traces.deferrable + traces.always
    now = essential + deferrable + traces.always
    share = np.divide(now, before, out=np.ones_like(before), where=before > 0.0)
    less = {"essential": essential, "deferrable": deferrable, "past_monitor": traces.past_monitor * share}
    if traces.critical is not None and rule.loads == "all":
        less["critical"] = traces.critical * factor
    return replace(traces, **less)


def _hours(days):
    """Hours from 18:00 of the given days until 18:00 of the next; bool [8760, lanes]."""
    return np.roll(np.repeat(days, 24, axis=0), LOOK_HOUR, axis=0)


def saving_table(base, other, feedback, parameter_draw, seed):
    """Rows of saving.csv: every statistic without and with the saving, and the saving itself.

    Parameters
    ----------
    base, other : mappings of float arrays [members]
        Statistics of the members without and with it.
    feedback : dict of float arrays [members]
        Of the simulation with it: ``saving_days``, `UNSETTLED` and `WRONG`.
    parameter_draw : int array [members]
    seed : int

    Returns
    -------
    pandas.DataFrame
        `COLUMNS`; ``unsettled_days`` tells how many answers the last pass still changed, without an interval.
    """
    import pandas as pd

    from darkspell.statistics.intervals import difference_interval, verdict
    from darkspell.statistics.paired_comparison import compare

    rows = pd.DataFrame(compare("saving", {}, base, other, parameter_draw, seed))
    rows = rows.rename(columns={"study_value": "without", "whatif_value": "with"})
    days, open_days = (np.asarray(feedback[name], float) for name in ("saving_days", UNSETTLED))
    extra = [
        ("demand_kwh", "kWh/year", np.asarray(base["demand_kwh"]), np.asarray(other["demand_kwh"])),
        ("saving_days", "days/year", np.zeros(len(parameter_draw)), days),
    ]
    made = []
    for name, unit, a, b in extra:
        low, high = difference_interval(a, b, parameter_draw, seed=seed, unit_size=1.0)
        numbers = (a.mean(), b.mean(), (b - a).mean(), low, high, verdict(low, high))
        made.append(dict(zip(COLUMNS, (name, unit, *numbers), strict=True)))
    wrong = np.stack([np.asarray(feedback[name], float) for name in WRONG], axis=1)
    low, high, _ = bounded_intervals(
        wrong, parameter_draw, list(WRONG), float(np.mean(base["demand_kwh"])), seed
    )
    for (name, unit), mean, *bounds in zip(WRONG.items(), wrong.mean(0), low, high, strict=True):
        made.append(dict(zip(COLUMNS, (name, unit, 0.0, mean, mean, *bounds, verdict(*bounds)), strict=True)))
    left = (UNSETTLED, "days/year", 0.0, open_days.mean(), open_days.mean(), np.nan, np.nan, "")
    made.append(dict(zip(COLUMNS, left, strict=True)))
    return pd.concat([rows[list(COLUMNS)], pd.DataFrame(made)], ignore_index=True)


COLUMNS = ("statistic", "unit", "without", "with", "difference", "low", "high", "verdict")
