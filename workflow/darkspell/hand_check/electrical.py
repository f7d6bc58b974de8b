"""Currents and voltages that the hand calculation looks at: in full sun, at the greatest load, in cold."""

import numpy as np

from darkspell.bank.reference_laws import temperature_terms
from darkspell.chemistry.numbers import chemistry_numbers, reference_capacity
from darkspell.core.constants import constant
from darkspell.pv.dc_power import pwm_amps_per_watt
from darkspell.pv.ratings import rated_power


def highest_current(study, charging_voltage):
    """Current that the arrays can push in full sun at 25 degC, limited by the controller.

    Parameters
    ----------
    study : darkspell.study.Study
    charging_voltage : float
        Bank voltage [V].

    Returns
    -------
    float
        [A].
    """
    arrays, controller = study.arrays.values(), study.controller
    if controller.kind == "pwm":
        amps = sum(map(rated_power, arrays)) * pwm_amps_per_watt(study.system.nominal_voltage_v, arrays)
        return _within_limit(amps, controller)
    per_watt = {
        name: pwm_amps_per_watt(study.system.nominal_voltage_v, [one]) for name, one in study.arrays.items()
    }
    amps = {
        name: _own(one, controller, charging_voltage, per_watt[name]) for name, one in study.arrays.items()
    }
    owned = {name: array.own_controller for name, array in study.arrays.items() if array.own_controller}
    shared = sum(amps[name] for name in study.arrays if name not in owned)
    return _within_limit(shared, controller) + sum(_within_limit(amps[n], own) for n, own in owned.items())


def _own(array, controller, charging_voltage, per_watt):
    """Current of one array in a study whose own controller tracks [A]."""
    here = array.own_controller or controller
    tracked = (
        rated_power(array) * (1.0 - array.wiring_pct / 100.0) * here.efficiency_pct / 100.0 / charging_voltage
    )
    return min(tracked, rated_power(array) * per_watt) if here.kind == "pwm" else tracked


def _within_limit(amps, controller):
    return amps if controller.current_limit_a is None else min(amps, controller.current_limit_a)


def charge_at_cutoff(study, peak, temp_bank, off_at, over_bank_w=0.0):
    """State of charge at which the greatest load pulls the voltage to a cut-off [-]; 1 if a full bank does.

    Parameters
    ----------
    study : darkspell.study.Study
    peak : float
        [W].
    temp_bank : float
        [degC].
    off_at : float
        Voltage of the cut-off [V].
    over_bank_w : float
        More power that passes the bank's resistance but not the cable to this cut-off [W].

    Returns
    -------
    float
        [-]
    """
    chemistry, cells = study.bank.chemistry, study.cells
    soc = np.linspace(0.0, 1.0, 201)
    known = (constant("bank", chemistry, name) for name in ("ocv_soc", "ocv_v_cell"))
    rested = np.interp(soc, *known) * cells
    cable = study.system.cable_resistance_mohm / 1000.0
    drop = (bank_resistance(study, temp_bank) * (peak + over_bank_w) + cable * peak) / off_at
    held = soc[rested - drop >= off_at]
    return float(held[0]) if held.size else 1.0


def bank_resistance(study, temp_bank):
    """Resistance of the whole bank at a temperature.

    Parameters
    ----------
    study : darkspell.study.Study
    temp_bank : float
        [degC].

    Returns
    -------
    float
        [ohm].
    """
    bank, age = study.bank, study.bank.state_of_health_pct / 100.0
    c = chemistry_numbers(bank.chemistry, study.system.nominal_voltage_v, state_of_health=age)
    present = reference_capacity(bank.chemistry, bank.capacity_ah, bank.rate_h, bank.capacity_points) * age
    return float(temperature_terms(temp_bank, c).resistance) / present


def greatest_load(appliances):
    """Greatest power asked for at once [W]: all that may run in one minute, and the largest start.

    Parameters
    ----------
    appliances : list of darkspell.loads.budget.Appliance

    Returns
    -------
    float
        [W]
    """
    rows = [(a.window_start_h, a.window_length, a.months, a.watts * a.count, a.surge) for a in appliances]
    measured = max((float(a.series.max()) for a in appliances if a.series is not None), default=0.0)
    return greatest_power(rows) + measured


def greatest_power(rows):
    """Greatest power asked for at once: all that may run in one minute, and the largest start.

    Parameters
    ----------
    rows : list of tuple
        Window start and length [h], months (1-12), running power and starting surge [W].

    Returns
    -------
    float
        [W].
    """
    running = np.zeros((12, 24 * 60))
    for start, length, months, power, _ in rows:
        minutes = (int(round(start * 60)) + np.arange(int(round(length * 60)))) % (24 * 60)
        running[np.ix_(np.array(months) - 1, np.unique(minutes))] += power
    return float(running.max()) + max(row[4] for row in rows)


def cold_string_voltage(array, temp):
    """Open-circuit voltage of an array's string at a cell temperature.

    Parameters
    ----------
    array : darkspell.study.arrays.Array
    temp : float
        [degC].

    Returns
    -------
    float
        [V].
    """
    warmer = temp - constant("pv", "reference_cell_temperature")
    factor = 1.0 + array.module_voc_temp_coefficient_pct_k / 100.0 * warmer
    return array.module_voc_v * array.modules_in_series * factor


def hot_string_voltage(array, cell_c):
    """Voltage at maximum power of a string of hot modules.

    With `module_vmp_v` it falls with the coefficient of power, which is nearly that of this voltage (common
    practice, no source); else it is a share of the open-circuit voltage.

    Parameters
    ----------
    array : darkspell.study.arrays.Array
    cell_c : float
        Cell temperature [degC].

    Returns
    -------
    float or None
        [V]; None where no voltage of the modules is known.
    """
    if array.module_vmp_v is not None:
        warmer = cell_c - constant("pv", "reference_cell_temperature")
        return (
            array.module_vmp_v
            * array.modules_in_series
            * (1.0 + array.temp_coefficient_pct_k / 100.0 * warmer)
        )
    if array.module_voc_v is None:
        return None
    return cold_string_voltage(array, cell_c) * constant("hand_check", "mpp_over_voc")
