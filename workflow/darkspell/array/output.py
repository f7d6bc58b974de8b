"""Power of a photovoltaic array, as a compiled scalar and the numbers that it takes."""

from typing import NamedTuple

import numpy as np
from numba import njit

from darkspell.array.rating import rated_power, start_irradiance
from darkspell.constants import constant


class ArrayNumbers(NamedTuple):
    """Arrays of a study as columns; every field float64 [arrays], but for `shared_most` [1].

    `power` is at standard test conditions less constant losses [W]; `heat_loss` [W/m2/K] turns irradiance
    into the cell's excess over the air; `temperature_coefficient` in 1/K; `wiring` is the share lost in the
    cables in full sun; `start` the irradiance below which the controller sleeps [W/m2]; `own` 1 where the
    array has a controller of its own, `ratio` that one's efficiency over the study's and `most` the greatest
    power that it passes [W], before the study's efficiency; `shared_most` the same for the others together.
    """

    power: np.ndarray
    heat_loss: np.ndarray
    temperature_coefficient: np.ndarray
    wiring: np.ndarray
    start: np.ndarray
    own: np.ndarray
    ratio: np.ndarray
    most: np.ndarray
    shared_most: np.ndarray


def array_numbers(arrays, controller, charging_voltage):
    """Columns of the study's arrays.

    Parameters
    ----------
    arrays : sequence of darkspell.study.arrays.Array
    controller : darkspell.study.arrays.Controller
        The one that all share that have none of their own.
    charging_voltage : float
        Bank voltage at which limits in amperes are turned into watts where controllers are several [V].

    Returns
    -------
    ArrayNumbers
    """
    arrays = list(arrays)
    several = any(a.own_controller for a in arrays)
    shared = np.inf
    if several and controller.current_limit_a is not None:
        shared = controller.current_limit_a * charging_voltage / (controller.efficiency_pct / 100.0)
    rows = [_row(a, controller, charging_voltage) for a in arrays]
    columns = (np.array(column, float) for column in zip(*rows, strict=True))
    return ArrayNumbers(*columns, np.array([shared]))


def _row(array, controller, charging_voltage):
    wind = constant("array", "wind")
    own = array.own_controller
    here = own or controller
    limited = own is not None and own.current_limit_a is not None
    return (
        rated_power(array),
        constant("array", array.mounting, "u0") + constant("array", array.mounting, "u1") * wind,
        array.temp_coefficient_pct_k / 100.0,
        array.wiring_pct / 100.0,
        start_irradiance(array, here.start_voltage_v),
        float(own is not None),
        here.efficiency_pct / controller.efficiency_pct,
        own.current_limit_a * charging_voltage / (controller.efficiency_pct / 100.0) if limited else np.inf,
    )


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
