"""One hour of the bank: a branchless float32 function, scalars in and out.

The drivers call it inside loops over lanes, where the compiler turns it into vector code; a nested
conditional would silently stop that. Everything is per ampere-hour of present capacity: state of
charge [-], currents [1/h], powers [W/Ah], resistances [V h]. The hour runs thus:

1. open-circuit voltage, acceptance, and the charge that rate and cold withhold;
2. the power of array and other chargers at the bank's voltage, the loads that are never disconnected, and
   those that are connected;
3. what the bank cannot take serves disconnected loads before it is spilled: the terminal voltage then
   stands at the charger's set point, above any reconnection voltage;
4. the current that carries the rest, into the bank up to its acceptance or out of it down to its floor;
5. the charge after efficiency, standing draw and self-discharge.
"""

from typing import NamedTuple

import numpy as np
from numba import njit

ZERO, HALF, ONE, TWO, FOUR = (np.float32(x) for x in (0.0, 0.5, 1.0, 2.0, 4.0))
TINY = np.float32(1e-9)
LEAST_RATE = np.float32(0.05)  # of the 20 h current: keeps the power finite, far below the 100 h cap
# log2 on [1, 2) and 2**x on [0, 1): Chebyshev fits, together within 5e-6; libm's calls stay scalar.
L0, L1, L2 = np.float32(-2.7941537), np.float32(5.0697563), np.float32(-3.5202188)
L3, L4, L5 = np.float32(1.6101775), np.float32(-0.40947559), np.float32(0.043928628)
E0, E1, E2 = np.float32(1.0000036), np.float32(0.69296953), np.float32(0.24162132)
E3, E4 = np.float32(0.051717735), np.float32(0.013683983)
MANTISSA, UNIT_BITS = np.int32(0x7FFFFF), np.int32(0x3F800000)
SHIFT, BIAS = np.int32(23), np.int32(127)

inlined = njit(nogil=True, error_model="numpy", forceinline=True)


@inlined
def power(x, exponent):
    """``x ** exponent`` for positive normal float32, relative error below 1e-5, in vector code."""
    bits = np.float32(x).view(np.int32)
    octave = np.float32((bits >> SHIFT) - BIAS)
    mantissa_bits = np.int32((bits & MANTISSA) | UNIT_BITS)
    m = np.int32(mantissa_bits).view(np.float32)
    y = exponent * (octave + (L0 + m * (L1 + m * (L2 + m * (L3 + m * (L4 + m * L5))))))
    whole = np.floor(y)
    f = y - whole
    scale_bits = np.int32((np.int32(whole) + BIAS) << SHIFT)
    return (E0 + f * (E1 + f * (E2 + f * (E3 + f * E4)))) * np.int32(scale_bits).view(np.float32)


@inlined
def open_circuit(soc, c):
    """Open-circuit voltage [V] at a state of charge [-]."""
    k, m = c.ocv_knot, c.ocv_slope
    return (
        c.ocv_0
        + m[0] * max(soc - k[0], ZERO)
        + m[1] * max(soc - k[1], ZERO)
        + m[2] * max(soc - k[2], ZERO)
        + m[3] * max(soc - k[3], ZERO)
        + m[4] * max(soc - k[4], ZERO)
        + m[5] * max(soc - k[5], ZERO)
        + m[6] * max(soc - k[6], ZERO)
        + m[7] * max(soc - k[7], ZERO)
    )


@inlined
def temperature_terms(temp, c):
    """What an hour's bank temperature [degC] changes, the same for every design.

    Returns
    -------
    setpoint : float32
        Charging voltage [V].
    resistance : float32
        [V h].
    accept_max : float32
        Greatest charge current [1/h].
    letting : float32
        Share of the capacity that the cold lets out [-].
    leak : float32
        Self-discharge [1/h].
    """
    below = max(c.reference - temp, ZERO)
    setpoint = c.setpoint + c.setpoint_per_k * (min(max(temp, c.clip_low), c.clip_high) - c.reference)
    resistance = c.resistance * (ONE + below * (c.resistance_per_k + below * c.resistance_per_k2))
    accept_max = c.accept_max * min(max((temp - c.cold_zero) * c.cold_slope, ZERO), ONE)
    loss = below * c.capacity_per_k + max(-temp, ZERO) * c.capacity_per_k_below_0
    letting = max(ONE - loss, c.capacity_floor)
    leak = c.self_discharge * power(c.q10, (temp - c.reference) * np.float32(0.1))
    return setpoint, resistance, accept_max, letting, leak


@inlined
def withheld(soc_current, letting, c):
    """Charge [-] that cannot leave at this discharge current [1/h] and cold; Peukert, capped at 100 h."""
    rate = max(soc_current / c.peukert_rate, LEAST_RATE)
    return ONE - letting * min(c.peukert_share * power(rate, -c.peukert_power), ONE)


@inlined
def charge_efficiency(soc, c):
    """Share of the charge current that is stored [-]: falls towards full, where the rest makes gas."""
    excess = max(soc - c.efficiency_knee, ZERO)
    return c.efficiency_low - c.efficiency_fall * excess * excess


class Controls(NamedTuple):
    """Thresholds by which the system is switched; every field a float32.

    Attributes
    ----------
    shed, resume : state of charge below which deferrable loads are shed, and above which they resume [-]
    """

    shed: np.float32
    resume: np.float32


@inlined
def step(state, hour, terms, controls, c):
    """Advance the bank by an hour.

    Parameters
    ----------
    state : tuple of float32
        ``(soc, on, shed_free)`` at the beginning: state of charge [-]; 1 while the loads, and among them
        the deferrable ones, may draw from the bank, else 0.
    hour : tuple of float32
        ``(mpp, source, aux, essential, deferrable, always, peak, standing, cable)``: array power at its
        maximum after the controller [W/Ah]; the greatest current from it [1/h], the array's own at bank
        voltage (PWM) or the controller's limit (MPPT); power of all other chargers at the bank's terminals
        [W/Ah]; mean load of either tier, and of what is never disconnected; greatest load within the hour,
        all included; draw that nothing disconnects [W/Ah]; resistance between bank and loads [V h].
    terms : tuple of float32
        From `temperature_terms`.
    controls : Controls
    c : ChemistryNumbers

    Returns
    -------
    state : tuple of float32
        At the end.
    current, voltage, offer, accept : float32
        Mean terminal current (positive: charging), mean terminal voltage, the current that the chargers
        could push in after the loads, and the current accepted at the set point [1/h, V, 1/h, 1/h].
    unserved_essential, unserved_deferrable, spilled, used, aux_used : float32
        Energy of the hour [Wh/Ah]; ``used + spilled`` is what the array offered. What the bank cannot
        take is held back from the other chargers first. Loads never disconnected count as essential.
    """
    soc, on, shed_free = state
    mpp, source, aux, essential, deferrable, always, peak, standing, cable = hour
    setpoint, resistance, accept_max, letting, leak = terms
    ocv = open_circuit(soc, c)
    accept = max(min(accept_max, c.accept_taper * (ONE - soc)), ZERO)
    rise = max(setpoint - ocv, ZERO)
    accept_power = accept * (ocv + rise)

    asked = essential + deferrable
    guess = max(source + (aux - asked - always) / ocv, ZERO)
    bus = ocv + rise * min(guess / max(accept, TINY), ONE)
    array = min(mpp, source * bus)
    offered = array + aux
    kept = max(always - offered, ZERO)  # what is never disconnected draws this from the bank
    rest = offered - (always - kept)

    draw = max(peak - offered, ZERO)
    floor = max(c.floor, withheld(max(asked - rest, ZERO) / ocv, letting, c))
    sag = ocv - (resistance + cable) * draw / c.cut_off
    free = (on > ZERO) | (soc >= c.reconnect)
    free &= (sag >= c.cut_off) & (soc >= floor)
    on = ONE if free else ZERO
    shed_free = ZERO if soc < controls.shed else (ONE if soc > controls.resume else shed_free)

    deferrable_on = on * shed_free * deferrable
    wanted = on * essential + deferrable_on
    extra = min(max(rest - wanted - accept_power, ZERO), asked - wanted)
    extra_essential = min(extra, essential - on * essential)
    served_essential = on * essential + extra_essential
    served_deferrable = deferrable_on + (extra - extra_essential)
    net = rest - wanted - extra

    slope = rise / max(accept, TINY) if net > ZERO else resistance
    root = ocv * ocv + FOUR * slope * net
    amps = TWO * abs(net) / (ocv + np.sqrt(max(root, ZERO)))
    full_offer = (net >= accept_power) & (net > ZERO)
    charge = min(amps, accept) if net > ZERO else ZERO
    left_over = net - accept_power if full_offer else ZERO
    aux_left = min(left_over, aux)
    spilled = left_over - aux_left
    voltage_in = ocv + rise if full_offer else ocv + rise * min(charge / max(accept, TINY), ONE)

    available = max(soc - floor, ZERO)
    asked_out = amps if net < ZERO else ZERO
    ran_out = (asked_out > available) | (root < ZERO)
    discharge = min(asked_out, available)
    voltage_out = ocv - resistance * discharge
    short = max(-net - discharge * voltage_out, ZERO) if ran_out else ZERO
    short_deferrable = min(short, served_deferrable)
    idle_asked = (standing + kept) / ocv
    idle = min(idle_asked, soc - discharge)
    short_always = min((idle_asked - idle) * ocv, kept)
    unserved_essential = max(essential - served_essential, ZERO) + (short - short_deferrable) + short_always
    unserved_deferrable = max(deferrable - served_deferrable, ZERO) + short_deferrable
    on = ZERO if ran_out else on

    started = charge_efficiency(soc, c)
    efficiency = charge_efficiency(soc + HALF * started * charge, c)  # half way through the hour
    left = soc + efficiency * charge - discharge - idle
    soc = min(max(left - leak * left, ZERO), ONE)
    voltage = voltage_in if net > ZERO else voltage_out
    offer = max(net, ZERO) / (ocv + rise)
    current = charge - discharge - idle
    used = array - spilled
    return (
        (soc, on, shed_free), current, voltage, offer, accept,
        unserved_essential, unserved_deferrable, spilled, used, aux - aux_left,
    )  # fmt: skip
