"""Rows of monitors.csv and monitor_error_percentiles.csv: how far each monitor errs, with intervals, by
month and since full.
"""

import numpy as np

from darkspell.core.calendar import MONTH_NAMES
from darkspell.core.rounding import significant
from darkspell.monitor.all_monitors import APART, COUNTED, RESETS, STATISTICS
from darkspell.monitor.reading_errors import JOINT_BINS, SINCE_FULL
from darkspell.statistics.intervals import mean_intervals, year_interval
from darkspell.statistics.registry import mean_units

UNITS = mean_units(STATISTICS) | RESETS | COUNTED | APART


def monitors_table(monitors, kinds, parameter_draw, seed=0):
    """Statistics of all monitors.

    Parameters
    ----------
    monitors : dict of dict of float arrays [members]
        By monitor and statistic, as `darkspell.monitor.all_monitors` gives them.
    kinds : dict of str
        Kind of each monitor, ``shunt``, ``gauge`` or ``pack``.
    parameter_draw : int array [members]
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
        low, high, _ = mean_intervals(values, parameter_draw, seed=seed)
        year_low, year_high = year_interval(values)
        numbers = (values.mean(axis=0), low, high, year_low, year_high)
        numbers = np.stack([significant(column) for column in numbers], axis=1)
        for (statistic, unit), row in zip(((s, UNITS[s]) for s in statistics), numbers, strict=True):
            rows.append((name, kinds[name], statistic, unit, *row))
    names = ("monitor", "kind", "statistic", "unit", "mean", "mean_low", "mean_high", "year_low", "year_high")
    return pd.DataFrame(rows, columns=names)


SHARES = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)


def error_percentiles_table(errors, calendar):
    """Percentiles of reading less truth over the hours of all years, by month and by days since full.

    Parameters
    ----------
    errors : dict of int arrays [classes since full, 12, bins]
        By monitor, as `darkspell.monitor.reading_errors.joint_counts`.
    calendar : darkspell.core.calendar.Calendar

    Returns
    -------
    pandas.DataFrame
        Columns ``monitor``, ``by`` (``month`` or ``days_since_full``), ``group``, ``hours``, ``share_pct`` (of
        all hours) and ``p5`` to ``p95`` [points of per cent].
    """
    import pandas as pd

    names = [MONTH_NAMES[month] for month in calendar.month_order]
    rows = []
    for monitor, counts in errors.items():
        groups = [
            ("month", *pair) for pair in zip(names, counts.sum(axis=0)[calendar.month_order], strict=True)
        ]
        groups += [("days_since_full", *pair) for pair in zip(since_names(), counts.sum(axis=1), strict=True)]
        for by, group, hours in groups:
            total = int(hours.sum())
            share = 100.0 * total / counts.sum()
            rows.append((monitor, by, group, total, significant(share), *significant(percentiles(hours))))
    columns = ("monitor", "by", "group", "hours", "share_pct", *(f"p{100 * share:.0f}" for share in SHARES))
    return pd.DataFrame(rows, columns=columns)


def since_names():
    """Names of the classes of days since full: ``0``, ``1``, ``2-3``, ... ``30+``."""
    names = []
    for first, after in zip(SINCE_FULL, (*SINCE_FULL[1:], None), strict=True):
        last = f"-{after - 1}" if after else "+"
        names.append(f"{first}" if after == first + 1 else f"{first}{last}")
    return names


def percentiles(hours, shares=SHARES):
    """Percentiles [points] of an error counted in bins of equal width around -100 to 100; NaN if none.

    Parameters
    ----------
    hours : int array [bins]
        Hours in each bin of the error.
    shares : tuple of float
        Which percentiles, 0 to 1.
    """
    total = hours.sum()
    if total == 0:
        return np.full(len(shares), np.nan)
    width = 200.0 / JOINT_BINS
    up_to = np.concatenate([[0], np.cumsum(hours)]) / total
    edges = np.clip(-100.0 - 0.5 * width + width * np.arange(hours.size + 1), -100.0, 100.0)
    found = []
    for share in shares:
        at = max(int(np.searchsorted(up_to, share)), 1)
        part = (share - up_to[at - 1]) / max(up_to[at] - up_to[at - 1], 1e-300)
        found.append(edges[at - 1] + part * (edges[at] - edges[at - 1]))
    return np.array(found)
