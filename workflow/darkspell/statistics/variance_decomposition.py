"""Where the doubt about a headline comes from: years drawn, weather of a year, climate source, loads.

Members live in parameter draws, and a parameter draw draws how clear the climate is and how much the loads
take. The variance of
a yearly figure then has a part within parameter draws (weather from year to year) and a part between them, and the
latter a part that goes with the parameter_draw's demand (loads); the rest is the climate's.
"""

import numpy as np

from darkspell.climate.uncertainty import source_uncertainty
from darkspell.core.rounding import significant
from darkspell.statistics.summary import MEANS

LEVEL = 0.95
# Better sources in order, each with what a study writes for it.
BETTER = {
    "atlas": "monthly",
    "typical_year": "measured",
    "monthly": "measured",
    "satellite": "measured",
}
# A doubt of 1 % about the width weighs like 0.3 % about the mean: loss of load of the stations changes threefold
# for a tenth of width, and tenfold for a tenth of mean clearness. Months err alone by halves.
MONTH_WEIGHT, WIDTH_WEIGHT = 0.5, 0.09
A_RECORD = 10.0  # years that somebody who looks for a record may hope for


def parts_of_doubt(values, parameter_draw, demand):
    """Parts of the variance of a yearly figure.

    Parameters
    ----------
    values, demand : float arrays [members]
        The figure, and the energy demanded, of each year.
    parameter_draw : int array [members]

    Returns
    -------
    within, climate, loads : float
        Variance within parameter draws (from year to year), and between them by climate and by loads; not a
        number with
        fewer than eight parameter draws or one year in each.
    means : float64 array [parameter_draws]
        Means of the parameter_draws.
    """
    values, demand = np.asarray(values, float), np.asarray(demand, float)
    names, at, counts = np.unique(parameter_draw, return_inverse=True, return_counts=True)
    means = np.bincount(at, values) / counts
    if names.size < 8 or counts.min() < 2:
        return np.nan, np.nan, np.nan, means
    within = ((values - means[at]) ** 2).sum() / (values.size - names.size)
    between = max(means.var(ddof=1) - within * (1.0 / counts).mean(), 0.0)
    loads = min(_explained(means, np.bincount(at, demand) / counts) * means.var(ddof=1), between)
    return within, between - loads, loads, means


def doubt_table(members, parameter_draw, source):
    """Headlines with what their place may bring, where the doubt comes from, and what a better source would leave.

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
    """Doubt about a climate source as one variance of log mean clearness [-]."""
    years = A_RECORD if source in ("measured", "satellite") else None
    world, month, width = (
        source_uncertainty(source, years=years)[f"{kind}_sd"]
        for kind in ("annual_mean", "monthly_mean", "width")
    )
    return world**2 + MONTH_WEIGHT * month**2 + WIDTH_WEIGHT * width**2


def _row(key, unit, values, parameter_draw, demand, kept):
    if not np.isfinite(values).all():
        return None
    within, climate, loads, means = parts_of_doubt(values, np.asarray(parameter_draw), demand)
    between, by_number = climate + loads, within / values.size
    low, high = _place(means, between)
    next_low, next_high = _place(means, climate * kept + loads)
    # Worlds are drawn as well: their number, like that of the years, is what more members would better.
    by_number += between / max(means.size, 1)
    of_place, of_year = by_number + between, within + between
    numbers = {
        "value": values.mean(), "place_low": low, "place_high": high,
        "place_share_sampling": _share(by_number, of_place), "place_share_climate": _share(climate, of_place),
        "place_share_loads": _share(loads, of_place), "year_share_weather": _share(within, of_year),
        "year_share_climate": _share(climate, of_year), "year_share_loads": _share(loads, of_year),
        "next_low": next_low, "next_high": next_high,
    }  # fmt: skip
    return {"figure": key, "unit": unit} | {
        name: float(significant(value)) for name, value in numbers.items()
    }


def _place(means, variance):
    """Interval of a place's own mean: parameter draw means drawn together until they spread by the variance given."""
    spread = means.var(ddof=1) if means.size > 1 else np.nan
    if not np.isfinite(variance) or not spread > 0.0:
        return np.nan, np.nan
    drawn = means.mean() + (means - means.mean()) * np.sqrt(variance / spread)
    low, high = np.quantile(drawn, [(1.0 - LEVEL) / 2.0, (1.0 + LEVEL) / 2.0])
    return (max(low, 0.0), high) if (means >= 0.0).all() else (low, high)


def _explained(values, by):
    """Share of the variance of some values that a parabola in others explains, less what chance gives."""
    if np.ptp(by) == 0.0 or np.ptp(values) == 0.0:
        return 0.0
    apart = (by - by.mean()) / by.std()
    table = np.column_stack([np.ones(by.size), apart, apart**2])
    rest = values - table @ np.linalg.lstsq(table, values, rcond=None)[0]
    share = 1.0 - (rest @ rest) / (by.size - 3) / values.var(ddof=1)
    return float(np.clip(share, 0.0, 1.0))


def _share(part, whole):
    return part / whole if whole > 0.0 else np.nan
