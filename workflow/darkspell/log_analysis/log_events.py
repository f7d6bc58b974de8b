"""Jumps of the reading, and the charge that flows between samples."""

import numpy as np

from darkspell.log_analysis.reader import stamp

JUMP = 0.04  # of the reading, that no current explains


def reading_events(seconds, first, values, count):
    """Last reading of each hour, hours with a jump, and the jumps in sentences.

    Parameters
    ----------
    seconds : float64 array [n]
        Rising [s].
    first : float
        Beginning of the first day [s].
    values : dict of float64 arrays [n]
    count : int
        Hours.
    """
    last, jumps, told = np.full(count, np.nan), np.zeros(count, bool), []
    if "soc" not in values:
        return last, jumps, told
    good = np.isfinite(values["soc"])
    seconds, soc = seconds[good], values["soc"][good]
    at = ((seconds - first) // 3600).astype(int)
    last[at] = soc  # of several in an hour the last stays
    steps, waits = np.diff(soc), np.diff(seconds)
    usual = max(float(np.median(waits)), 1.0)
    found = np.flatnonzero((np.abs(steps) > JUMP) & (waits < max(4.0 * usual, 900.0)) & (waits < 1900.0))
    jumps[at[found + 1]] = True
    full = found[soc[found + 1] >= 0.985]
    if full.size:
        rise = 100.0 * np.median(steps[full])
        told.append(
            f"The monitor was set to full {full.size} time{'s' * (full.size != 1)} from clearly below, by "
            f"{rise:.0f} points in the middle, first at {stamp(seconds[full[0] + 1])}."
        )
    for one in found[soc[found + 1] < 0.985][:5]:
        before, after = 100 * soc[one], 100 * soc[one + 1]
        told.append(f"The reading jumped from {before:.0f} to {after:.0f} % at {stamp(seconds[one + 1])}.")
    return last, jumps, told


def flow_between_samples(seconds, first, values, count):
    """Charge in and out between the last samples of consecutive hours, by the trapezoid rule.

    Parameters
    ----------
    seconds : float64 array [n]
        Rising [s].
    first : float
        Beginning of the first day [s].
    values : dict of float64 arrays [n]
    count : int
        Hours.
    """
    out = np.full((count, 2), np.nan)
    if not {"soc", "current"} <= set(values):
        return out
    good = np.isfinite(values["soc"]) & np.isfinite(values["current"])
    seconds, current = seconds[good], values["current"][good]
    steps = np.diff(seconds) / 3600.0
    middle = 0.5 * (current[1:] + current[:-1])
    total = np.zeros((seconds.size, 2))
    total[1:, 0] = np.cumsum(np.maximum(middle, 0.0) * steps)
    total[1:, 1] = np.cumsum(np.minimum(middle, 0.0) * steps)
    at = ((seconds - first) // 3600).astype(int)
    ends = np.flatnonzero(np.diff(at, append=-1) != 0)
    follows = np.diff(at[ends], prepend=-2) == 1
    out[at[ends][follows]] = np.diff(total[ends], axis=0, prepend=np.nan)[follows]
    return out
