"""The arithmetic of the hand calculation: budget, charge, reserve, bank size; plain numbers in and out.

Terms after IEEE 1013 and IEEE 1562: the array-to-load ratio is the mean daily ampere-hours of the array over
those of the loads; days of battery reserve are the days that a full bank carries the loads without sun.
"""

import numpy as np

from darkspell.bank.heater import warmed
from darkspell.bank.reference_laws import temperature_terms
from darkspell.chemistry.numbers import chemistry_numbers
from darkspell.core.constants import constant
from darkspell.hand_check.mean_day_irradiance import STEP_H
from darkspell.pv.controller_curve import controller_curve, converted_power, rated_input
from darkspell.pv.dc_power import dimming, low_light_efficiency, pwm_amps_per_watt
from darkspell.pv.ratings import charging_voltage, rated_power, rested_voltage

DIMMEST = 1e-3  # kW/m2; below it the logarithm of the light has no meaning and the array no power


def working_voltages(study):
    """Mean bank voltages at which ampere-hours are counted: half way down, and half way up a charge.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    discharging, charging : float
        [V].
    """
    return rested_voltage(study), charging_voltage(study)


def array_power(array, irradiance, temp_air, wind):
    """Direct-current power of one array after its losses [W]: warmed by the sun (Faiman), less in dim light (Huld).

    Parameters
    ----------
    array : darkspell.study array
    irradiance : array [12, steps]
        In its plane [W/m2].
    temp_air : array [12]
        Monthly mean [degC].
    wind : float
        Mean wind at the modules [m/s].
    """
    heat_loss = constant("pv", array.mounting, "u0") + constant("pv", array.mounting, "u1") * wind
    cell = np.asarray(temp_air)[:, None] + irradiance / heat_loss
    heat = 1.0 + array.temp_coefficient_pct_k / 100.0 * (cell - constant("pv", "reference_cell_temperature"))
    light = irradiance / constant("pv", "reference_irradiance")
    dim = 1.0 - dimming(array) * (1.0 - low_light_efficiency(np.maximum(light, DIMMEST)))
    return np.maximum(rated_power(array) * light * dim * heat, 0.0)


def charge_current(study, planes, temp_air, wind, charging_voltage):
    """Current of all arrays at the bank through the mean days, limited by the controller [A]; [12, steps].

    Parameters
    ----------
    study : darkspell.study.Study
    planes : list of arrays [12, steps]
        Irradiance in the plane of each array [W/m2].
    temp_air : array [12]
        [degC].
    wind : float
        Mean wind at the modules [m/s].
    charging_voltage : float
        [V].

    Returns
    -------
    float array [12, steps]
        [A]
    """
    controller, arrays = study.controller, list(study.arrays.values())
    if controller.kind == "pwm":
        amps = sum(rated_power(a) * plane / 1000.0 for a, plane in zip(arrays, planes, strict=True))
        amps = amps * pwm_amps_per_watt(study.system.nominal_voltage_v, arrays)
        return _limited(amps, controller)
    shared, own = 0.0, 0.0
    for array, plane in zip(arrays, planes, strict=True):
        here = array.own_controller
        watts = array_power(array, plane, temp_air, wind) * (1.0 - array.wiring_pct / 100.0 * plane / 1000.0)
        if here is None:
            shared = shared + watts
            continue
        amps = _amps(here, watts, array.power_wp, charging_voltage)
        if here.kind == "pwm":
            joined = (
                rated_power(array)
                * plane
                / 1000.0
                * pwm_amps_per_watt(study.system.nominal_voltage_v, [array])
            )
            amps = np.minimum(amps, joined)
        own = own + _limited(amps, here)
    together = sum(array.power_wp for array in arrays if array.own_controller is None)
    return _limited(_amps(controller, shared, together, charging_voltage), controller) + own


def _amps(controller, watts, array_wp, voltage):
    """Current of a controller at the bank, after its losses by load [A]."""
    curve = controller_curve(controller, rated_input(controller, array_wp, voltage))
    return converted_power(watts, curve) / voltage


def _limited(amps, controller):
    return amps if controller.current_limit_a is None else np.minimum(amps, controller.current_limit_a)


def day_ah(current):
    """Charge of the mean days.

    Parameters
    ----------
    current : float array [12, steps]
        [A].

    Returns
    -------
    float array [12]
        [Ah/day].
    """
    return current.sum(axis=1) * STEP_H


def bank_temperature(bank, temp_air):
    """Monthly mean temperature of the bank, and the mean draw of its heater.

    Parameters
    ----------
    bank : darkspell.study.bank.Bank
    temp_air : float array [12]
        [degC].

    Returns
    -------
    temp_bank, heat : float arrays [12]
        [degC] and [W].
    """
    around = np.asarray(temp_air, float)
    if bank.location == "indoors":
        around = np.clip(around, bank.indoor_min_c, bank.indoor_max_c)
    warm, heat = warmed(bank.heater, around)
    return warm, np.zeros(12) if heat is None else heat


def cold_share(chemistry, temp_bank):
    """Deliverable share of the capacity at a bank temperature.

    Parameters
    ----------
    chemistry : str
    temp_bank : float or float array
        [degC].

    Returns
    -------
    float or float array
        [-].
    """
    return temperature_terms(
        np.asarray(temp_bank, float), chemistry_numbers(chemistry, 12.0)
    ).deliverable_fraction


def reserve_days(capacity, depth, cold, load):
    """Days that a full bank carries the loads without sun.

    Parameters
    ----------
    capacity : float
        Present capacity [Ah].
    depth : float
        Depth of discharge to which it is used [-].
    cold : array
        Share that the cold lets out [-].
    load : array
        [Ah/day].

    Returns
    -------
    array
        [days], shape of `load`.
    """
    return capacity * depth * np.asarray(cold) / np.asarray(load)


def refill_days(missing, array, load, efficiency):
    """Days to bring back the missing charge [Ah]; infinite where the surplus is none.

    Parameters
    ----------
    missing : float
    array, load : arrays
        [Ah/day].
    efficiency : float
        Ampere-hours out of the bank over ampere-hours in [-].

    Returns
    -------
    array
        [days], shape of `load`.
    """
    surplus = np.asarray(array) * efficiency - np.asarray(load)
    return np.divide(missing, surplus, out=np.full(surplus.shape, np.inf), where=surplus > 0.0)


def bank_by_hand(load, days, depth, daily_depth, cold):
    """Rated capacity that the hand method asks for [Ah].

    The largest of load x days / depth, load / daily depth, and load x days / end-of-life share; over the
    share that the cold lets out, times the margin (memory, after IEEE 1013).

    Parameters
    ----------
    load : float
        [Ah/day].
    days : float
        Days of battery reserve wanted.
    depth, daily_depth : float
        Greatest depth of discharge, and the greatest within one day [-].
    cold : float
        [-].

    Returns
    -------
    float
        [Ah]
    """
    need = max(
        load * days / depth, load / daily_depth, load * days / constant("hand_check", "end_of_life_share")
    )
    return need / cold * constant("hand_check", "margin")


def storage_days(sun_hours):
    """Advisory days of storage for 95 and 99 % availability (Messenger & Ventre, memory).

    Parameters
    ----------
    sun_hours : float
        Irradiation in the plane of the array in the design month [kWh/m2/day].

    Returns
    -------
    tuple of float
        Never below one day.
    """
    lines = (constant("hand_check", name) for name in ("storage_days_95", "storage_days_99"))
    return tuple(max(slope * sun_hours + start, 1.0) for slope, start in lines)
