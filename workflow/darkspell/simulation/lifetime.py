"""The study at three ages of its bank, and the year in which its target stops being met."""

from typing import NamedTuple

import numpy as np

from darkspell.bank.bank_results import run_block
from darkspell.bank.fade_within_year import capacity_left, late_hours, run_wearing
from darkspell.bank.maintenance import bank_care
from darkspell.bank.wear import life_factors, partial_wear, yearly_wear, years_at
from darkspell.core.batches import over_batches
from darkspell.statistics.intervals import mean_intervals
from darkspell.statistics.registry import yearly_of
from darkspell.statistics.reliability import reliability

STAGES = ("commissioning", "mid-life", "end of life")
FIRST_YEAR = "first year as it wears"


def ages(study):
    """Present over rated capacity at three stages: as in the study, half way, at the end of life.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    tuple of float
        Shares [-].
    """
    now, end = study.bank.state_of_health_pct / 100.0, study.ageing.end_of_life_pct / 100.0
    return now, (now + end) / 2.0, end


class Age(NamedTuple):
    """What the members' years say at one age; float64 arrays [members].

    Attributes
    ----------
    values : the target's statistic
    wear : share of a life that the year takes
    partial : the part of it that time too long after a full charge brings
    """

    values: np.ndarray
    wear: np.ndarray
    partial: np.ndarray


def run_age(system, capacity, workers=None, fed_back=False):
    """The target's statistic and the wear of each member at one age.

    Parameters
    ----------
    system : darkspell.simulation.system.System
        Of the study with the bank of that age.
    capacity : float
        Present capacity over rated [-].
    fed_back : bool
        Whether to run the years a second time with the bank wearing as it did in the first.

    Returns
    -------
    Age, or a pair of them where `fed_back`
    """
    study = system.study
    count = min(study.ageing.members, system.members.size)
    few = system.with_members(slice(count))
    given = few.per_ah_factors(), few.controls, few.chemistry
    to_lose = 1.0 - ages(study)[-1] / capacity

    def work(members, parameter_draw, real):
        traces = few.traces(members, parameter_draw)
        bank = run_block(traces.for_bank(), *given)
        unserved = bank.unserved_essential, bank.unserved_deferrable
        found = [_judged(few, capacity, traces, bank.soc, unserved)]
        if fed_back:
            wear, partial = (to_lose * np.minimum(part, 1.0) for part in found[0][1:])
            left = capacity_left(wear, partial, late_hours(bank.soc, study.bank.chemistry))
            soc, *unserved = run_wearing(traces.for_bank(), left, *given)
            found.append(_judged(few, capacity, traces, soc, unserved))
        return [[column[:real] for column in age] for age in found]

    runs = zip(*over_batches(work, few, workers), strict=True)
    found = [Age(*(np.concatenate(column) for column in zip(*run, strict=True))) for run in runs]
    return found if fed_back else found[0]


def _judged(system, capacity, traces, soc, unserved):
    """`Age` of one block."""
    study, chemistry = system.study, system.study.bank.chemistry
    lost, _ = reliability(
        *unserved, traces.all_essential, traces.deferrable, system.calendar, study.short_night_floor_wh
    )
    care = bank_care(soc, traces.temp_bank, chemistry)
    wear = yearly_wear(soc, traces.temp_bank, care["partial_charge_pct"], capacity, chemistry)
    partial = partial_wear(wear, care["partial_charge_pct"], chemistry)
    values = lost[yearly_of(study.target.statistic)] / (8760.0 if study.target.statistic == "lolp" else 1.0)
    return Age(values, wear, partial)


def course(study, runs, parameter_draw, wearing=None):
    """Rows of ageing.csv.

    Parameters
    ----------
    study : darkspell.study.Study
    runs : list of Age
        From `run_age`, in the order of `STAGES`.
    parameter_draw : int array [members]
    wearing : Age, optional
        Of the bank as it is, its wear fed back.

    Returns
    -------
    pandas.DataFrame
        A row a stage, one for the first year with the bank wearing in it (its capacity that of the year's end)
        and one for the year in which the target stops being met: ``stage``, ``capacity_pct``, ``years`` (median over
        members' banks) with ``years_low`` and ``years_high`` (8 of 10 banks), the target's ``statistic``, its
        ``mean`` with ``mean_low`` and ``mean_high`` (95 %), ``meets_target``; the capacity that a year takes [% of
        rated], ``loss_pct`` with ``loss_low`` and ``loss_high`` (95 %), of it ``loss_partial_pct`` by time too long
        after a full charge.
        Without a year of missing it the last row holds none.
    """
    import pandas as pd

    capacity = np.array(ages(study))
    share = (capacity[0] - capacity) / (capacity[0] - capacity[-1])
    time = years_at(share, [run.wear.mean() for run in runs])
    spread = life_factors(range(1000), study.engine.seed)
    name, most = study.target.statistic, study.target.at_most
    rows, means = [], []
    life = 100 * (capacity[0] - capacity[-1])
    for place, (stage, run) in enumerate(zip(STAGES, runs, strict=True)):
        means.append(run.values.mean())
        known = _known(run, most, life, parameter_draw, study.engine.seed)
        rows.append((stage, 100 * capacity[place], *_years(time[place], spread), name, *known))
    if wearing is not None:
        known = _known(wearing, most, life, parameter_draw, study.engine.seed)
        left = 100 * capacity[0] - life * min(float(wearing.wear.mean()), 1.0)
        rows.append((FIRST_YEAR, left, 1.0, 1.0, 1.0, name, *known))
    missed = _crossing(share, means, most)
    if missed is not None:
        at = float(np.interp(missed, share, capacity))
        years = _years(float(np.interp(missed, share, time)), spread)
        rows.append(("target missed", 100 * at, *years, name, most, np.nan, np.nan, False, *(np.nan,) * 4))
    columns = (
        "stage", "capacity_pct", "years", "years_low", "years_high", "statistic", "mean", "mean_low", "mean_high",
        "meets_target", "loss_pct", "loss_low", "loss_high", "loss_partial_pct",
    )  # fmt: skip
    table = pd.DataFrame(rows, columns=columns)
    numbers = table.select_dtypes("number").columns
    table[numbers] = table[numbers].map(lambda value: float(f"{value:.6g}"))
    return table


def _known(run, most, life, parameter_draw, seed):
    """What one run says: mean of the statistic with its bounds, whether it meets the target, a year's loss."""
    columns = np.stack([run.values, run.wear], axis=1) * (1.0, life)
    low, high, _ = mean_intervals(columns, parameter_draw[: len(columns)], seed=seed)
    value, loss = columns.mean(axis=0)
    return value, low[0], high[0], bool(value <= most), loss, low[1], high[1], life * run.partial.mean()


def _years(time, spread):
    return tuple(time * q for q in np.quantile(spread, [0.5, 0.1, 0.9]))


def _crossing(share, means, most):
    """Share of the life at which the mean first exceeds `most`; None if it never does."""
    if means[0] > most:
        return 0.0
    for i in range(len(means) - 1):
        if means[i] <= most < means[i + 1]:
            return share[i] + (share[i + 1] - share[i]) * (most - means[i]) / (means[i + 1] - means[i])
    return None
