"""Power of a photovoltaic array, as a compiled scalar and the numbers that it takes."""

from functools import cache
from typing import NamedTuple

import numpy as np

from darkspell.core.constants import constant
from darkspell.core.jit import shared_inlined
from darkspell.pv.controller_curve import controller_curve, rated_input
from darkspell.pv.ratings import rated_power, start_irradiance

TRACKED = 1e6
DATA_SHEET = 0.2  # kW/m2 at which data sheets state the efficiency in dim light (IEC 61853-1)
ZERO, ONE, MILLI, STANDARD = (np.float32(value) for value in (0.0, 1.0, 0.001, 25.0))


class ArrayNumbers(NamedTuple):
    """Arrays of a study as columns; every field float64 [arrays], but for the three that begin with `shared` [1].

    `power` is at standard test conditions less constant losses [W]; `heat_loss` [W/m2/K] turns irradiance
    into the cell's excess over the air; `temperature_coefficient` in 1/K; `wiring` is the share lost in the
    cables in full sun; `start` the irradiance below which the controller sleeps [W/m2]; `own` 1 where the
    array has a controller of its own, `curve` that one's `darkspell.pv.controller_curve.ControllerCurve` over the
    study's efficiency [arrays, 5] and `most` the greatest power that it passes [W], before the study's efficiency;
    `shared_curve` and `shared_most` the same for the others together. `shared_limit` is the limit that their minutes
    meet [W]: that of `shared_most`, which the bank's step applies unless controllers are several. `joined`
    is the power per irradiance of an array that its own controller joins to the bank (PWM) [m2], before the study's
    efficiency too: its current at the voltage of a bank being charged; `TRACKED`, which bounds nothing, else.
    `dimming` is the loss of efficiency in dim light over that of `low_light_efficiency`, `current_coefficient` the
    change of the current at bank voltage with cell temperature [1/K]. `still` and `windy` are the parts of
    `heat_loss`: without wind [W/m2/K], and for each m/s of it [W s/m3/K].
    """

    power: np.ndarray
    heat_loss: np.ndarray
    temperature_coefficient: np.ndarray
    wiring: np.ndarray
    start: np.ndarray
    own: np.ndarray
    curve: np.ndarray
    most: np.ndarray
    joined: np.ndarray
    dimming: np.ndarray
    current_coefficient: np.ndarray
    still: np.ndarray
    windy: np.ndarray
    shared_most: np.ndarray
    shared_limit: np.ndarray
    shared_curve: np.ndarray


def array_numbers(arrays, controller, charging_voltage, amps_per_watt=0.0, wind=None):
    """Columns of the study's arrays.

    Parameters
    ----------
    arrays : sequence of darkspell.study.arrays.Array
    controller : darkspell.study.arrays.Controller
        The one that all share that have none of their own.
    charging_voltage : float
        Bank voltage at which limits in amperes are turned into watts where controllers are several [V].
    amps_per_watt : float
        As `pwm_amps_per_watt`; only arrays with a PWM controller of their own need it [A/W].
    wind : float, optional
        Mean wind at the modules [m/s]; the table's if not given.

    Returns
    -------
    ArrayNumbers
    """
    arrays = list(arrays)
    several, efficiency = any(a.own_controller for a in arrays), controller.efficiency_pct / 100.0
    limit = np.inf
    if controller.current_limit_a is not None:
        limit = controller.current_limit_a * charging_voltage / efficiency
    together = sum(a.power_wp for a in arrays if a.own_controller is None)
    curve = controller_curve(controller, rated_input(controller, together, charging_voltage), efficiency)
    wind = constant("pv", "wind") if wind is None else wind
    rows = [_row(a, controller, charging_voltage, amps_per_watt, wind) for a in arrays]
    columns = (np.array(column, float) for column in zip(*rows, strict=True))
    most, peaks = limit if several else np.inf, np.inf if controller.kind == "pwm" else limit
    return ArrayNumbers(*columns, np.array([most]), np.array([peaks]), np.array([curve]))


def wind_at_modules(site, climate):
    """Mean wind that cools the modules: what the study states, else that of its climate's source, else the table's.

    Parameters
    ----------
    site : darkspell.study.site.Site
    climate : darkspell.climate.SiteClimate

    Returns
    -------
    float
        [m/s].
    """
    if site.wind_m_s is not None:
        return site.wind_m_s
    return climate.wind or constant("pv", "wind")


def _row(array, controller, charging_voltage, amps_per_watt, wind):
    own = array.own_controller
    here = own or controller
    limited = own is not None and own.current_limit_a is not None
    power, joined = rated_power(array), TRACKED
    if own is not None and own.kind == "pwm":
        amps_per_watt = label_amps_per_watt(array) or amps_per_watt
        joined = power * amps_per_watt * charging_voltage / (controller.efficiency_pct / 100.0) / 1000.0
    still, windy = (constant("pv", array.mounting, name) for name in ("u0", "u1"))
    rated = rated_input(here, array.power_wp, charging_voltage)
    return (
        power,
        still + windy * wind,
        array.temp_coefficient_pct_k / 100.0,
        array.wiring_pct / 100.0,
        start_irradiance(array, here.start_voltage_v),
        float(own is not None),
        controller_curve(here, rated, controller.efficiency_pct / 100.0),
        own.current_limit_a * charging_voltage / (controller.efficiency_pct / 100.0) if limited else np.inf,
        joined,
        dimming(array),
        array.module_isc_temp_coefficient_pct_k / 100.0,
        still,
        windy,
    )


def dimming(array):
    """Loss of efficiency in dim light over that of `low_light_efficiency`, so that the data sheet's value is met.

    Parameters
    ----------
    array : darkspell.study.arrays.Array

    Returns
    -------
    float
        [-]; 1 without a value of its own.
    """
    if array.efficiency_200_pct is None:
        return 1.0
    usual = 1.0 - float(low_light_efficiency(DATA_SHEET))
    return (1.0 - array.efficiency_200_pct / 100.0) / usual


def low_light_efficiency(light):
    """Efficiency in dim light over that in standard light [-].

    Huld et al., Solar Energy 84 (2010) 324-338, crystalline silicon at 25 degC: 1 + k1 ln G' + k2 ln^2 G'; the
    temperature terms are left to the study's own coefficient.

    Parameters
    ----------
    light : float array
        Irradiance in the plane of the array, above 0 [kW/m2].

    Returns
    -------
    float array
        At least 0 [-], shape of `light`.
    """
    log = np.log(light)
    efficiency = 1.0 + constant("pv", "dim_light", "k1") * log + constant("pv", "dim_light", "k2") * log**2
    return np.maximum(efficiency, 0.0)


@cache
def dim_light():
    """`low_light_efficiency` as a polynomial of the fourth root of G', within 0.001 from 10 W/m2 up; seven float32.

    Without a logarithm it is packed with the rest of the loop, and has the same bits everywhere.
    """
    light = np.linspace(0.008, 1.4, 1000)
    powers = np.polynomial.polynomial.polyfit(light**0.25, low_light_efficiency(light), 6, w=light**0.25)
    return tuple(np.round(powers, 5).astype(np.float32))


@shared_inlined
def dc_power(poa, temp_air, power, heat_resistance, temperature_coefficient, dimming, dim):
    """Power at the maximum-power point [W].

    Cell temperature after Faiman at a constant wind, power as `pvlib.pvsystem.pvwatts_dc`, times the
    efficiency in dim light.

    Parameters
    ----------
    poa : float
        Irradiance in the plane of the array [W/m2].
    temp_air : float
        [degC].
    power : float
        In standard conditions [W].
    heat_resistance : float
        Of the cell to the air [K m2/W].
    temperature_coefficient : float
        [1/K].
    dimming : float
        Of the array, as `ArrayNumbers`.
    dim : tuple of float32
        From `dim_light`.

    Returns
    -------
    float32
        At least 0 [W].
    """
    cell = temp_air + poa * heat_resistance
    root = np.sqrt(np.sqrt(poa * MILLI))
    efficiency = dim[0] + root * (
        dim[1] + root * (dim[2] + root * (dim[3] + root * (dim[4] + root * (dim[5] + root * dim[6]))))
    )
    efficiency = ONE - dimming * (ONE - efficiency)
    efficiency = efficiency if efficiency > ZERO else ZERO
    out = poa * MILLI * power * efficiency * (ONE + temperature_coefficient * (cell - STANDARD))
    return out if out > ZERO else ZERO


def pwm_amps_per_watt(nominal_voltage, arrays=()):
    """Array current at bank voltage per watt of irradiance-scaled array power.

    Parameters
    ----------
    nominal_voltage : float
        12, 24 or 48 V.
    arrays : iterable of darkspell.study.arrays.Array
        Those joined to the bank together; the labels of their modules count, as far as they are given.

    Returns
    -------
    float
        [A/W].
    """
    module = constant("pv", "module_voltage_per_12v") * nominal_voltage / 12.0
    usual = constant("pv", "pwm_current_gain") / module
    rows = [(rated_power(array), label_amps_per_watt(array)) for array in arrays]
    if all(amps is None for _, amps in rows):
        return usual
    return sum(power * (usual if amps is None else amps) for power, amps in rows) / sum(
        power for power, _ in rows
    )


def label_amps_per_watt(array):
    """Current at bank voltage of a module over its power, from its label.

    It is between the current at maximum power and the short-circuit current, nearer the latter:
    I = I_mp + 0.8 (I_sc - I_mp), the share from pvlib's single-diode model over the CEC table.

    Parameters
    ----------
    array : darkspell.study.arrays.Array

    Returns
    -------
    float or None
        [A/W]; None where the label is not given.
    """
    if None in (array.module_isc_a, array.module_vmp_v, array.module_wp):
        return None
    at_maximum = array.module_wp / array.module_vmp_v
    amps = at_maximum + constant("pv", "pwm_short_circuit_share") * (array.module_isc_a - at_maximum)
    return amps / (array.module_wp * array.modules_in_series)
