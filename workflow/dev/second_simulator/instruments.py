"""What a monitor writes down: shunt and voltmeter with their errors, a coulomb counter, sampling, gaps."""

from dataclasses import dataclass

import numpy as np
from numba import njit


@dataclass(frozen=True)
class Samples:
    """Rows of a log: local standard time [s since 1970], current [A], voltage [V], reading [%], load [A]."""

    seconds: np.ndarray
    current: np.ndarray
    voltage: np.ndarray
    soc: np.ndarray
    load: np.ndarray


@njit(cache=True)
def _counted(current, voltage, capacity, efficiency, full_voltage, tail, dwell, start, out):
    reading, waited = start, 0.0
    for m in range(current.size):
        amps = current[m]
        reading += amps * (efficiency if amps > 0.0 else 1.0) / 60.0 / capacity
        waited = waited + 1.0 if voltage[m] >= full_voltage and -tail < amps < tail else 0.0
        if waited >= dwell:
            reading = 1.0
        reading = min(max(reading, 0.0), 1.0)
        out[m] = reading


def logged(system, minutes, past_amps, offset, first, step_min, mean, rng):
    """Rows as a monitor writes them.

    Parameters
    ----------
    system : dev.second_simulator.system.PlainSystem
    minutes : dev.second_simulator.bank.BankMinutes
    past_amps : float array [minutes]
        Current of loads that bypass the shunt [A].
    offset : float
        Zero error of the shunt [A].
    first : datetime64[D]
    step_min : int
        Minutes between rows.
    mean : bool
        Whether a row is the mean of its interval, labelled by its end; else a momentary value.
    rng : numpy.random.Generator

    Returns
    -------
    Samples
    """
    gain = 1.0 + 0.003 * rng.standard_normal()
    current = (minutes.current + past_amps) * gain + offset + 0.005 * rng.standard_normal(past_amps.size)
    volts = 0.012 * system.voltage / 12.0 * rng.standard_normal()
    voltage = minutes.voltage + volts + 0.004 * rng.standard_normal(past_amps.size)
    own = rng.spawn(1)[0]  # a sensor of its own, with its own errors
    load = (minutes.served / minutes.voltage) * (1.0 + 0.005 * own.standard_normal())
    load += 0.01 * own.standard_normal() + 0.005 * own.standard_normal(past_amps.size)
    reading, m = np.empty(past_amps.size), system.monitor
    _counted(
        current, voltage, m["capacity"], m["efficiency"], m["full_voltage"], m["tail"], m["dwell"],
        float(minutes.soc[0]), reading,
    )  # fmt: skip
    if mean:
        count = past_amps.size // step_min
        current, voltage, reading, load = (
            part[: count * step_min].reshape(count, step_min) for part in (current, voltage, reading, load)
        )
        current, voltage, reading, load = current.mean(1), voltage.mean(1), reading[:, -1], load.mean(1)
        seconds = 60.0 * step_min * np.arange(1, count + 1)
    else:
        at = np.arange(rng.integers(0, step_min), past_amps.size, step_min)
        current, voltage, reading, load = current[at], voltage[at], reading[at], load[at]
        seconds = 60.0 * at
    seconds = seconds + (first - np.datetime64("1970-01-01")).astype("timedelta64[s]").astype(float)
    digit = float(rng.choice([0.01, 0.1]))
    current, load = (np.round(part / digit) * digit for part in (current, load))
    voltage = np.round(voltage, 2)
    soc = np.round(100.0 * reading, int(rng.choice([0, 1])))
    keep = rng.random(seconds.size) > 0.005
    for _ in range(rng.integers(0, 3)):
        begin = rng.uniform(seconds[0], seconds[-1])
        keep &= ~((seconds > begin) & (seconds < begin + rng.uniform(2.0, 30.0) * 3600.0))
    return Samples(seconds[keep], current[keep], voltage[keep], soc[keep], load[keep])


def irradiance_record(sky, kind, rng):
    """Hourly means of irradiance as a record of the dates gives them [W/m2]; float64 [hours].

    Parameters
    ----------
    sky : pandas.DataFrame
    kind : str
        ``measured``: a pyranometer near by; ``estimated``: an estimate from satellite images.
    rng : numpy.random.Generator
    """
    hours = sky["ghi"].to_numpy().reshape(-1, 60).mean(1)
    if kind == "measured":
        return np.maximum(hours * (1.0 + 0.02 * rng.standard_normal()), 0.0) * (
            1.0 + 0.03 * rng.standard_normal(hours.size)
        )
    day = np.repeat(0.08 * rng.standard_normal(hours.size // 24), 24)
    bias = 0.03 * rng.standard_normal()
    return np.maximum(hours * np.exp(bias + day + 0.15 * rng.standard_normal(hours.size)), 0.0)
