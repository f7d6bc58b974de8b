"""Number formats of a workbook: how many decimals a column or a row of mixed units shows."""

from math import floor, log10

import numpy as np

from darkspell.report.tables.columns import CURRENCY

SIGNIFICANT = 3  # digits of a typical value of the column; our choice
MOST_DECIMALS = 6
EXACT = 1e-9  # difference below which a value is written exactly
COUNTED = ("number", "1 to 12", "of the month", "of the day", "year")  # names, not amounts: no thousands mark


def decimals_of(values):
    """Decimals that give the median of the values three significant digits.

    Parameters
    ----------
    values : array_like
        Any unit; gaps and infinite values count for nothing.

    Returns
    -------
    int
        0 to 6; fewer where fewer write all values exactly.
    """
    values = np.asarray(values, float)
    values = np.abs(values[np.isfinite(values) & (values != 0.0)])
    if not values.size:
        return 0
    wanted = int(min(max(SIGNIFICANT - 1 - floor(log10(np.median(values))), 0), MOST_DECIMALS))
    exact = (few for few in range(wanted) if np.all(np.abs(values - np.round(values, few)) < EXACT))
    return next(exact, wanted)


def number_format(values, unit=""):
    """Format code of a spreadsheet (ISO/IEC 29500) for values of one unit.

    Parameters
    ----------
    values : array_like
    unit : str
        As the registry of tables names it.

    Returns
    -------
    str
    """
    if unit == CURRENCY:
        return "#,##0.00"
    decimals = decimals_of(values)
    if unit in COUNTED and not decimals:
        return "0"
    return f"#,##0.{'0' * decimals}" if decimals else "#,##0"
