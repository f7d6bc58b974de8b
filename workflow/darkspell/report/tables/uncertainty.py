"""Table of the uncertainty of each headline: its sources, and what a better climate source would leave."""

import numpy as np

from darkspell.climate.uncertainty import source_uncertainty
from darkspell.core.rounding import significant
from darkspell.statistics.summary import MEANS
from darkspell.statistics.variance_decomposition import interval_of_site, share_of, variance_parts

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
A_RECORD = 10.0  # years that somebody who looks for a record may hope for


def uncertainty_table(members, parameter_draw, source):
    """Headlines with their interval at this site, its sources, and what a better climate source would leave.

    Parameters
    ----------
    members : dict of array_like
        Columns of members.csv.
    parameter_draw : array_like of int [members]
    source : str
        Key of the study's climate source.

    Returns
    -------
    pandas.DataFrame
        Columns as in results/README.md.
    """
    import pandas as pd

    better = BETTER.get(source)
    kept = weight_of(better) / weight_of(source) if better else 1.0
    rows = [
        _row(key, unit, np.asarray(members[column], float), parameter_draw, members["demand_kwh"], kept)
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


def _row(key, unit, values, parameter_draw, demand, kept):
    if not np.isfinite(values).all():
        return None
    within, climate, loads, means = variance_parts(values, np.asarray(parameter_draw), demand)
    between, by_number = climate + loads, within / values.size
    low, high = interval_of_site(means, between)
    next_low, next_high = interval_of_site(means, climate * kept + loads)
    # Worlds are drawn as well: their number, like that of the years, is what more members would better.
    by_number += between / max(means.size, 1)
    of_place, of_year = by_number + between, within + between
    numbers = {
        "value": values.mean(), "place_low": low, "place_high": high,
        "place_share_sampling": share_of(by_number, of_place), "place_share_climate": share_of(climate, of_place),
        "place_share_loads": share_of(loads, of_place), "year_share_weather": share_of(within, of_year),
        "year_share_climate": share_of(climate, of_year), "year_share_loads": share_of(loads, of_year),
        "next_low": next_low, "next_high": next_high,
    }  # fmt: skip
    return {"figure": key, "unit": unit} | {
        name: float(significant(value)) for name, value in numbers.items()
    }
