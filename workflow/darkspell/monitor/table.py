"""Rows of monitors.csv: how far each monitor errs, with both kinds of interval."""

import numpy as np

from darkspell.monitor.study import RESETS, STATISTICS
from darkspell.statistics.intervals import mean_intervals, year_interval
from darkspell.statistics.rounding import significant

UNITS = {name: unit for name, (_, unit) in STATISTICS.items()} | RESETS


def monitors_table(monitors, kinds, world, seed=0):
    """Statistics of all monitors.

    Parameters
    ----------
    monitors : dict of dict of float arrays [members]
        By monitor and statistic, as `darkspell.monitor.study` gives them.
    kinds : dict of str
        Kind of each monitor, ``shunt`` or ``gauge``.
    world : int array [members]
    seed : int

    Returns
    -------
    pandas.DataFrame
        Columns ``monitor``, ``kind``, ``statistic``, ``unit``, ``mean``, ``mean_low``, ``mean_high`` (95 %),
        ``year_low``, ``year_high`` (80 %).
    """
    import pandas as pd

    rows = []
    for name, statistics in monitors.items():
        values = np.stack(list(statistics.values()), axis=1)
        low, high, _ = mean_intervals(values, world, seed=seed)
        year_low, year_high = year_interval(values)
        numbers = (values.mean(axis=0), low, high, year_low, year_high)
        numbers = np.stack([significant(column) for column in numbers], axis=1)
        for (statistic, unit), row in zip(((s, UNITS[s]) for s in statistics), numbers, strict=True):
            rows.append((name, kinds[name], statistic, unit, *row))
    names = ("monitor", "kind", "statistic", "unit", "mean", "mean_low", "mean_high", "year_low", "year_high")
    return pd.DataFrame(rows, columns=names)
