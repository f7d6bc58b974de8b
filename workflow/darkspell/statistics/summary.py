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
from darkspell.statistics.autonomy import HORIZON_DAYS, by_month, month_quantiles
from darkspell.statistics.bounded_means import bounded_intervals
from darkspell.statistics.intervals import quantile_interval, share_interval, year_interval
from darkspell.statistics.registry import HEADLINES, MEAN, QUANTILE_OF_YEARS

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
        ``{key: {"value", "unit", "mean_low", "mean_high", "year_low", "year_high", "method", "n"}}``, keys as
        `ORDER`, then those asked for. Bounds of the value at 95 % (how well it is known) and of a coming year at
        80 %; numbers are floats of six significant digits, or None where the study has none.
    """
    parameter_draw = np.asarray(parameter_draw)
    members = {name: np.asarray(values, float) for name, values in members.items()}
    columns = {key: (members[column], column, unit) for key, (column, unit) in MEANS.items()}
    more = {key: (np.asarray(values, float), key, unit) for key, (values, unit) in (asked or {}).items()}
    demand = members["demand_kwh"].mean()
    found = _means(columns, demand, parameter_draw, seed) | (
        _means(more, demand, parameter_draw, seed) if more else {}
    )
    found["lolp"] = _scaled(found["lolh"], 1 / HOURS, "-")
    found["llp"] = _unserved_share(found["eue_kwh"], members)
    found["years_with_short_nights"] = _share_of_years(
        (members["short_nights"] > 0).astype(float), parameter_draw
    )
    for key, column in DEEPEST_OF.items():
        found[key] = _deepest(members[column], parameter_draw, seed)
    found["autonomy_dark_days"] = _dark(autonomy["dark"], parameter_draw, seed)
    found["autonomy_worst_month_days"] = _worst_month(autonomy["with_sun"], parameter_draw, seed)
    return {key: _written(found[key]) for key in (*ORDER, *more)}


def _headline(value, unit, mean_bounds, year_bounds, method, n):
    return {
        "value": value, "unit": unit, "mean_low": mean_bounds[0], "mean_high": mean_bounds[1],
        "year_low": year_bounds[0], "year_high": year_bounds[1], "method": method, "n": int(n),
    }  # fmt: skip


def _written(headline):
    words = ("unit", "method", "n")
    return {key: value if key in words else jsonable(value) for key, value in headline.items()}


def _means(columns, demand, parameter_draw, seed):
    """Means of ``{key: (values [members], name, unit)}``; the name's event has the registry's size."""
    values = np.stack([values for values, _, _ in columns.values()], axis=1)
    names = [name for _, name, _ in columns.values()]
    low, high, method = bounded_intervals(values, parameter_draw, names, demand, seed)
    found = {}
    for k, (key, (_, _, unit)) in enumerate(columns.items()):
        present = values[np.isfinite(values[:, k]), k]
        mean, year = (present.mean(), year_interval(present)) if present.size else (np.nan, (np.nan, np.nan))
        found[key] = _headline(
            mean, unit, (low[k], high[k]), year, f"mean of years; {method[k]}", present.size
        )
    return found


def _scaled(headline, factor, unit):
    numbers = ("value", "mean_low", "mean_high", "year_low", "year_high")
    return headline | {key: headline[key] * factor for key in numbers} | {"unit": unit}


def _unserved_share(energy, members):
    """Unserved over demanded energy; the mean demand's own doubt, small beside the other, is left out."""
    ratio = _scaled(energy, 1 / members["demand_kwh"].mean(), "-")
    low, high = year_interval(members["eue_kwh"] / members["demand_kwh"])
    return ratio | {"year_low": low, "year_high": high}


def _share_of_years(seen, parameter_draw):
    bounds = share_interval(seen, parameter_draw)
    method = "share of years; Wilson's interval with an effective number of years"
    return _headline(seen.mean(), "-", bounds, year_interval(seen), method, seen.size)


def _deepest(depth, parameter_draw, seed):
    """Quantile of the yearly maxima: the maximum over all members would grow with their number."""
    keep = np.isfinite(depth)
    method = f"depth passed in {round(100 * (1 - DEEPEST))} % of years; bootstrap over parameter_draws"
    if not keep.any():
        return _headline(np.nan, "%", (np.nan, np.nan), (np.nan, np.nan), method, 0)
    bounds = quantile_interval(depth[keep], parameter_draw[keep], DEEPEST, seed=seed)
    value = np.quantile(depth[keep], DEEPEST)
    return _headline(value, "%", bounds, year_interval(depth[keep]), method, keep.sum())


def _dark(hours, parameter_draw, seed):
    days = by_month(hours)
    by_member = days.mean(axis=(0, 2))[:, None]
    low, high, method = bounded_intervals(by_member, parameter_draw, ["autonomy_days"], 0.0, seed)
    note = f"mean of starts; {method[0]}{_cut_note(days)}"
    year = year_interval(days.ravel())
    return _headline(by_member.mean(), "days", (low[0], high[0]), year, note, len(parameter_draw))


def _worst_month(hours, parameter_draw, seed):
    days = by_month(hours)
    quantiles = month_quantiles(hours, [SHORTEST])[:, 0]
    # Months that all outlast the horizon tie; the weakest is then the one whose starts last least on average.
    month = int(np.lexsort((days.mean(axis=(1, 2)), quantiles))[0])
    bounds = quantile_interval(days[month], parameter_draw, SHORTEST, seed=seed)
    percent = round(100 * SHORTEST)
    note = f"{percent} % of starts in {MONTH_NAMES[month]} last less; bootstrap over parameter_draws"
    year = year_interval(days[month].ravel())
    return _headline(
        quantiles[month], "days", bounds, year, note + _cut_note(days[month]), len(parameter_draw)
    )


def _cut_note(days):
    cut = (days >= HORIZON_DAYS).mean()
    if not cut:
        return ""
    share = "all" if cut == 1 else f"{np.clip(100 * cut, 0.1, 99.9):.3g} % of"
    return f"; {share} starts last longer than {HORIZON_DAYS} days and count as that"
