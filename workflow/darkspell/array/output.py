"""Power of a photovoltaic array, as a compiled scalar and the numbers that it takes."""

from typing import NamedTuple

import numpy as np
from numba import njit

from darkspell.constants import constant


class ArrayNumbers(NamedTuple):
    """Arrays of a study as columns; every field float64 [arrays].

    `power` is at standard test conditions less constant losses [W]; `heat_loss` [W/m2/K] turns irradiance
    into the cell's excess over the air; `temperature_coefficient` in 1/K.
    """

    power: np.ndarray
    heat_loss: np.ndarray
    temperature_coefficient: np.ndarray


def array_numbers(arrays):
    """Columns of the study's arrays (an iterable of `darkspell.study` array models)."""
    wind = constant("array", "wind")
    rows = [
        (
            a.power_wp * (1.0 - a.loss_pct / 100.0),
            constant("array", a.mounting, "u0") + constant("array", a.mounting, "u1") * wind,
            a.temp_coefficient_pct_k / 100.0,
        )
        for a in arrays
    ]
    return ArrayNumbers(*(np.array(column, float) for column in zip(*rows, strict=True)))


@njit(nogil=True, error_model="numpy", forceinline=True)
def dc_power(poa, temp_air, power, heat_loss, temperature_coefficient):
    """Power at the maximum-power point [W].

    Cell temperature after Faiman at a constant wind, power as `pvlib.pvsystem.pvwatts_dc`.

    Parameters
    ----------
    poa : float
        Irradiance in the plane of the array [W/m2].
    temp_air : float
        [degC].
    """
    cell = temp_air + poa / heat_loss
    return max(poa * 0.001 * power * (1.0 + temperature_coefficient * (cell - 25.0)), 0.0)


def pwm_amps_per_watt(nominal_voltage):
    """Array current at bank voltage per watt of irradiance-scaled array power [A/W]."""
    module = constant("array", "module_voltage_per_12v") * nominal_voltage / 12.0
    return constant("array", "pwm_current_gain") / module
