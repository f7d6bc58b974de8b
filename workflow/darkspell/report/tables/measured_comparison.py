"""Replayed beside synthetic: whether they give the same loss of load within their intervals.

Interval of a difference from the intervals of its two parts, which are independent: G. Y. Zou & A. Donner,
Statistics in Medicine 27 (2008) 1693-1702 (from memory).
"""

import numpy as np

KEYS = ("lolp", "lolh", "lold", "short_nights", "years_with_short_nights", "eue_kwh", "annual_max_depth_true",
        "longest_full_charge_interval_days", "array_kwh")  # fmt: skip
JUDGED = "lolh"


def comparison(synthetic, replay):
    """Rows of measured_comparison.csv.

    Parameters
    ----------
    synthetic, replay : dict
        As summary.json, see `darkspell.statistics.summary.summary`.

    Returns
    -------
    pandas.DataFrame
        A row a headline: ``statistic``, ``unit``, ``measured``, ``measured_low``, ``measured_high``, ``simulated``,
        ``simulated_low``, ``simulated_high``, ``difference``, ``difference_low``, ``difference_high``,
        ``verdict`` (``same`` where the interval of the difference holds zero, ``differ``, ``unknown``).
    """
    import pandas as pd

    rows = []
    for key in KEYS:
        one, two = (_numbers(part[key]) for part in (synthetic, replay))
        difference, low, high = difference_of(one, two)
        rows.append(
            {
                "statistic": key, "unit": synthetic[key]["unit"],
                "measured": two[0], "measured_low": two[1], "measured_high": two[2],
                "simulated": one[0], "simulated_low": one[1], "simulated_high": one[2],
                "difference": difference, "difference_low": low, "difference_high": high,
                "verdict": _verdict(low, high),
            }
        )  # fmt: skip
    return pd.DataFrame(rows)


def difference_of(one, two):
    """First less second, each ``(value, low, high)``, with the interval of the difference.

    Parameters
    ----------
    one, two : tuple of float
        Value, low and high end.
    """
    difference = one[0] - two[0]
    below = np.hypot(one[0] - one[1], two[2] - two[0])
    above = np.hypot(one[2] - one[0], two[0] - two[1])
    return difference, difference - below, difference + above


def _numbers(entry):
    return tuple(
        np.nan if entry[name] is None else float(entry[name])
        for name in ("value", "simulation_low", "simulation_high")
    )


def _verdict(low, high):
    if not (np.isfinite(low) and np.isfinite(high)):
        return "unknown"
    return "same" if low <= 0.0 <= high else "differ"
