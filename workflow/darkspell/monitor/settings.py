"""A shunt's settings and tolerance as numbers, and the instrument that each member happens to own."""

from dataclasses import dataclass
from math import ceil

import numpy as np

from darkspell.draws import normals, stream_key

STEP_MINUTES = 5


@dataclass(frozen=True)
class ShuntSettings:
    """One shunt.

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
    """

    name: str
    capacity: float
    efficiency: float
    full_voltage: float
    full_current: float
    dwell_minutes: float = 3.0
    offset_sd: float = 0.0
    gain_sd: float = 0.0

    @property
    def dwell_steps(self):
        """Five-minute steps in a row that must meet the criteria."""
        return max(1, ceil(self.dwell_minutes / STEP_MINUTES))


def shunt_settings(name, monitor):
    """Settings of a study's shunt, whose defaults by chemistry the study has filled in.

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
        Current read when none flows [A], float32 [L].
    """
    key = stream_key(seed, f"monitor/{settings.name}")
    draws = np.array([normals(key, int(member), 2) for member in members])
    gain, offset = settings.gain_sd * draws[:, 0], settings.offset_sd * draws[:, 1]
    return gain.astype(np.float32), offset.astype(np.float32)
