"""Invented logs: a system of the study with one thing changed, sampled as a monitor would.

The hours come from the study's own step under seeds that the inference never uses; minutes, sampling times,
noise, rounding, gaps and the monitor's counting are made here.
"""

from dataclasses import dataclass

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.log_simulator import LANES, _cut, asked_bank, doubtful_voltage, traces_of

SEED_SHIFT = 104_729_000
CAUSES = ("none", "load", "array", "capacity", "offset")
CHANGES = {"load": 1.3, "array": 0.8, "capacity": 0.8, "offset": 0.05}
TOLERANCE = {"load": 0.04, "array": 0.03, "capacity": 0.03}


@dataclass(frozen=True)
class MadeLog:
    """One invented log and the truth behind it.

    Parameters
    ----------
    seconds : float64 array [n]
        Seconds from the beginning of the first day.
    current, voltage, soc : float64 arrays [n]
        [A], [V], reading [%].
    first_day : int
        Study day on which it begins.
    asked : dict
        True factors and offset, by `darkspell.log_analysis.log_simulator.ASKED`.
    cause : str
    clearness : float64 array [365]
        Daily clearness of its year, by study day.
    """

    seconds: np.ndarray
    current: np.ndarray
    voltage: np.ndarray
    soc: np.ndarray
    first_day: int
    asked: dict
    cause: str
    clearness: np.ndarray


def made_logs(assembly, causes, days, seed):
    """64 invented logs, one a lane; a list of `MadeLog`.

    Parameters
    ----------
    assembly : darkspell.simulation.system.Assembly
    causes : sequence of str [64]
        What differs, see `CAUSES`; all else lies within ordinary tolerance.
    days : int
    seed : int
    """
    rng = np.random.default_rng([seed, 23])
    asked = {name: np.exp(sd * rng.standard_normal(LANES)) for name, sd in TOLERANCE.items()}
    shunt = assembly.study.monitors[assembly.study.monitor]
    asked["offset"] = shunt.offset_ma * 1e-3 * rng.standard_normal(LANES)
    for name, value in CHANGES.items():
        asked[name] = np.where(np.array(causes) == name, value, asked[name])
    members = np.arange(LANES)
    traces = traces_of(assembly, members, None, seed + SEED_SHIFT)
    scaled = (asked[name][None] for name in ("load", "array", "capacity"))
    current, voltage, charge = asked_bank(assembly, _cut(traces, np.arange(8760)), *scaled)
    current = current * asked["capacity"].astype(np.float32)
    stiff = np.exp(constant("log_analysis", "resistance_sd") * rng.standard_normal(LANES)) - 1.0
    curve = constant("log_analysis", "curve_sd") * rng.standard_normal(LANES)
    voltage = voltage + doubtful_voltage(assembly, current, charge, stiff, curve)
    gain = 1.0 + shunt.gain_error_pct / 100.0 * rng.standard_normal(LANES)
    volts = 0.01 * assembly.study.system.nominal_voltage_v / 12.0 * rng.standard_normal(LANES)
    logs = []
    for lane in range(LANES):
        first = int(rng.integers(0, 365))
        hours = (24 * first + np.arange(24 * days)) % 8760
        past = traces.past_monitor[hours, lane] * asked["load"][lane] / voltage[hours, lane]
        sun = traces.mpp[hours, lane] * asked["array"][lane] / assembly.study.system.nominal_voltage_v
        one = {name: float(value[lane]) for name, value in asked.items()}
        samples = _sampled(
            current[hours, lane] + past, voltage[hours, lane], sun, gain[lane], one["offset"], volts[lane],
            float(assembly.chemistry.resistance) / assembly.capacity, rng,
        )  # fmt: skip
        soc = counted(*samples, shunt, float(charge[hours[0] - 1, lane]))
        keep = _with_gaps(samples[0], rng)
        logs.append(
            MadeLog(
                *(part[keep] for part in samples),
                soc[keep],
                first,
                one,
                causes[lane],
                np.asarray(traces.clearness[lane]),
            )  # fmt: skip
        )
    return logs


def _sampled(current, voltage, sun, gain, offset, volts, resistance, rng):
    """Times [s], current [A] and voltage [V] as sampled every few minutes, jittering, with minute noise."""
    count = current.size * 14
    seconds = np.cumsum(rng.uniform(60.0, 480.0, count))
    seconds = seconds[seconds < 3600.0 * current.size]
    hour = (seconds // 3600).astype(int)
    flicker = _persistent(rng.standard_normal(seconds.size), 0.6)
    duty = _persistent(rng.standard_normal(seconds.size), 0.3)
    charging = current[hour] > 0
    noise = np.where(charging, 0.15 * np.minimum(sun[hour], current[hour]) * flicker, 0.0)
    noise += 0.15 * np.maximum(-current[hour], 0.3) * duty
    noise -= (
        np.bincount(hour, noise, current.size) / np.maximum(np.bincount(hour, minlength=current.size), 1)
    )[hour] * 0.8  # most of the noise evens out within the hour
    amps = np.round((current[hour] + noise) * gain + offset + 0.005 * rng.standard_normal(seconds.size), 2)
    level = voltage[hour] + resistance * noise + volts + 0.005 * rng.standard_normal(seconds.size)
    return np.round(seconds), amps, np.round(level, 2)


def _persistent(noise, phi):
    from scipy.signal import lfilter

    return lfilter([np.sqrt(1.0 - phi**2)], [1.0, -phi], noise)


def _with_gaps(seconds, rng):
    """Mask of the samples that reached the file: two gaps of hours to a day, some single losses."""
    keep = rng.random(seconds.size) > 0.02
    for _ in range(2):
        start = rng.uniform(0, seconds[-1])
        keep &= ~((seconds > start) & (seconds < start + rng.uniform(2, 30) * 3600.0))
    return keep


def counted(seconds, current, voltage, shunt, start):
    """The monitor's reading [%] at each sample, by its own settings, resets to full included."""
    out = np.empty(seconds.size)
    left, since = 1.0 - start, None
    tail = shunt.full_current_pct / 100.0 * shunt.capacity_set_ah
    per_as = 1.0 / shunt.capacity_set_ah / 3600.0
    good = shunt.ah_efficiency_set_pct / 100.0
    steps = np.diff(seconds, prepend=seconds[0])
    for i in range(seconds.size):
        amps = 0.5 * (current[i] + current[max(i - 1, 0)])
        left -= amps * steps[i] * per_as * (good if amps > 0 else 1.0)
        left = min(max(left, 0.0), 1.0)
        if voltage[i] >= shunt.full_voltage_v and -tail < current[i] <= tail:
            since = seconds[i] if since is None else since
            if seconds[i] - since >= 60.0 * shunt.full_dwell_min:
                left = 0.0
        else:
            since = None
        out[i] = 1.0 - left
    return np.round(100.0 * out, 1)
