"""What a design has to reach, measured on a simulation of it."""

import numpy as np

from darkspell.core.calendar import HOURS
from darkspell.statistics.autonomy import by_month, survival
from darkspell.statistics.bounded_means import bounded_intervals
from darkspell.statistics.proportions import share_interval
from darkspell.statistics.registry import AUTONOMY_KINDS, yearly_of

FULL_CHARGE = "full again"  # no name of a study's own has a space


def measured(study, result, parameter_draw):
    """Every target of a study, the first one first.

    Parameters
    ----------
    study : darkspell.study.Study
    result : darkspell.simulation.run.Simulation
        With autonomy, if a target asks for days of it.
    parameter_draw : int array [members]

    Returns
    -------
    list of dict
        ``requirement`` (name), ``statistic``, ``value``, ``low``, ``high`` (the mean with its interval; of a
        requirement kept in a share of the years, that share in per cent), ``wanted`` in the same unit,
        ``at`` ("most" or "least"), ``is_share_of_years`` (whether it is such a share), ``meets``, ``meets_at_95pct``.
    """
    return [
        _main(study, result, parameter_draw),
        *_full_again(study, result, parameter_draw),
        *(_also(n, o, study, result, parameter_draw) for n, o in study.target.additional.items()),
    ]


def _main(study, result, parameter_draw):
    target = study.target
    column = yearly_of(target.statistic)
    values = np.asarray(result.members[column], float)
    scale = 1 / HOURS if target.statistic == "lolp" else 1.0
    value, low, high = (scale * x for x in _mean(values, column, study, result, parameter_draw))
    return _row("target", target.statistic, value, low, high, target.at_most, "most")


def _full_again(study, result, parameter_draw):
    asked = study.target.full_charge
    if asked is not None:
        name = "longest_full_charge_interval_days"
        kept = (np.asarray(result.members[name], float) <= asked.within_days).astype(float)[:, None]
        low, high = (100.0 * float(part[0]) for part in share_interval(kept, parameter_draw))
        yield _row(FULL_CHARGE, name, 100.0 * float(kept.mean()), low, high, asked.years_pct, "least", True)


def _also(name, one, study, result, parameter_draw):
    if one.statistic in AUTONOMY_KINDS:
        hours = result.autonomy[AUTONOMY_KINDS[one.statistic]]
        if float(one.at_least).is_integer():
            table = [part[one.month - 1, int(one.at_least) - 1] for part in survival(hours, parameter_draw)]
        else:
            kept = (by_month(hours)[one.month - 1] >= one.at_least).mean(axis=1, keepdims=True)
            table = [kept.mean(), *(part[0] for part in share_interval(kept, parameter_draw))]
        return _row(name, one.statistic, *(100.0 * float(x) for x in table), one.years_pct, "least", True)
    values = result.members if one.month is None else result.months
    values = np.asarray(values[one.statistic], float)
    values = values if one.month is None else values[:, one.month - 1]
    limit, at = (one.at_most, "most") if one.at_most is not None else (one.at_least, "least")
    if one.years_pct is None:
        return _row(
            name, one.statistic, *_mean(values, one.statistic, study, result, parameter_draw), limit, at
        )
    kept = (values <= limit if at == "most" else values >= limit).astype(float)[:, None]
    low, high = (100.0 * float(part[0]) for part in share_interval(kept, parameter_draw))
    return _row(name, one.statistic, 100.0 * float(kept.mean()), low, high, one.years_pct, "least", True)


def _mean(values, statistic, study, result, parameter_draw):
    demand = float(np.mean(result.members["demand_kwh"]))
    low, high, _ = bounded_intervals(values[:, None], parameter_draw, [statistic], demand, study.engine.seed)
    return float(np.nanmean(values)), float(low[0]), float(high[0])


def _row(name, statistic, value, low, high, wanted, at, is_share_of_years=False):
    most = at == "most"
    return {
        "requirement": name,
        "statistic": statistic,
        "value": value,
        "low": low,
        "high": high,
        "wanted": wanted,
        "at": at,
        "is_share_of_years": is_share_of_years,
        "meets": bool(value <= wanted if most else value >= wanted),
        "meets_at_95pct": bool(high <= wanted if most else low >= wanted),
    }
