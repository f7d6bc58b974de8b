"""Where the uncertainty of a headline comes from: years drawn, weather of a year, climate source, loads, bank.

A parameter draw fixes how clear the climate is, how much the loads take and what the bank is. The variance of a
yearly figure then has a part within parameter draws (weather from year to year) and a part between them. Of the
latter, a part goes with the demand (loads) and a part with the factors of the bank; the rest is the climate's.
"""

import numpy as np


def variance_parts(values, parameter_draw, demand, bank=None):
    """Parts of the variance of a yearly figure.

    Parameters
    ----------
    values, demand : float arrays [members]
        The figure, and the energy demanded, of each year.
    parameter_draw : int array [members]
    bank : float array [factors, members], optional
        Factors of each member's bank on the numbers of its chemistry.

    Returns
    -------
    within, climate, loads, by_bank : float
        Variance within parameter draws (from year to year), and between them by climate, loads and bank; not a
        number with fewer than eight parameter draws or one year in each.
    means : float64 array [parameter_draws]
        Means of the parameter_draws.
    """
    values, demand = np.asarray(values, float), np.asarray(demand, float)
    names, at, counts = np.unique(parameter_draw, return_inverse=True, return_counts=True)
    means = np.bincount(at, values) / counts
    if names.size < 8 or counts.min() < 2:
        return np.nan, np.nan, np.nan, np.nan, means
    within = ((values - means[at]) ** 2).sum() / (values.size - names.size)
    between = max(means.var(ddof=1) - within * (1.0 / counts).mean(), 0.0)
    by_loads = _parabola(np.bincount(at, demand) / counts)
    factors = [] if bank is None else [np.bincount(at, row) / counts for row in bank]
    of_loads = _explained(means, by_loads)
    of_both = max(_explained(means, by_loads + [row for row in factors if np.ptp(row) > 0.0]), of_loads)
    shrunk = min(means.var(ddof=1), between / of_both) if of_both > 0.0 else 0.0
    loads, by_bank = of_loads * shrunk, (of_both - of_loads) * shrunk
    return within, between - loads - by_bank, loads, by_bank, means


def _parabola(by):
    """Columns of a parabola in some values; none where they do not differ."""
    if np.ptp(by) == 0.0:
        return []
    apart = (by - by.mean()) / by.std()
    return [apart, apart**2]


def _explained(values, columns):
    """Share of the variance of some values that a straight sum of columns explains, less what chance gives."""
    table = np.column_stack([np.ones(values.size), *columns])
    if np.ptp(values) == 0.0 or not columns or values.size <= table.shape[1]:
        return 0.0
    rest = values - table @ np.linalg.lstsq(table, values, rcond=None)[0]
    share = 1.0 - (rest @ rest) / (values.size - table.shape[1]) / values.var(ddof=1)
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
