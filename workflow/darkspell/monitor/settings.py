"""Settings and tolerances of what counts ampere-hours, and the instrument that each member happens to own."""

from dataclasses import dataclass
from math import ceil, inf

import numpy as np

from darkspell.core.keyed_random import normals_of_members, stream_key

STEP_MINUTES = 5


@dataclass(frozen=True)
class ShuntSettings:
    """One counter of ampere-hours.

    Parameters
    ----------
    name : str
        Name in the study; it names the random stream of the instrument's errors.
    capacity : float
        Capacity set [Ah].
    efficiency : float
        Charge efficiency set, ampere-hours out over in [-].
    full_voltage : float
        Terminal voltage at which it may call the bank full [V].
    full_current : float
        Charge current at or below which it may call the bank full [A].
    dwell_minutes : float
        Time for which both must hold [min].
    offset_sd, gain_sd : float
        Standard deviation of the current read when none flows [A], and of the scale's relative error [-].
    offset_per_k_sd : float
        Standard deviation of the offset's change with temperature [A/K], from 25 C.
    least_counted : float
        Measured current below which nothing is counted [A].
    rating : float
        Largest current that it can measure [A].
    rate_exponent : float
        Exponent set: a discharge beyond the 20 h current of the capacity set counts for more than it is.
    """

    name: str
    capacity: float
    efficiency: float
    full_voltage: float
    full_current: float
    dwell_minutes: float = 5.0
    offset_sd: float = 0.0
    gain_sd: float = 0.0
    offset_per_k_sd: float = 0.0
    least_counted: float = 0.0
    rating: float = inf
    rate_exponent: float = 1.0

    @property
    def dwell_steps(self):
        """Five-minute steps in a row that must meet the criteria."""
        return max(1, ceil(self.dwell_minutes / STEP_MINUTES))


def shunt_settings(name, monitor):
    """Settings of a study's shunt, whose defaults the study has filled in.

    Parameters
    ----------
    name : str
    monitor : darkspell.study.monitors.Shunt

    Returns
    -------
    ShuntSettings
    """
    return ShuntSettings(
        name=name,
        capacity=monitor.capacity_set_ah,
        efficiency=monitor.ah_efficiency_set_pct / 100.0,
        full_voltage=monitor.full_voltage_v,
        full_current=monitor.full_current_pct / 100.0 * monitor.capacity_set_ah,
        dwell_minutes=monitor.full_dwell_min,
        offset_sd=monitor.offset_ma * 1e-3,
        gain_sd=monitor.gain_error_pct / 100.0,
        offset_per_k_sd=monitor.offset_ma_per_k * 1e-3,
        least_counted=monitor.dead_band_ma * 1e-3,
        rating=monitor.rating_a,
        rate_exponent=monitor.rate_exponent_set,
    )


def pack_settings(name, monitor, capacity):
    """Settings of the electronics of one of several equal batteries, in amperes of the whole bank.

    Parameters
    ----------
    name : str
    monitor : darkspell.study.monitors.Pack
    capacity : float
        Of the whole bank on its label [Ah], which the electronics know from their making.

    Returns
    -------
    ShuntSettings
    """
    return ShuntSettings(
        name=name,
        capacity=capacity,
        efficiency=monitor.ah_efficiency_set_pct / 100.0,
        full_voltage=monitor.full_voltage_v,
        full_current=monitor.full_current_pct / 100.0 * capacity,
        offset_sd=monitor.offset_ma * 1e-3 * monitor.batteries,
        gain_sd=monitor.gain_error_pct / 100.0,
        least_counted=monitor.dead_band_ma * 1e-3 * monitor.batteries,
    )


def instrument_errors(settings, members, seed):
    """Gain and offset of the instrument that each member owns, stream ``monitor/<name>``.

    Parameters
    ----------
    settings : ShuntSettings
    members : array_like of int
        Shape [L].
    seed : int
        The study's seed.

    Returns
    -------
    gain : numpy.ndarray
        Relative error of the scale [-], float32 [L].
    offset : numpy.ndarray
        Current read when none flows, at 25 C [A], float32 [L].
    drift : numpy.ndarray
        Change of that current with temperature [A/K], float32 [L].
    """
    draws = member_normals(f"monitor/{settings.name}", members, seed, 3)
    sizes = settings.gain_sd, settings.offset_sd, settings.offset_per_k_sd
    return tuple((size * draws[:, n]).astype(np.float32) for n, size in enumerate(sizes))


def member_normals(stream, members, seed, count):
    """Standard normal numbers of some members.

    Parameters
    ----------
    stream : str
        Name of the draw stream.
    members : int array [L]
    seed : int
    count : int
        Numbers for each member.

    Returns
    -------
    float64 [L, count]
    """
    return normals_of_members(stream_key(seed, stream), np.asarray(members, np.int64), count)
