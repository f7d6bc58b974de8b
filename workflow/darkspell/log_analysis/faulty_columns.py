"""Columns that stand still or are cut off at the logger's limit: found before anything is read from them."""

import numpy as np

STUCK_H = {"current": 48.0, "power": 48.0, "charge_current": 96.0, "load_current": 96.0, "voltage": 96.0}
AT_LIMIT = 0.6  # share of the greatest values that are exactly the greatest
LEAST_AT_LIMIT = 30


def without_stuck(seconds, values):
    """Values without those that did not change for days.

    Parameters
    ----------
    seconds : float64 array [n]
        Rising.
    values : dict of float arrays [n]
        By kind.

    Returns
    -------
    values : dict of float arrays
    notes : list of str
    """
    out, notes = {}, []
    for kind, part in values.items():
        bad = stuck(seconds, part, STUCK_H[kind]) if kind in STUCK_H else np.zeros(part.size, bool)
        out[kind] = np.where(bad, np.nan, part) if bad.any() else part
        if bad.any():
            share = 100.0 * bad.mean()
            notes.append(
                f"The {kind.replace('_', ' ')} did not change for {STUCK_H[kind]:.0f} hours or more in "
                f"{share:.0f} % of the rows; these values were set aside."
            )
    return out, notes


def stuck(seconds, values, hours):
    """Rows within runs of one value that last some hours; bool [n].

    Parameters
    ----------
    seconds, values : float arrays [n]
    hours : float
        [h].
    """
    good = np.flatnonzero(np.isfinite(values))
    out = np.zeros(values.size, bool)
    if good.size < 3:
        return out
    starts = np.concatenate([[0], np.flatnonzero(np.diff(values[good]) != 0.0) + 1])
    ends = np.append(starts[1:], good.size) - 1
    long = seconds[good[ends]] - seconds[good[starts]] >= 3600.0 * hours
    for first, last in zip(starts[long], ends[long], strict=True):
        out[good[first : last + 1]] = True
    return out


def limit_of(current):
    """Greatest charge current that a logger can show [A]; NaN where no limit is seen.

    Parameters
    ----------
    current : float array [n]
        [A].
    """
    known = current[np.isfinite(current)]
    top = known.max() if known.size else 0.0
    if top <= 0.0:
        return np.nan
    high = known[known > 0.9 * top]
    same = high >= top - 1e-9 * top
    clear = same.sum() >= LEAST_AT_LIMIT and same.mean() > AT_LIMIT
    return float(top) if clear else np.nan


def resolution_of(current):
    """Step in which a current is written, from the first rows [A]; 0 where none is seen.

    Parameters
    ----------
    current : float array [n]
        [A].
    """
    known = current[np.isfinite(current)][:20_000]
    steps = np.diff(np.unique(np.round(known, 4)))
    return float(steps.min()) if steps.size > 2 else 0.0
