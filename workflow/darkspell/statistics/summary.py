"""The headline figures of a study, each with both its intervals.

Indices after R. Billinton & R. N. Allan, Reliability Evaluation of Power Systems (2nd ed., 1996): LOLH is the
expected number of hours a year with load lost, LOLP = LOLH / 8760, EUE the expected energy not served. LLP is
unserved over demanded energy (M. Egido & E. Lorenzo, Solar Energy Materials and Solar Cells 26 (1992) 51-71;
pages from memory).
"""

import numpy as np

from darkspell.core.calendar import HOURS, MONTH_NAMES
from darkspell.core.constants import constant
from darkspell.core.rounding import jsonable
from darkspell.statistics.autonomy import HORIZON_DAYS, by_month, days_at, survival_shares
from darkspell.statistics.bounded_means import bounded_intervals
from darkspell.statistics.intervals import quantile_interval, year_interval
from darkspell.statistics.registry import CAUSE_KEYS, HEADLINES, MEAN, QUANTILE_OF_YEARS
from darkspell.statistics.site_figures import site_figures
from darkspell.statistics.site_interval import site_distribution
from darkspell.statistics.site_shares import site_shares, years_with

DEEPEST = constant("statistics", "deepest_quantile")
SHORTEST = constant("statistics", "autonomy_quantile")
MEANS = {key: (one.statistic, one.unit) for key, one in HEADLINES.items() if one.reduction == MEAN}
DEEPEST_OF = {key: one.statistic for key, one in HEADLINES.items() if one.reduction == QUANTILE_OF_YEARS}
ORDER = tuple(HEADLINES)


def summary(members, autonomy, parameter_draw, seed=0, asked=None):
    """Headline figures, as in summary.json.

    Parameters
    ----------
    members : dict of array_like
        Columns of members.csv; [members] each.
    autonomy : dict of array_like
        Hours to the first unserved one, kinds ``with_sun`` and ``dark``; [36, members] each.
    parameter_draw : array_like of int
        Parameter draw of each member; shape [members].
    seed : int
        The study's seed, for the bootstrap.
    asked : dict, optional
        Further means that only some studies have, ``{key: (values [members], unit)}``: a generator's hours, say.

    Returns
    -------
    dict
        ``{key: headline}``, keys as `ORDER`, then those asked for. A headline has `FIELDS`: ``value`` (best guess;
        of the share of years the mean, which is the chance of a coming year), ``unit``, ``mean`` (over all years),
        ``place_low`` and ``place_high`` (95 %: what the long-run average may be at this site), ``simulation_low``
        and ``simulation_high`` (95 %: sampling error of the simulation alone), ``year_low`` and ``year_high``
        (80 %: a coming year), ``method``, ``n`` (years). Numbers are floats of six significant digits, or None
        where the study has none.
    """
    parameter_draw = np.asarray(parameter_draw)
    members = {name: np.asarray(values, float) for name, values in members.items()}
    columns = {key: (members[column], column, unit) for key, (column, unit) in MEANS.items()}
    more = {key: (np.asarray(values, float), key, unit) for key, (values, unit) in (asked or {}).items()}
    demand = members["demand_kwh"].mean()
    found = _means(columns | more, demand, parameter_draw, seed)
    found["lolp"] = _scaled(found["lolh"], 1 / HOURS, "-")
    found["llp"] = _unserved_share(found["eue_kwh"], members)
    found["years_with_short_nights"] = _share_of_years(members["short_nights"], parameter_draw)
    for key in set(more) & set(CAUSE_KEYS):
        found[key] = _part_of(found["lolh"], found[key])
    for key, column in DEEPEST_OF.items():
        found[key] = _deepest(members[column], parameter_draw, seed)
    found["autonomy_dark_days"] = _dark(autonomy["dark"], parameter_draw, seed)
    found["autonomy_worst_month_days"] = _worst_month(autonomy["with_sun"], parameter_draw, seed)
    return {key: _written(found[key]) for key in (*ORDER, *more)}


FIELDS = (
    "value", "unit", "mean", "place_low", "place_high", "simulation_low", "simulation_high", "year_low",
    "year_high", "method", "n",
)  # fmt: skip


def _headline(value, unit, site, simulation, year, method, n, mean=None):
    mean = value if mean is None else mean
    return dict(zip(FIELDS, (value, unit, mean, *site, *simulation, *year, method, int(n)), strict=True))


def _written(headline):
    words = ("unit", "method", "n")
    return {key: value if key in words else jsonable(value) for key, value in headline.items()}


def _means(columns, demand, parameter_draw, seed):
    """Means, or best guesses of losses, of ``{key: (values [members], statistic, unit)}``."""
    values = np.stack([values for values, _, _ in columns.values()], axis=1)
    names = [name for _, name, _ in columns.values()]
    figures = site_figures(values, parameter_draw, names, demand, seed)
    found = {}
    for k, (key, (_, _, unit)) in enumerate(columns.items()):
        present = values[np.isfinite(values[:, k]), k]
        year = year_interval(present) if present.size else (np.nan, np.nan)
        site = figures.place_low[k], figures.place_high[k]
        simulation = figures.simulation_low[k], figures.simulation_high[k]
        found[key] = _headline(
            figures.value[k], unit, site, simulation, year, figures.method[k], present.size, figures.mean[k]
        )
    return found


def _scaled(headline, factor, unit):
    kept = ("unit", "method", "n")
    return {key: value if key in kept else value * factor for key, value in headline.items()} | {"unit": unit}


def _unserved_share(energy, members):
    """Unserved over demanded energy; the uncertainty of the mean demand is small and left out."""
    ratio = _scaled(energy, 1 / members["demand_kwh"].mean(), "-")
    low, high = year_interval(members["eue_kwh"] / members["demand_kwh"])
    return ratio | {"year_low": low, "year_high": high}


def _share_of_years(nights, parameter_draw):
    found = years_with(nights[:, None], parameter_draw)
    method = (
        f"mean of years; site: {found.method[0]}; simulation: Wilson's interval, effective number of years"
    )
    value, *bounds = (float(part[0]) for part in found[:5])
    year = year_interval((nights > 0).astype(float))
    return _headline(value, "-", bounds[:2], bounds[2:], year, method, nights.size)


def _part_of(whole, part):
    """A part of a loss by its share of the mean, so that the parts add up to the best guess of the whole."""
    factor = whole["value"] / whole["mean"] if whole["mean"] else 1.0
    scaled = {key: factor * part[key] for key in ("value", "simulation_low", "simulation_high")}
    method = "share of the mean of years, of the best guess of all hours; simulation: " + _simulation(
        part["method"]
    )
    return part | scaled | {"place_low": np.nan, "place_high": np.nan, "method": method}


def _simulation(method):
    return method.partition("simulation: ")[2]


def _shifted(values, parameter_draw, value, limits):
    """Bounds of a quantile at this site: the quantile, moved as far as the draws' own means differ from theirs."""
    site = site_distribution(values[:, None], parameter_draw, False)
    return np.clip(value + np.array([site.low[0], site.high[0]]) - values.mean(), *limits)


def _deepest(depth, parameter_draw, seed):
    """Quantile of the yearly maxima: the maximum over all members would grow with their number."""
    keep = np.isfinite(depth)
    method = (
        f"depth passed in {round(100 * (1 - DEEPEST))} % of years; simulation: bootstrap over parameter draws"
    )
    if not keep.any():
        return _headline(np.nan, "%", *((np.nan, np.nan),) * 3, method, 0)
    depth, draws = depth[keep], parameter_draw[keep]
    bounds, value = quantile_interval(depth, draws, DEEPEST, seed=seed), np.quantile(depth, DEEPEST)
    place = _shifted(depth, draws, value, (0.0, 100.0))
    return _headline(value, "%", place, bounds, year_interval(depth), method, keep.sum())


def _dark(hours, parameter_draw, seed):
    days = by_month(hours)
    by_member = days.mean(axis=(0, 2))[:, None]
    low, high, method = bounded_intervals(by_member, parameter_draw, ["autonomy_days"], 0.0, seed)
    note = f"mean of starts; simulation: {method[0]}{_cut_note(days)}"
    place = _shifted(by_member[:, 0], parameter_draw, by_member.mean(), (0.0, HORIZON_DAYS))
    year = year_interval(days.ravel())
    return _headline(by_member.mean(), "days", place, (low[0], high[0]), year, note, len(parameter_draw))


def _worst_month(hours, parameter_draw, seed):
    days = by_month(hours)
    curves = np.stack([survival_shares(one).mean(axis=0) for one in days])
    # Months that last as many whole days tie; the weakest is then the one whose starts last least on average.
    held = np.floor([days_at(curve, 1.0 - SHORTEST) for curve in curves])
    month = int(np.lexsort((curves.sum(axis=1), held))[0])
    value = np.quantile(days[month], SHORTEST)
    bounds = quantile_interval(days[month], parameter_draw, SHORTEST, seed=seed)
    note = (
        f"{round(100 * SHORTEST)} % of starts in {MONTH_NAMES[month]} last less; "
        f"simulation: bootstrap over parameter draws{_cut_note(days[month])}"
    )
    found = site_shares(survival_shares(days[month]), parameter_draw)
    low, high = (days_at(curve, 1.0 - SHORTEST) for curve in (found.low, found.high))
    place = min(low, value), max(high, value)
    year = year_interval(days[month].ravel())
    return _headline(value, "days", place, bounds, year, note, len(parameter_draw))


def _cut_note(days):
    cut = (days >= HORIZON_DAYS).mean()
    if not cut:
        return ""
    share = "all" if cut == 1 else f"{np.clip(100 * cut, 0.1, 99.9):.3g} % of"
    return f"; {share} starts last longer than {HORIZON_DAYS} days and count as that"
