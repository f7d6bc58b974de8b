"""Table of the uncertainty of each headline: its sources, and what a better climate source would leave."""

import numpy as np

from darkspell.climate.uncertainty import source_uncertainty
from darkspell.core.rounding import significant
from darkspell.statistics.site_figures import site_figures
from darkspell.statistics.spread_parts import spread_parts
from darkspell.statistics.summary import MEANS
from darkspell.statistics.variance_decomposition import share_of, variance_parts

# Better sources in order, each with what a study writes for it.
BETTER = {
    "atlas": "monthly",
    "typical_year": "measured",
    "monthly": "measured",
    "satellite": "measured",
}
# An uncertainty of 1 % of the width weighs like 0.3 % about the mean: loss of load of the stations changes threefold
# for a tenth of width, and tenfold for a tenth of mean clearness. Months err alone by halves.
MONTH_WEIGHT, WIDTH_WEIGHT = 0.5, 0.09
NORMAL_95 = 1.96  # standard deviations on either side of a 95 % interval
COMPARED = ("short_nights", "lolh", "eue_kwh")  # what a target may ask for
A_RECORD = 10.0  # years that somebody who looks for a record may hope for


def uncertainty_table(members, parameter_draw, source, bank=None):
    """Headlines with their interval at this site, its sources, and what a better climate source would leave.

    Parameters
    ----------
    members : dict of array_like
        Columns of members.csv.
    parameter_draw : array_like of int [members]
    source : str
        Key of the study's climate source.
    bank : float array [factors, members], optional
        What is drawn of bank and controller: `darkspell.chemistry.bank_draws.bank_draws` and
        `darkspell.pv.controller_curve.standing_draws`.

    Returns
    -------
    pandas.DataFrame
        Columns as in results/README.md.
    """
    import pandas as pd

    better = BETTER.get(source)
    kept = weight_of(better) / weight_of(source) if better else 1.0
    rows = [
        _row(
            key,
            column,
            unit,
            np.asarray(members[column], float),
            parameter_draw,
            members["demand_kwh"],
            bank,
            kept,
        )
        for key, (column, unit) in MEANS.items()
    ]
    table = pd.DataFrame([row for row in rows if row is not None])
    table["next_source"] = better or "none"
    return table


def weight_of(source):
    """Doubt about a climate source as one variance of log mean clearness [-].

    Parameters
    ----------
    source : str
        Key of a climate source.

    Returns
    -------
    float
        Variance [-].
    """
    years = A_RECORD if source in ("measured", "satellite") else None
    world, month, width = (
        source_uncertainty(source, years=years)[f"{kind}_sd"]
        for kind in ("annual_mean", "monthly_mean", "width")
    )
    return world**2 + MONTH_WEIGHT * month**2 + WIDTH_WEIGHT * width**2


def _row(key, column, unit, values, parameter_draw, demand, bank, kept):
    """One headline: value and interval as in summary.json; shares of the site's spread on its own scale."""
    if not np.isfinite(values).all():
        return None
    within, climate, loads, by_bank, _ = variance_parts(values, np.asarray(parameter_draw), demand, bank)
    known = site_figures(values[:, None], parameter_draw, [column], float(np.mean(demand)))
    value, low, high = (float(part[0]) for part in (known.value, known.place_low, known.place_high))
    between = climate + loads + by_bank
    of_climate, of_loads, of_bank, larger = _site_parts(
        known, values, parameter_draw, demand, bank, (climate, loads, by_bank), key in COMPARED
    )
    sampling = 1.0 if between == 0.0 and not known.site.is_log[0] else _sampling_share(known)
    narrower = np.sqrt(kept * of_climate + of_loads + of_bank)
    next_low, next_high = (_nearer(end, value, narrower, known.site.is_log[0]) for end in (low, high))
    of_year = within + between
    numbers = {
        "value": value, "place_low": low, "place_high": high, "place_share_sampling": sampling,
        "place_share_climate": (1.0 - sampling) * of_climate,
        "place_share_loads": (1.0 - sampling) * of_loads, "place_share_bank": (1.0 - sampling) * of_bank,
        "year_share_weather": share_of(within, of_year), "year_share_climate": share_of(climate, of_year),
        "year_share_loads": share_of(loads, of_year), "year_share_bank": share_of(by_bank, of_year),
        "next_low": next_low, "next_high": next_high,
    }  # fmt: skip
    return {"figure": key, "unit": unit} | {
        name: float(significant(value)) for name, value in numbers.items()
    } | {"larger_share": larger}  # fmt: skip


def _site_parts(known, values, parameter_draw, demand, bank, plain, compared):
    """Shares of climate, loads and bank in the site's spread, and which of the first two is larger.

    ``plain`` are the variances on the plain scale; they serve where the site's spread is not that of a logarithm.
    Where the draws differ by no more than their years do, all three are zero.
    """
    if known.site.is_log[0]:
        return spread_parts(values, parameter_draw, demand, bank, compared)
    between = sum(plain)
    return *(share_of(part, between) if between != 0.0 else 0.0 for part in plain), ""


def _sampling_share(known):
    """Share of the variance of what is known that the sampling error of the simulation has."""
    ends, spread = np.array([known.simulation_low[0], known.simulation_high[0]]), known.site.spread[0]
    if known.site.is_log[0]:
        if not (ends > 0.0).all():
            return np.nan
        ends = np.log(ends)
    error = (ends[1] - ends[0]) / (2.0 * NORMAL_95)
    return share_of(error**2, error**2 + spread**2)


def _nearer(end, value, factor, is_log):
    """End of an interval whose spread about the value is multiplied by a factor."""
    if is_log and value > 0.0:
        return value * (end / value) ** factor if end > 0.0 else 0.0
    return value + factor * (end - value)
