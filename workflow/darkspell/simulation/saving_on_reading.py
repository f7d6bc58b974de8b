"""People who see the reading and save: the loads of a further pass answer the reading of the pass before.

At 18:00 they look at the monitor: once it reads low they save, until it reads well again. A reading depends
on what was asked for before it alone, so the year is run again with the answers of the pass before until no
answer changes any more: each pass settles every day up to the first whose answer it changed, and that day.
What `PASSES` passes leave unsettled is counted.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from darkspell.core.calendar import DAYS
from darkspell.monitor.all_monitors import readings
from darkspell.simulation.system import Assembly
from darkspell.statistics.bounded_means import bounded_intervals

LOOK_HOUR = 18
PASSES = 60
# Days on which they save though the true charge would not have them do so, and what they then go without; days on
# which they do not though it would, and how far beyond the planning depth the bank then goes.
WRONG = {
    "needless_days": "days/year",
    "needless_kwh": "kWh/year",
    "late_days": "days/year",
    "late_beyond_planning_pct": "%",
}


@dataclass(frozen=True)
class Adapting(Assembly):
    """An assembly whose people answer their monitor.

    `answers` is filled as traces are made: by member, its `WRONG` and what comes before it there.
    """

    answers: dict = field(default_factory=dict)

    def traces(self, members, parameter_draw):
        """Traces of some members, their people's answers in the loads."""
        asked = super().traces(members, parameter_draw)
        saving = np.zeros((DAYS, len(members)), bool)
        given, changed = asked, saving
        for _ in range(PASSES):
            seen = self._answers(given, members)
            changed = seen != saving
            saving = seen
            if not changed.any():
                break
            given = saved(asked, saving, self.study.occupancy.saving)
        wrong = self._wrong(saving, asked, given, self.bank(given, members))
        for lane, member in enumerate(members):
            days = int(saving[:, lane].sum()), int(changed[:, lane].sum())
            self.answers[int(member)] = *days, *(float(values[lane]) for values in wrong)
        return given

    def _answers(self, traces, members):
        """Whether they save after their look at the first shunt at 18:00 of each day; bool [365, lanes]."""
        bank = self.bank(traces, members)
        own = {self.study.monitor: self.study.monitors[self.study.monitor]}
        return self._answered(
            readings(self.study, self.chemistry, bank, traces, members, own)[self.study.monitor].soc
        )

    def _answered(self, soc):
        """Answers to a state of charge by hour, read or true; bool [365, lanes]."""
        rule = self.study.occupancy.saving
        return answers(soc[LOOK_HOUR - 1 :: 24], rule.below_soc_pct / 100.0, rule.until_soc_pct / 100.0)

    def _wrong(self, saving, asked, given, bank):
        """`WRONG` of a block; arrays [lanes]."""
        right = self._answered(bank.soc)
        needless, late = saving & ~right, right & ~saving
        forgone = (asked.essential + asked.deferrable) - (given.essential + given.deferrable)
        beyond = np.maximum(1.0 - bank.soc - self.study.bank.planning_depth_pct / 100.0, 0.0)
        return (
            needless.sum(0),
            np.where(_hours(needless), forgone, 0.0).sum(0) / 1000.0,
            late.sum(0),
            100.0 * np.where(_hours(late), beyond, 0.0).max(0),
        )


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


def adapting(assembly):
    """The assembly of a study whose people answer their monitor.

    Parameters
    ----------
    assembly : darkspell.simulation.system.Assembly

    Returns
    -------
    Adapting
    """
    return Adapting(**{name: getattr(assembly, name) for name in assembly.__dataclass_fields__})


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
    return replace(
        traces, essential=essential, deferrable=deferrable, past_monitor=traces.past_monitor * share
    )


def _hours(days):
    """Hours from 18:00 of the given days until 18:00 of the next; bool [8760, lanes]."""
    return np.roll(np.repeat(days, 24, axis=0), LOOK_HOUR, axis=0)


def saving_table(base, other, answers, parameter_draw, seed):
    """Rows of saving.csv: every statistic without and with the saving, and the saving itself.

    Parameters
    ----------
    base, other : mappings of float arrays [members]
        Statistics of the members without and with it.
    answers : dict
        Of `Adapting`.
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

    rows = pd.DataFrame(compare("adapting", {}, base, other, parameter_draw, seed))
    rows = rows.rename(columns={"study_value": "without", "whatif_value": "with"})
    members = range(len(parameter_draw))
    days, open_days = (np.array([answers[m][at] for m in members], float) for at in (0, 1))
    extra = [
        ("demand_kwh", "kWh/year", np.asarray(base["demand_kwh"]), np.asarray(other["demand_kwh"])),
        ("saving_days", "days/year", np.zeros(len(parameter_draw)), days),
    ]
    made = []
    for name, unit, a, b in extra:
        low, high = difference_interval(a, b, parameter_draw, seed=seed, unit_size=1.0)
        numbers = (a.mean(), b.mean(), (b - a).mean(), low, high, verdict(low, high))
        made.append(dict(zip(COLUMNS, (name, unit, *numbers), strict=True)))
    wrong = np.array([answers[m][2:] for m in members], float)
    low, high, _ = bounded_intervals(
        wrong, parameter_draw, list(WRONG), float(np.mean(base["demand_kwh"])), seed
    )
    for (name, unit), mean, *bounds in zip(WRONG.items(), wrong.mean(0), low, high, strict=True):
        made.append(dict(zip(COLUMNS, (name, unit, 0.0, mean, mean, *bounds, verdict(*bounds)), strict=True)))
    left = ("unsettled_days", "days/year", 0.0, open_days.mean(), open_days.mean(), np.nan, np.nan, "")
    made.append(dict(zip(COLUMNS, left, strict=True)))
    return pd.concat([rows[list(COLUMNS)], pd.DataFrame(made)], ignore_index=True)


COLUMNS = ("statistic", "unit", "without", "with", "difference", "low", "high", "verdict")
