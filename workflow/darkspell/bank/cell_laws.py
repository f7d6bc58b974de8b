"""What charge, current and temperature do to a bank: voltage, capacity, charge efficiency, terms of its temperature.

Compiled, in float32. The same laws in plain NumPy are `darkspell.bank.reference_laws`.
"""

import numpy as np

from darkspell.bank.step_values import TemperatureTerms
from darkspell.core.fast_math import hinges, rate_share, two_to
from darkspell.core.jit import fma, inlined, shared_inlined

ZERO, HALF, ONE = (np.float32(x) for x in (0.0, 0.5, 1.0))
LEAST_RATE = np.float32(0.05)  # of the 20 h current: keeps the logarithm bounded, far below the 100 h cap


@shared_inlined
def open_circuit(soc, c):
    """Open-circuit voltage at a state of charge.

    Parameters
    ----------
    soc : float32
        State of charge [-].
    c : darkspell.chemistry.numbers.ChemistryNumbers

    Returns
    -------
    float32
        [V], piecewise linear in the state of charge.
    """
    return hinges(soc, c.ocv_0, c.ocv_knot, c.ocv_slope)


@shared_inlined
def temperature_terms(temp, c):
    """What an hour's bank temperature changes in a bank as the table of its chemistry has it.

    Parameters
    ----------
    temp : float32
        Bank temperature [degC].
    c : darkspell.chemistry.numbers.ChemistryNumbers

    Returns
    -------
    TemperatureTerms
    """
    return drawn_terms(temp, (ONE, ONE, ONE, ONE), c)


@shared_inlined
def drawn_terms(temp, draw, c):
    """What an hour's bank temperature changes, the same for every design.

    With b = max(T_ref - T, 0):
    V_set = V_ref + k (clip(T, T_low, T_high) - T_ref); R = R_ref (1 + b (r1 + b r2));
    I_max = I_ref clip((T - T_0) / (T_1 - T_0), 0, 1), 0 above T_hot; d = max(1 - a1 b - a2 max(-T, 0), d_min);
    self-discharge = L_ref Q10^((T - T_ref) / 10); tau = tau_ref (1 + a b), taper = 1 - exp(-1 / tau): that a bank
    accepts less in the cold follows the charging resistance of Copetti, Lorenzo & Chenlo (1993), which grows by 2.5 %
    for each kelvin.

    Parameters
    ----------
    temp : float32
        Bank temperature T [degC].
    draw : tuple of float32
        Factors of this bank on the table's resistance, self-discharge, charge lost to gas, and capacity lost to the
        cold, see `darkspell.chemistry.bank_draws` [-].
    c : darkspell.chemistry.numbers.ChemistryNumbers

    Returns
    -------
    TemperatureTerms
    """
    of_resistance, of_leak, gassing, of_cold = draw
    below = max(c.reference - temp, ZERO)
    setpoint = c.setpoint + c.setpoint_per_k * (min(max(temp, c.clip_low), c.clip_high) - c.reference)
    resistance = of_resistance * (
        c.resistance * (ONE + below * (c.resistance_per_k + below * c.resistance_per_k2))
    )
    accept_max = c.accept_max * min(max((temp - c.cold_zero) * c.cold_slope, ZERO), ONE)
    accept_max = accept_max if temp <= c.hot_limit else ZERO
    loss = below * c.capacity_per_k + max(-temp, ZERO) * c.capacity_per_k_below_0
    deliverable_fraction = max(ONE - of_cold * loss, c.capacity_floor)
    self_discharge = of_leak * c.self_discharge * two_to((temp - c.reference) * c.leak_octaves)
    taper_h = c.taper_h * (ONE + below * c.taper_per_k)
    taper = ONE - two_to(c.taper_octaves / taper_h)
    return TemperatureTerms(
        setpoint, resistance, accept_max, deliverable_fraction, self_discharge, taper_h, taper, gassing
    )


@inlined
def undeliverable_charge(current, deliverable_fraction, c):
    """Charge that cannot leave the bank at a discharge current and temperature.

    1 - d min(p (I / I_20)^(1 - k), 1): Peukert's law with exponent k, capped at the capacity of the 100 h rate; p is
    the capacity at the 20 h rate over that, d the deliverable fraction.

    Parameters
    ----------
    current : float32
        Discharge current I [1/h].
    deliverable_fraction : float32
        [-], from `temperature_terms`.
    c : darkspell.chemistry.numbers.ChemistryNumbers

    Returns
    -------
    float32
        [-].
    """
    rate = max(current * c.per_peukert_rate, LEAST_RATE)
    return fma(-deliverable_fraction, min(c.peukert_share * rate_share(rate, c.peukert_power), ONE), ONE)


@inlined
def charge_efficiency(soc, charge, gassing, c):
    """Share of a charge current that is stored: falls towards full, where the rest makes gas.

    e_low - g max(s - s_knee, 0)^2 (f_0 + f_1 I); that the losses grow with the current follows Copetti, Lorenzo &
    Chenlo, Progress in Photovoltaics 1 (1993) 283-292.

    Parameters
    ----------
    soc, charge, gassing : float32
        State of charge s [-], charge current I [1/h] and factor g on the losses [-].
    c : darkspell.chemistry.numbers.ChemistryNumbers

    Returns
    -------
    float32
        [-].
    """
    excess = max(soc - c.efficiency_knee, ZERO)
    return fma(
        -(gassing * (excess * excess)),
        fma(c.efficiency_fall_rate, charge, c.efficiency_fall),
        c.efficiency_low,
    )
