"""A heater at the bank: how far it warms the bank, and what it draws."""

import numpy as np


def warmed(heater, temp_bank):
    """Bank temperature with a heater, and the heater's draw.

    The pad holds the bank at its set temperature as far as its power reaches: at full power it lifts the bank
    by ``temperature_rise_k`` over its surroundings, in proportion below. Heat that the bank stores is not
    followed from
    hour to hour. It draws power after the loads are disconnected too, down to an empty bank; while charging power
    is on offer it is served first, so that no charge enters a bank which the pad could not warm.

    Parameters
    ----------
    heater : darkspell.study.bank.Heater or None
    temp_bank : float32 array [8760, lanes]
        Without the heater [degC].

    Returns
    -------
    temp_bank : float32 array [8760, lanes]
    heat : float32 array [8760, lanes] or None
        Mean draw of the hour [W]; None without a heater.
    """
    if heater is None:
        return temp_bank, None
    lift = np.float32(heater.temperature_rise_k)
    share = np.clip((np.float32(heater.setpoint_c) - temp_bank) / lift, np.float32(0.0), np.float32(1.0))
    return temp_bank + lift * share, np.float32(heater.power_w) * share
