"""Where the uncertainty of a headline comes from: years drawn, weather of a year, climate source, loads.

Members live in parameter draws, and a parameter draw draws how clear the climate is and how much the loads
take. The variance of
a yearly figure then has a part within parameter draws (weather from year to year) and a part between them, and the
latter a part that goes with the parameter_draw's demand (loads); the rest is the climate's.
"""

import numpy as np


def variance_parts(values, parameter_draw, demand):
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


def _explained(values, by):
    """Share of the variance of some values that a parabola in others explains, less what chance gives."""
    if np.ptp(by) == 0.0 or np.ptp(values) == 0.0:
        return 0.0
    apart = (by - by.mean()) / by.std()
    table = np.column_stack([np.ones(by.size), apart, apart**2])
    rest = values - table @ np.linalg.lstsq(table, values, rcond=None)[0]
    share = 1.0 - (rest @ rest) / (by.size - 3) / values.var(ddof=1)
    return float(np.clip(share, 0.0, 1.0))


def share_of(part, whole):
    """Share of a variance; not a number where the whole is zero.

    Parameters
    ----------
    part, whole : float

    Returns
    -------
    float
    """
    return part / whole if whole > 0.0 else np.nan
