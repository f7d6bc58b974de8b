"""People who see the reading and save: the loads of a further pass answer the reading of the pass before.

At 18:00 they look at the monitor: once it reads low they save, until it reads well again. A reading depends
on what was asked for before it alone, so the year is run again with the answers of the pass before until no
answer changes any more: each pass settles every day up to the first whose answer it changed, and that day.
What `PASSES` passes leave unsettled is counted.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from darkspell.assembly import Assembly
from darkspell.bank.block import run_block
from darkspell.calendar import DAYS
from darkspell.monitor.study import readings

LOOK_HOUR = 18
PASSES = 60


@dataclass(frozen=True)
class Adapting(Assembly):
    """An assembly whose people answer their monitor.

    `answers` is filled as traces are made: by member, days on which they save, and days whose answer the
    last pass still changed.
    """

    answers: dict = field(default_factory=dict)

    def traces(self, members, world):
        """Traces of some members, their people's answers in the loads."""
        asked = super().traces(members, world)
        saving = np.zeros((DAYS, len(members)), bool)
        given, changed = asked, saving
        for _ in range(PASSES):
            seen = self._answers(given, members)
            changed = seen != saving
            saving = seen
            if not changed.any():
                break
            given = saved(asked, saving, self.study.people.adapting)
        for lane, member in enumerate(members):
            self.answers[int(member)] = int(saving[:, lane].sum()), int(changed[:, lane].sum())
        return given

    def _answers(self, traces, members):
        """Whether they save after their look at the first shunt at 18:00 of each day; bool [365, lanes]."""
        bank = run_block(traces.for_bank(), self.scales(), self.controls, self.chemistry)
        reading = readings(self.study, self.chemistry, bank, traces, members)[self.study.monitor][0]
        rule = self.study.people.adapting
        return answers(reading[LOOK_HOUR - 1 :: 24], rule.below_soc_pct / 100.0, rule.until_soc_pct / 100.0)


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
    assembly : darkspell.assembly.Assembly

    Returns
    -------
    Adapting
    """
    return Adapting(**{name: getattr(assembly, name) for name in assembly.__dataclass_fields__})


def saved(traces, saving, rule):
    """Traces with less asked for from 18:00 of the days of saving until 18:00 of the next.

    Parameters
    ----------
    traces : darkspell.traces.TraceBlock
    saving : bool array [365, lanes]
    rule : darkspell.study.people.Adapting

    Returns
    -------
    darkspell.traces.TraceBlock
        The greatest load within an hour stays as it is: what still runs may start as before.
    """
    hours = np.roll(np.repeat(saving, 24, axis=0), LOOK_HOUR, axis=0)
    factor = np.where(hours, np.float32(1.0 - rule.less_pct / 100.0), np.float32(1.0))
    deferrable = traces.deferrable * factor
    essential = traces.essential * factor if rule.loads == "all" else traces.essential
    before = traces.essential + traces.deferrable + traces.always
    now = essential + deferrable + traces.always
    share = np.divide(now, before, out=np.ones_like(before), where=before > 0.0)
    return replace(
        traces, essential=essential, deferrable=deferrable, past_monitor=traces.past_monitor * share
    )


def adapting_table(base, other, answers, world, seed):
    """Rows of adapting.csv: every statistic without and with the saving, and the saving itself.

    Parameters
    ----------
    base, other : mappings of float arrays [members]
        Statistics of the members without and with it.
    answers : dict
        Of `Adapting`.
    world : int array [members]
    seed : int

    Returns
    -------
    pandas.DataFrame
        `COLUMNS`; ``unsettled_days`` tells how many answers the last pass still changed, without an interval.
    """
    import pandas as pd

    from darkspell.choices.whatifs import compare
    from darkspell.statistics.intervals import difference_interval, verdict

    rows = pd.DataFrame(compare("adapting", {}, base, other, world, seed))
    rows = rows.rename(columns={"study_value": "without", "whatif_value": "with"})
    members = range(len(world))
    days, open_days = (np.array([answers[m][at] for m in members], float) for at in (0, 1))
    extra = [
        ("demand_kwh", "kWh/year", np.asarray(base["demand_kwh"]), np.asarray(other["demand_kwh"])),
        ("saving_days", "days/year", np.zeros(len(world)), days),
    ]
    made = []
    for name, unit, a, b in extra:
        low, high = difference_interval(a, b, world, seed=seed, unit_size=1.0)
        numbers = (a.mean(), b.mean(), (b - a).mean(), low, high, verdict(low, high))
        made.append(dict(zip(COLUMNS, (name, unit, *numbers), strict=True)))
    left = ("unsettled_days", "days/year", 0.0, open_days.mean(), open_days.mean(), np.nan, np.nan, "")
    made.append(dict(zip(COLUMNS, left, strict=True)))
    return pd.concat([rows[list(COLUMNS)], pd.DataFrame(made)], ignore_index=True)


COLUMNS = ("statistic", "unit", "without", "with", "difference", "low", "high", "verdict")
