"""Rows an hour apart do not say whether they are named by the beginning or the end of their hour."""

from dataclasses import replace

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.evidence import evidence
from darkspell.log_analysis.full_charge import bulk_hours, depth_of, full_hours, unlimited_hours
from darkspell.log_analysis.quantities import CAUSES, DRAWS, Evidence

HALF_DAYS = 10
UNLIKE = "the means of the hours do not follow the weather's hours; see log.row_time and log.time_zone"
MOMENTARY = "rows an hour apart are momentary values, and clouds pass between them"


def aligned_evidence(hours, expected, rng):
    """Evidence of a log, whichever moment its rows are named by.

    Rows closer than half an hour say enough themselves; where they disagree with the weather's hours, only nights
    are read. Of rows further apart the reading one hour earlier is
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
        parts = disagreement(hours, expected)
        if not parts:
            return evidence(hours, expected, rng)
        found = evidence(hours, expected, rng, light=False)
        # Which hours are dark is not known either: the sun of a dusk would pass for a load that is not there.
        draws = {name: part for name, part in found.draws.items() if name != "load"}
        reasons = {"load": "the times of the log and of the weather disagree", **found.reasons}
        return replace(found, draws=draws, reasons=reasons, clock=parts)
    readings = [hours] if hours.moment_known else [hours, _earlier(hours)]
    why = UNLIKE if hours.kind == "means" else MOMENTARY
    if expected.weather_known:
        scores = [_agreement(one, expected) for one in readings]
        if hours.kind == "samples" or max(scores) < constant("log_analysis", "means_agreement"):
            return _both(readings, expected, rng, why)
        if len(scores) == 1 or abs(scores[0] - scores[1]) > constant("log_analysis", "label_margin"):
            return evidence(readings[int(np.argmax(scores))], expected, rng)
    return _both(readings, expected, rng, MOMENTARY if hours.kind == "samples" else "")


def _both(readings, expected, rng, why):
    """Evidence of two readings together; `why` the array cannot be told, empty if it can."""
    parts = [evidence(one, expected, rng, light=not why) for one in readings]
    draws, reasons = {}, dict(parts[0].reasons)
    for name in CAUSES:
        if all(name in part.draws for part in parts):
            half = DRAWS // len(parts)
            draws[name] = np.concatenate([part.draws[name][:half] for part in parts])
        else:
            reasons.setdefault(name, parts[-1].reasons.get(name, ""))
    if why:
        draws.pop("array", None)
        reasons["array"] = why
    first = parts[0]
    return Evidence(draws, reasons, first.full, first.deepest, first.round_trip)


def _earlier(hours):
    """The same log, each row taken for the hour before."""
    return moved(hours, -1)


def moved(hours, shift):
    """A log whose values are taken for another hour, `shift` hours later; `Hours`.

    Parameters
    ----------
    hours : Hours
    shift : int
        Hours; negative is earlier.
    """

    def part(values):
        if values is None:
            return None
        out = np.full(values.size, np.nan)
        if shift < 0:
            out[:shift] = values[-shift:]
        else:
            out[shift:] = values[: values.size - shift]
        return out

    names = ("current", "voltage", "soc", "load_current", "charge_current")
    return replace(hours, **{name: part(getattr(hours, name)) for name in names})


def disagreement(hours, expected):
    """Parts of a log whose hours do not agree with those of the weather; list of (first day, last day, hours late).

    In each half of the log (summer time may begin or end in it) the current, before the charger limits it, is
    compared with what the array is expected to give, at the same hour and at one and two hours earlier and later.

    Parameters
    ----------
    hours : Hours
    expected : Expected
    """
    days = hours.current.size // 24
    if not expected.weather_known or days < 2 * HALF_DAYS:
        return []
    full = full_hours(hours, expected)
    use = unlimited_hours(hours, expected, depth_of(hours, expected, full, 0.0))
    shifts = np.arange(-2, 3)
    # The current of lead-acid falls long before the set point is reached, later on the dial than the sun.
    margin = constant("log_analysis", "clock_margin") * (4.0 if expected.steep else 1.0)
    readings = [moved(hours, -int(shift)).current for shift in shifts]
    out = []
    for first, last in ((0, days // 2 - 1), (days // 2, days - 1)):
        part = use.copy()
        part[: 24 * first] = part[24 * (last + 1) :] = False
        scores = np.array([_correlation(reading, expected, part) for reading in readings])
        if scores.max() - scores[2] > margin:
            out.append((first, last, int(shifts[np.argmax(scores)])))
    return out


def _agreement(hours, expected):
    """Correlation of the current with what the array is expected to give, before the charger limits it."""
    full = full_hours(hours, expected)
    use = bulk_hours(hours, expected, depth_of(hours, expected, full, 0.0))
    return _correlation(hours.current, expected, use)


def _correlation(current, expected, use):
    use = use & np.isfinite(current)
    if use.sum() < 24:
        return 0.0
    given = expected.array[use].mean(1)
    if np.ptp(given) == 0.0 or np.ptp(current[use]) == 0.0:
        return 0.0
    return float(np.corrcoef(current[use], given)[0, 1])
