"""Rows an hour apart do not say whether they are named by the beginning or the end of their hour."""

from dataclasses import replace

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.evidence import evidence
from darkspell.log_analysis.full_charge import bulk_hours, depth_of, full_hours
from darkspell.log_analysis.quantities import CAUSES, DRAWS, Evidence


def aligned_evidence(hours, expected, rng):
    """Evidence of a log, whichever moment its rows are named by.

    Rows closer than half an hour say enough themselves. Of rows further apart the reading one hour earlier is
    tried as well. The better of the two is taken where the weather is known and tells them apart, else both.

    Parameters
    ----------
    hours : darkspell.log_analysis.quantities.Hours
    expected : darkspell.log_analysis.quantities.Expected
    rng : numpy.random.Generator

    Returns
    -------
    darkspell.log_analysis.quantities.Evidence
    """
    if not hours.coarse:
        return evidence(hours, expected, rng)
    readings = [hours, _earlier(hours)]
    if expected.weather_known:
        scores = [_agreement(one, expected) for one in readings]
        if abs(scores[0] - scores[1]) > constant("log_analysis", "label_margin"):
            return evidence(readings[int(np.argmax(scores))], expected, rng)
    parts = [evidence(one, expected, rng) for one in readings]
    draws, reasons = {}, dict(parts[0].reasons)
    for name in CAUSES:
        if all(name in part.draws for part in parts):
            half = DRAWS // 2
            draws[name] = np.concatenate([part.draws[name][:half] for part in parts])
        else:
            reasons.setdefault(name, parts[1].reasons.get(name, ""))
    if "array" in draws and not expected.weather_known:
        del draws["array"]
        reasons["array"] = "rows an hour apart do not say which moment they are named by"
    first = parts[0]
    return Evidence(draws, reasons, first.full, first.deepest, first.round_trip)


def _earlier(hours):
    """The same log, each row taken for the hour before."""

    def back(part):
        return np.concatenate([part[1:], [np.nan]])

    return replace(hours, current=back(hours.current), voltage=back(hours.voltage), soc=back(hours.soc))


def _agreement(hours, expected):
    """Correlation of the current with what the array is expected to give, before the charger limits it."""
    full = full_hours(hours, expected)
    use = bulk_hours(hours, expected, depth_of(hours, expected, full, 0.0))
    if use.sum() < 24:
        return 0.0
    return float(np.corrcoef(hours.current[use], expected.array[use].mean(1))[0, 1])
