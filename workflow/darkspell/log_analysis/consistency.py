"""Whether the fitted system, run again, gives what the log shows; if not, no cause is named.

Load, array, capacity and offset are drawn from what the log says of them, the study's own hour step runs them
over the log's dates, and some features of the result are compared with those of the log.
"""

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.quantities import CAUSES

FEATURES = {
    "night": "what leaves the bank by night",
    "charge": "what enters it by day",
    "swing": "its daily swing",
    "low_voltage": "its low voltages",
    "middle_voltage": "its usual voltage",
    "high_voltage": "its high voltages",
}
COURSE = "the course of the current over the day"


def misfits(simulator, log, expected, found, rng):
    """Features of a log that its fitted system does not return; list of str, empty if all are.

    Parameters
    ----------
    simulator : darkspell.log_analysis.log_simulator.LogSimulator
    log : darkspell.log_analysis.hourly_means.HourLog
    expected : darkspell.log_analysis.quantities.Expected
    found : darkspell.log_analysis.quantities.Evidence
    rng : numpy.random.Generator
    """
    out = [f"{name} would be far beyond any system of this kind" for name in _impossible(found)]
    lanes = simulator.lanes(fitted(found, simulator.count, rng), rng)
    valid = log.valid
    dark = expected.envelope <= 0.0
    seen = features(log.current[None], log.voltage[None], valid, dark, log)
    made = features(lanes.current, lanes.voltage, valid, dark, log)
    block = expected.nominal / 12.0
    for name, values in made.items():
        middle = float(np.median(values))
        spread = 1.4826 * float(np.median(np.abs(values - middle)))
        if name.endswith("voltage"):
            own = constant("log_analysis", "misfit_voltage") * block
        else:
            own = constant("log_analysis", "misfit_charge") * abs(middle) + 0.005 * expected.capacity
        if abs(float(seen[name][0]) - middle) > constant("log_analysis", "misfit_limit") * np.hypot(
            spread, own
        ):
            out.append(FEATURES[name])
    if log.has_current and course_agreement(log.current, lanes.current) < constant(
        "log_analysis", "course_limit"
    ):
        out.append(COURSE)
    return out


def reversed_sign(log, expected):
    """Whether the current flows out by day and in by night: the sign of the log is not the one that is set.

    Parameters
    ----------
    log : darkspell.log_analysis.hourly_means.HourLog
    expected : darkspell.log_analysis.quantities.Expected
    """
    known = np.isfinite(log.current)
    dark = expected.envelope <= 0.0
    if not log.has_current or (known & dark).sum() < 24 or (known & ~dark).sum() < 24:
        return False
    course = np.corrcoef(log.current[known], expected.envelope[known])[0, 1]
    return bool(np.median(log.current[known & dark]) > 0.0 and course < 0.0)


def _impossible(found):
    """Causes whose whole interval lies beyond what a system of the study's kind can have."""
    words = {"load": "the load", "array": "the array", "capacity": "the capacity"}
    return [
        words[name]
        for name, draws in found.draws.items()
        if name in words and (np.quantile(draws, 0.9) < 0.15 or np.quantile(draws, 0.1) > 2.5)
    ]


def fitted(found, count, rng):
    """Draws of load, array, capacity and offset for the simulator; float64 [4, count].

    What the log does not tell is drawn about the design.

    Parameters
    ----------
    found : Evidence
    count : int
        Draws.
    rng : numpy.random.Generator
    """
    rows = []
    for name in CAUSES:
        draws = found.draws.get(name)
        if draws is None:
            z = rng.standard_normal(count)
            rows.append(0.02 * z if name == "offset" else np.exp(0.1 * z))
            continue
        part = draws[rng.integers(0, draws.size, count)]
        rows.append(part if name == "offset" else np.clip(part, 0.1, 4.0))
    return np.array(rows)


def features(current, voltage, valid, dark, log):
    """Features of logs; dict of float64 arrays [lanes].

    Parameters
    ----------
    current, voltage : float arrays [lanes, H]
        [A, V].
    valid, dark : bool arrays [H]
        Hours that the log covers; hours without sun.
    log : darkspell.log_analysis.hourly_means.HourLog
        Whose columns count.
    """
    out = {}
    if log.has_current:
        amps = np.where(valid, current, 0.0)
        days = amps.reshape(amps.shape[0], -1, 24)
        out["night"] = (amps * (dark & valid)).sum(1) / max((dark & valid).sum(), 1)
        whole = valid.reshape(-1, 24).sum(1) >= 20
        whole = whole if whole.any() else np.ones_like(whole)
        out["charge"] = np.maximum(days, 0.0).sum(2)[:, whole].mean(1)
        level = np.cumsum(days, axis=2)[:, whole]
        out["swing"] = (level.max(2) - level.min(2)).mean(1)
    if log.has_voltage:
        volts = voltage[:, valid]
        for name, share in (("low_voltage", 0.05), ("middle_voltage", 0.5), ("high_voltage", 0.95)):
            out[name] = np.quantile(volts, share, axis=1)
    return out


def course_agreement(current, lanes):
    """Correlation between the log's mean current by hour of the day and that of the fitted system.

    Parameters
    ----------
    current : float array [H]
        NaN where not known [A].
    lanes : float array [lanes, H]
        [A].

    Returns
    -------
    float
        0 where either is constant.
    """
    good = np.isfinite(current)
    clock = np.arange(current.size) % 24
    known = np.array([h for h in range(24) if (good & (clock == h)).any()])
    seen = np.array([current[good & (clock == h)].mean() for h in known])
    made = np.array([np.median(lanes[:, good & (clock == h)].mean(1)) for h in known])
    if known.size < 12 or np.ptp(seen) == 0.0 or np.ptp(made) == 0.0:
        return 0.0
    return float(np.corrcoef(seen, made)[0, 1])
