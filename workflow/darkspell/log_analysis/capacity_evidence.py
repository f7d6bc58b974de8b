"""Capacity, from the charge removed between a full charge and the end of the discharge."""

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.offset_evidence import sampling_error
from darkspell.log_analysis.quantities import DRAWS


def capacity_draws(hours, expected, depth, offset, full, draws, reasons, rng):
    """Draws of the capacity factor [-], where the end of the discharge curve is seen after a full charge.

    Parameters
    ----------
    hours : darkspell.log_analysis.quantities.Hours
    expected : darkspell.log_analysis.quantities.Expected
    depth : float array [H]
        From `darkspell.log_analysis.full_charge.depth_of`.
    offset : float array [draws]
        Current shown when none flows [A].
    full : int array
        From `darkspell.log_analysis.full_charge.full_hours`.
    draws, reasons : dict
        Filled: the draws if the capacity can be told, otherwise why not.
    rng : numpy.random.Generator
    """
    if not hours.measured_current:
        reasons["capacity"] = "a reading alone counts with the capacity that the monitor is set to"
        return
    if hours.clipped:
        reasons["capacity"] = "the logger cuts the current off at its limit"
        return
    if not np.isfinite(hours.voltage).any():
        reasons["capacity"] = "without a voltage the end of the discharge is not seen"
        return
    if expected.steep:
        reasons["capacity"] = (
            "under a load the voltage of such a bank does not say how much is left; a capacity test does"
        )
        return
    with np.errstate(invalid="ignore"):
        low = (hours.voltage < expected.knee) & (hours.current < 0.0) & (depth > 0.2 * expected.capacity)
    events = [h for h in np.flatnonzero(low) if not low[max(0, h - 24) : h].any()]
    if not events:
        reasons["capacity"] = "the bank was never discharged to the end after a full charge"
        return
    values, spans = [], []
    for h in events:
        since = h - full[full <= h][-1] if (full <= h).any() else np.nan
        if np.isfinite(since):
            values.append(depth[h] - (offset - np.median(offset)) * -since)
            spans.append(since)
    if not values:
        reasons["capacity"] = "the bank was never discharged to the end after a full charge"
        return
    counted = sampling_error(hours) * np.sqrt(np.median(spans)) * rng.standard_normal(DRAWS)
    removed = np.median(np.array(values), axis=0) + counted
    end = 1.0 - expected.knee_charge + expected.knee_charge_sd * rng.standard_normal(DRAWS)
    out = removed / expected.capacity / end
    draws["capacity"] = out * np.exp(
        constant("log_analysis", "capacity_model_sd") * rng.standard_normal(DRAWS)
    )
