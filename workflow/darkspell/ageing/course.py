"""The study at three ages of its bank, and the year in which its target stops being met."""

from dataclasses import replace

import numpy as np

from darkspell.ageing.wear import life_factors, yearly_wear, years_at
from darkspell.bank.block import run_block
from darkspell.bank.care import bank_care
from darkspell.batches import over_batches
from darkspell.statistics.intervals import mean_intervals
from darkspell.statistics.reliability import reliability

STAGES = ("commissioning", "mid-life", "end of life")
COLUMN = {
    "short_nights": "short_nights", "lolh": "loss_of_load_hours", "lolp": "loss_of_load_hours",
    "eue_kwh": "unserved_kwh",
}  # fmt: skip


def ages(study):
    """Capacity present over rated at the three stages [-]: as the study has it, half way, at the end of life."""
    now, end = study.bank.age_capacity_pct / 100.0, study.ageing.end_of_life_pct / 100.0
    return now, (now + end) / 2.0, end


def run_age(assembly, capacity, workers=None):
    """The target's statistic and the wear of each member at one age.

    Parameters
    ----------
    assembly : darkspell.assembly.Assembly
        Of the study with the bank of that age.
    capacity : float
        Present capacity over rated [-].

    Returns
    -------
    values, wear : float64 arrays [members]
    """
    study = assembly.study
    count = min(study.ageing.members, assembly.members.size)
    few = replace(assembly, members=assembly.members[:count], world=assembly.world[:count])

    def work(members, world, real):
        traces = few.traces(members, world)
        bank = run_block(traces.for_bank(), few.scales(), few.controls, few.chemistry)
        lost, _ = reliability(
            bank.unserved_essential, bank.unserved_deferrable, traces.all_essential, traces.deferrable,
            few.calendar, study.short_night_floor_wh,
        )  # fmt: skip
        soc, temp = bank.soc[:, :real], traces.temp_bank[:, :real]
        care = bank_care(soc, temp, study.bank.chemistry)
        wear = yearly_wear(soc, temp, care["partial_charge_pct"], capacity, study.bank.chemistry)
        return lost[COLUMN[study.target.statistic]][:real], wear

    parts = over_batches(work, few, workers)
    values, wear = (np.concatenate(column) for column in zip(*parts, strict=True))
    return values / (8760.0 if study.target.statistic == "lolp" else 1.0), wear


def course(study, runs, world):
    """Rows of ageing.csv.

    Parameters
    ----------
    study : darkspell.study.Study
    runs : list of (values, wear)
        From `run_age`, in the order of `STAGES`.
    world : int array [members]

    Returns
    -------
    pandas.DataFrame
        A row a stage and one for the year in which the target stops being met: ``stage``, ``capacity_pct``,
        ``years`` (median over members' banks) with ``years_low`` and ``years_high`` (8 of 10 banks), the
        target's ``statistic``, its ``mean`` with ``mean_low`` and ``mean_high`` (95 %), ``meets_target``.
        Without a year of missing it the last row holds none.
    """
    import pandas as pd

    capacity = np.array(ages(study))
    share = (capacity[0] - capacity) / (capacity[0] - capacity[-1])
    time = years_at(share, [wear.mean() for _, wear in runs])
    spread = life_factors(range(1000), study.engine.seed)
    name, most = study.target.statistic, study.target.at_most
    rows, means = [], []
    for place, (stage, (values, _)) in enumerate(zip(STAGES, runs, strict=True)):
        low, high, _ = mean_intervals(values[:, None], world[: values.size], seed=study.engine.seed)
        means.append(values.mean())
        known = (values.mean(), low[0], high[0], bool(values.mean() <= most))
        rows.append((stage, 100 * capacity[place], *_years(time[place], spread), name, *known))
    missed = _crossing(share, means, most)
    if missed is not None:
        at = float(np.interp(missed, share, capacity))
        years = _years(float(np.interp(missed, share, time)), spread)
        rows.append(("target missed", 100 * at, *years, name, most, np.nan, np.nan, False))
    columns = (
        "stage", "capacity_pct", "years", "years_low", "years_high", "statistic", "mean", "mean_low", "mean_high",
        "meets_target",
    )  # fmt: skip
    table = pd.DataFrame(rows, columns=columns)
    numbers = table.select_dtypes("number").columns
    table[numbers] = table[numbers].map(lambda value: float(f"{value:.6g}"))
    return table


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
