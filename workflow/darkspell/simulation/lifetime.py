"""The study at three ages of its bank, and the year in which its target stops being met."""

from typing import NamedTuple

import numpy as np

from darkspell.bank.bank_results import run_block
from darkspell.bank.fade_within_year import capacity_left, late_hours, run_wearing
from darkspell.bank.life_spread import life_factors
from darkspell.bank.maintenance import bank_care
from darkspell.bank.wear import partial_wear, yearly_wear, years_at
from darkspell.core.batches import over_batches
from darkspell.core.calendar import HOURS
from darkspell.statistics.registry import yearly_of
from darkspell.statistics.reliability import reliability
from darkspell.statistics.site_figures import probability_met, site_figures
from darkspell.statistics.site_interval import FEWEST_DRAWS

STAGES = ("commissioning", "mid-life", "end of life")
FIRST_YEAR = "first year as it wears"
YEARS_A_DRAW = 5  # as the study has by default


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
    workers : int, optional
        Threads; all cores if not given.
    fed_back : bool
        Whether to run the years a second time with the bank wearing as it did in the first.

    Returns
    -------
    Age, or a pair of them where `fed_back`
    """
    study = system.study
    count = min(study.ageing.members, system.members.size)
    few = system.with_members(_chosen(system.parameter_draw, count))
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


def _chosen(parameter_draw, count):
    """Positions of so many members that leave `YEARS_A_DRAW` years to each draw, as far as there are."""
    if count >= parameter_draw.size:
        return np.arange(parameter_draw.size)
    draws = np.unique(parameter_draw)[: max(count // YEARS_A_DRAW, FEWEST_DRAWS)]
    return np.flatnonzero(np.isin(parameter_draw, draws))[:count]


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
        Of the years of the runs, or of all members of the study.
    wearing : Age, optional
        Of the bank as it is, its wear fed back.

    Returns
    -------
    pandas.DataFrame
        `COLUMNS`; a row a stage, one for the first year with the bank wearing in it (its capacity that of the year's
        end) and one for the year in which the target stops being met. ``years`` (median over members' banks) with
        ``years_low`` and ``years_high`` (8 of 10 banks). The target's ``statistic``: ``value`` (best guess) with
        ``low`` and ``high`` (95 % at this site), ``mean`` of the years, ``simulation_low``, ``simulation_high``
        (sampling error), ``probability_met`` and ``meets_target`` (whether that is the chance asked for).
        The capacity that a year takes [% of rated], ``loss_pct`` with bounds alike, of it ``loss_partial_pct`` by
        time too long after a full charge. The target stops being met where, between the stages, the chance falls
        below the one asked for; without such a year there is no last row.
    """
    import pandas as pd

    capacity = np.array(ages(study))
    share = (capacity[0] - capacity) / (capacity[0] - capacity[-1])
    time = years_at(share, [run.wear.mean() for run in runs])
    spread = life_factors(range(1000), study.engine.seed)
    name, life = study.target.statistic, 100 * (capacity[0] - capacity[-1])
    if len(parameter_draw) > len(runs[0].values):
        parameter_draw = parameter_draw[_chosen(parameter_draw, len(runs[0].values))]
    rows, sites = [], []
    for place, (stage, run) in enumerate(zip(STAGES, runs, strict=True)):
        known, site = _known(study, run, life, parameter_draw)
        sites.append(site)
        rows.append((stage, 100 * capacity[place], *_years(time[place], spread), name, *known))
    if wearing is not None:
        known, _ = _known(study, wearing, life, parameter_draw)
        left = 100 * capacity[0] - life * min(float(wearing.wear.mean()), 1.0)
        rows.append((FIRST_YEAR, left, 1.0, 1.0, 1.0, name, *known))
    missed = _crossing(
        lambda at: chance_at(at, share, sites, study.target.at_most), study.target.chance_pct / 100
    )
    missed = 0.0 if not rows[0][COLUMNS.index("meets_target")] else missed
    if missed is not None:
        at = float(np.interp(missed, share, capacity))
        years = _years(float(np.interp(missed, share, time)), spread)
        nothing = (*(np.nan,) * 5, study.target.chance_pct / 100, False, *(np.nan,) * 6)
        rows.append(("target missed", 100 * at, *years, name, study.target.at_most, *nothing))
    table = pd.DataFrame(rows, columns=COLUMNS)
    numbers = table.select_dtypes("number").columns
    table[numbers] = table[numbers].map(lambda value: float(f"{value:.6g}"))
    return table


COLUMNS = (
    "stage", "capacity_pct", "years", "years_low", "years_high", "statistic", "value", "low", "high", "mean",
    "simulation_low", "simulation_high", "probability_met", "meets_target", "loss_pct", "loss_low", "loss_high",
    "loss_simulation_low", "loss_simulation_high", "loss_partial_pct",
)  # fmt: skip


def _known(study, run, life, parameter_draw):
    """What one run says of the target's statistic and of a year's loss; and the centre and spread of the former."""
    target, column = study.target, yearly_of(study.target.statistic)
    scale = 1.0 / HOURS if target.statistic == "lolp" else 1.0
    columns = np.stack([run.values / scale, life * run.wear], axis=1)
    found = site_figures(columns, parameter_draw, [column, "wear_pct"], demand=0.0, seed=study.engine.seed)
    met = float(probability_met(found, target.at_most / scale)[0])
    ends = (
        found.value,
        found.place_low,
        found.place_high,
        found.mean,
        found.simulation_low,
        found.simulation_high,
    )
    first = [scale * float(part[0]) for part in ends]
    loss = [float(part[1]) for part in (ends[0], ends[1], ends[2], ends[4], ends[5])]
    known = (*first, met, bool(100.0 * met >= target.chance_pct), *loss, life * run.partial.mean())
    return known, _natural(found, scale)


def _natural(found, scale):
    """Mean and standard deviation of the target's statistic over what is not known; of years where it is not."""
    centre, spread = float(found.site.centre[0]), float(found.site.spread[0])
    if not np.isfinite(centre):
        return scale * float(found.mean[0]), 0.0
    if not found.site.is_log[0]:
        return scale * centre, scale * spread
    mean = np.exp(centre + spread**2 / 2)
    return scale * mean, scale * mean * np.sqrt(np.expm1(spread**2))


def chance_at(at, share, sites, limit):
    """Chance that the target is met at a share of the life, mean and spread straight between the stages.

    Parameters
    ----------
    at : float
        Share of the life [-].
    share : float array [stages]
    sites : list of (float, float)
        Mean and standard deviation of the target's statistic at each stage.
    limit : float

    Returns
    -------
    float
        Of a lognormal with that mean and spread; 1 or 0 where nothing spreads.
    """
    from scipy.special import ndtr

    mean, spread = (float(np.interp(at, share, part)) for part in np.transpose(sites))
    if spread <= 0.0 or mean <= 0.0 or limit <= 0.0:
        return float(mean <= limit)
    variance = np.log1p((spread / mean) ** 2)
    return float(ndtr((np.log(limit / mean) + variance / 2) / np.sqrt(variance)))


def _years(time, spread):
    return tuple(time * q for q in np.quantile(spread, [0.5, 0.1, 0.9]))


def _crossing(chance, asked):
    """Share of the life from which on the chance stays no longer at the one asked for; None if it always does.

    Parameters
    ----------
    chance : callable
        From the share of the life, 0 to 1, to the chance.
    asked : float
    """
    places = np.linspace(0.0, 1.0, 101)
    missed = next((k for k, place in enumerate(places) if chance(place) < asked), None)
    if not missed:
        return None if missed is None else 0.0
    low, high = places[missed - 1 : missed + 1]
    while high - low > 1e-6:
        middle = (low + high) / 2.0
        low, high = (low, middle) if chance(middle) < asked else (middle, high)
    return float(high)
