"""What a design has to reach, measured on a simulation of it."""

import numpy as np

from darkspell.core.calendar import HOURS
from darkspell.core.rounding import jsonable
from darkspell.statistics.autonomy import by_month
from darkspell.statistics.joint_chance import joint_chance
from darkspell.statistics.registry import AUTONOMY_KINDS, yearly_of
from darkspell.statistics.site_figures import probability_met, site_figures
from darkspell.statistics.site_shares import site_shares
from darkspell.statistics.summary import FIELDS

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
        ``requirement`` (name), ``statistic``, ``value``, ``low``, ``high`` (best guess with its 95 % interval
        at this site; of a requirement kept in a share of the years, that share in per cent), ``limit`` in the same
        unit, ``direction`` ("most" or "least"), ``is_share_of_years`` (whether it is such a share), ``meets`` (it is
        probable enough, see `target.chance_pct`), ``probability_met`` (that the long-run average at this site
        keeps it), ``probability_all_met`` (that it keeps all targets of the study; the same in each row).
    """
    found = [
        _main(study, result, parameter_draw),
        *_full_again(study, result, parameter_draw),
        *(_also(n, o, study, result, parameter_draw) for n, o in study.target.additional.items()),
    ]
    rows, badness = zip(*found, strict=True)
    chances = [row["probability_met"] for row in rows]
    together = joint_chance(chances, np.stack(badness, axis=1), parameter_draw)
    return [row | {"probability_all_met": together} for row in rows]


def meets_all(rows, target):
    """Whether a design meets all targets together with the chance asked for.

    Parameters
    ----------
    rows : list of dict
        From `measured`.
    target : darkspell.study.targets.Target

    Returns
    -------
    bool
    """
    return bool(100.0 * rows[0]["probability_all_met"] >= target.chance_pct)


def chance_headline(study, result, parameter_draw):
    """The chance that this site meets all targets, as a headline of summary.json.

    Parameters
    ----------
    study : darkspell.study.Study
    result : darkspell.simulation.run.Simulation
    parameter_draw : int array [members]

    Returns
    -------
    dict
        ``{"probability_met": headline}``, fields as other headlines, and ``each``: the chance of every target by
        name, the first one's being ``target``.
    """
    rows = measured(study, result, parameter_draw)
    several = "all targets together, by their correlation over parameter draws; " if len(rows) > 1 else ""
    headline = dict.fromkeys(FIELDS) | {
        "value": jsonable(rows[0]["probability_all_met"]),
        "unit": "-",
        "method": f"{several}share of parameter draws whose long-run average keeps {target_in_words(study.target)}",
        "n": len(parameter_draw),
        "each": {row["requirement"]: jsonable(row["probability_met"]) for row in rows},
    }
    return {"probability_met": headline}


def target_in_words(target):
    """First target as a condition: ``short_nights <= 0.2``.

    Parameters
    ----------
    target : darkspell.study.targets.Target

    Returns
    -------
    str
    """
    return f"{target.statistic} <= {target.at_most:g}"


def _main(study, result, parameter_draw):
    target = study.target
    column, scale = yearly_of(target.statistic), 1 / HOURS if target.statistic == "lolp" else 1.0
    values = np.asarray(result.members[column], float)
    figure = _mean(values, column, target.at_most / scale, True, study, result, parameter_draw)
    figure = (*(scale * x for x in figure[:3]), figure[3])
    return _row("target", target.statistic, figure, target.at_most, "most", target.chance_pct), values


def _full_again(study, result, parameter_draw):
    asked = study.target.full_charge
    if asked is not None:
        name = "longest_full_charge_interval_days"
        kept = np.asarray(result.members[name], float) <= asked.within_days
        yield _share(FULL_CHARGE, name, kept, asked.years_pct, study, parameter_draw)


def _also(name, one, study, result, parameter_draw):
    if one.statistic in AUTONOMY_KINDS:
        hours = result.autonomy[AUTONOMY_KINDS[one.statistic]]
        kept = (by_month(hours)[one.month - 1] >= one.at_least).mean(axis=1)
        return _share(name, one.statistic, kept, one.years_pct, study, parameter_draw)
    values = result.members if one.month is None else result.months
    values = np.asarray(values[one.statistic], float)
    values = values if one.month is None else values[:, one.month - 1]
    limit, at = (one.at_most, "most") if one.at_most is not None else (one.at_least, "least")
    if one.years_pct is None:
        figure = _mean(values, one.statistic, limit, at == "most", study, result, parameter_draw)
        row = _row(name, one.statistic, figure, limit, at, study.target.chance_pct)
        return row, values if at == "most" else -values
    kept = values <= limit if at == "most" else values >= limit
    return _share(name, one.statistic, kept, one.years_pct, study, parameter_draw)


def _mean(values, statistic, limit, at_most, study, result, parameter_draw):
    """Best guess of a mean with its interval at this site, and the probability that it keeps the limit."""
    demand = float(np.mean(result.members["demand_kwh"]))
    figures = site_figures(values[:, None], parameter_draw, [statistic], demand, study.engine.seed)
    known = (figures.value, figures.place_low, figures.place_high, probability_met(figures, limit, at_most))
    return tuple(float(part[0]) for part in known)


def _share(name, statistic, kept, years_pct, study, parameter_draw):
    """Row of a requirement that a share of the years must keep, and what fails it by member."""
    kept = np.asarray(kept, float)
    found = site_shares(kept[:, None], parameter_draw)
    probability = float(found.probability(years_pct / 100.0)[0])
    figure = (*(100.0 * float(part[0]) for part in found[:3]), probability)
    return _row(name, statistic, figure, years_pct, "least", study.target.chance_pct, True), 1.0 - kept


def _row(name, statistic, figure, limit, direction, chance_pct, is_share_of_years=False):
    value, low, high, probability = figure
    return {
        "requirement": name,
        "statistic": statistic,
        "value": value,
        "low": low,
        "high": high,
        "limit": limit,
        "direction": direction,
        "is_share_of_years": is_share_of_years,
        "meets": bool(100.0 * probability >= chance_pct),
        "probability_met": probability,
    }
