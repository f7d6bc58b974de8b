"""Laws of the bank in plain NumPy over members; `darkspell.bank.cell_laws` has them compiled.

Sources of the equations:

- Discharge capacity: Peukert's law, t = H (C / (I H))^k, capped at the capacity of the 100 h rate.
- Charge efficiency that falls towards full and with the current: Copetti, Lorenzo & Chenlo, Progress in Photovoltaics
  1 (1993) 283-292, in a polynomial form of our own.
- Charging resistance that grows by 2.5 % a kelvin in the cold: Copetti, Lorenzo & Chenlo, as acceptance.
- Self-discharge doubling per 10 K: US Army TM 9-6140-200-14, paragraph 4-8.
"""

import numpy as np

from darkspell.bank.step_values import TemperatureTerms

power = np.power  # of Peukert's law


def temperature_terms(temp, c, draw=(1.0, 1.0, 1.0, 1.0)):
    """What the bank's temperature changes; as `darkspell.bank.cell_laws.drawn_terms`, over arrays.

    Parameters
    ----------
    temp : float array [members]
        Bank temperature [degC].
    c : darkspell.chemistry.numbers.ChemistryNumbers
    draw : tuple of float arrays [members], or floats
        Factors on resistance, self-discharge, charge lost to gas and capacity lost to the cold [-].

    Returns
    -------
    darkspell.bank.step_values.TemperatureTerms
        Float arrays [members].
    """
    of_resistance, of_leak, gassing, of_cold = draw
    below = np.clip(c.reference - temp, 0, None)
    taper_h = c.taper_h * (1 + c.taper_per_k * below)
    clipped = np.clip(temp, c.clip_low, c.clip_high)
    return TemperatureTerms(
        setpoint=c.setpoint + c.setpoint_per_k * (clipped - c.reference),
        resistance=of_resistance
        * c.resistance
        * (1 + c.resistance_per_k * below + c.resistance_per_k2 * below**2),
        accept_max=c.accept_max * np.clip((temp - c.cold_zero) * c.cold_slope, 0, 1) * (temp <= c.hot_limit),
        deliverable_fraction=np.maximum(
            1 - of_cold * (c.capacity_per_k * below + c.capacity_per_k_below_0 * np.clip(-temp, 0, None)),
            c.capacity_floor,
        ),
        self_discharge=of_leak * c.self_discharge * c.q10 ** ((temp - c.reference) / 10),
        taper_h=taper_h,
        taper=1 - np.exp(-1 / taper_h),
        gassing=gassing,
    )


def open_circuit(soc, c):
    """Open-circuit voltage [V] at states of charge [-]: V_0 + sum of slope changes times max(s, knot).

    Parameters
    ----------
    soc : float array [members]
    c : darkspell.chemistry.numbers.ChemistryNumbers

    Returns
    -------
    float array [members]
    """
    return c.ocv_0 + np.maximum(soc[:, None], np.array((0.0, *c.ocv_knot))) @ np.array(c.ocv_slope)


def undeliverable_charge(current, deliverable_fraction, c):
    """Charge [-] that cannot leave at a discharge current: 1 - d min(p (I / I_20)^(1 - k), 1).

    Parameters
    ----------
    current, deliverable_fraction : float arrays [members]
        [1/h] and [-].
    c : darkspell.chemistry.numbers.ChemistryNumbers

    Returns
    -------
    float array [members]
    """
    rate = np.maximum(current / c.peukert_rate, 0.05)
    return 1 - deliverable_fraction * np.minimum(c.peukert_share * power(rate, -c.peukert_power), 1)


def charge_efficiency(soc, charge, gassing, c):
    """Share of a charge current that is stored: e_low - g max(s - s_knee, 0)^2 (f_0 + f_1 I).

    Parameters
    ----------
    soc, charge, gassing : float arrays [members]
        [-], [1/h] and [-].
    c : darkspell.chemistry.numbers.ChemistryNumbers

    Returns
    -------
    float array [members]
    """
    excess = np.clip(soc - c.efficiency_knee, 0, None)
    return c.efficiency_low - gassing * (c.efficiency_fall + c.efficiency_fall_rate * charge) * excess**2
