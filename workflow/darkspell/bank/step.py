"""One hour of the bank: a branchless float32 function, scalars in and out.

The drivers call it inside loops over lanes, where the compiler turns it into vector code; a nested
conditional would silently stop that. Everything is per ampere-hour of present capacity: state of
charge [-], currents [1/h], powers [W/Ah], resistances [V h]. The hour runs thus:

1. open-circuit voltage, acceptance, and the charge that rate and cold withhold;
2. the power of array, other chargers and generator at the bank's voltage, the loads that are never
   disconnected, and those that are connected;
3. what the bank cannot take serves disconnected loads before it is spilled: the terminal voltage then
   stands at the charger's set point, above any reconnection voltage;
4. the current that carries the rest, into the bank up to its acceptance or out of it down to its floor;
5. the charge after efficiency, standing draw and self-discharge.

In an hour without any charging, which is the same hour for all lanes, the drivers pass no `sun`: the
compiler then leaves out what would come to nothing, and the bits are the same. Nor do they ask for flags and
shortfalls in an hour in which no lane can run short (`safe`).
"""

from typing import NamedTuple

import numpy as np

from darkspell.bank.optional_features import Extras, absorbed_hours, float_terms, generator_state, reconnected
from darkspell.core.fast_math import hinges, rate_share, two_to
from darkspell.core.jit import fma, inlined, shared_inlined

ZERO, HALF, ONE, TWO, FOUR = (np.float32(x) for x in (0.0, 0.5, 1.0, 2.0, 4.0))
TINY = np.float32(1e-9)
LEAST_RATE = np.float32(0.05)  # of the 20 h current: keeps the logarithm bounded, far below the 100 h cap
MARGIN = np.float32(0.002)  # of charge [-] and of voltage [V], far beyond what rounding can do


@shared_inlined
def open_circuit(soc, c):
    """Open-circuit voltage [V] at a state of charge [-]."""
    return hinges(soc, c.ocv_0, c.ocv_knot, c.ocv_slope)


@shared_inlined
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
    leak = c.self_discharge * two_to((temp - c.reference) * c.leak_octaves)
    return setpoint, resistance, accept_max, letting, leak


@inlined
def withheld(soc_current, letting, c):
    """Charge [-] that cannot leave at this discharge current [1/h] and cold; Peukert, capped at 100 h."""
    rate = max(soc_current * c.per_peukert_rate, LEAST_RATE)
    return fma(-letting, min(c.peukert_share * rate_share(rate, c.peukert_power), ONE), ONE)


@inlined
def charge_efficiency(soc, charge, c):
    """Share of a charge current [1/h] that is stored [-]: falls towards full, where the rest makes gas."""
    excess = max(soc - c.efficiency_knee, ZERO)
    return fma(-(excess * excess), fma(c.efficiency_fall_rate, charge, c.efficiency_fall), c.efficiency_low)


class Controls(NamedTuple):
    """Thresholds by which the system is switched; every field a float32.

    Attributes
    ----------
    shed, resume : state of charge below which deferrable loads are shed, and above which they resume [-]
    extras : `darkspell.bank.optional_features.Extras`, or None
    """

    shed: np.float32
    resume: np.float32
    extras: Extras | None = None


FULL_STATE = (ONE, ONE, ONE, ZERO, ZERO)


@inlined
def cell(soc, absorbed, terms, extras, c):
    """First part of the hour, what the charge alone settles.

    Returns
    -------
    ocv, inverse, hold, accept, slope_in : float32
        Open-circuit voltage [V] and its inverse, the voltage at which the bank is charged with all that it
        accepts [V], that current [1/h], and the rise of the voltage with the charge current [V h]. The voltage
        is the chargers' set point where what is missing limits the current, or a lock-out takes none at all;
        less where the bank's greatest current does.
    """
    setpoint, _, accept_max, _, _ = terms
    accept_share, drop = float_terms(extras, absorbed)
    ocv = open_circuit(soc, c)
    set_at = max(setpoint - drop, ocv)
    missing = c.accept_taper * (ONE - soc) if accept_max > ZERO else ZERO
    accept = min(accept_max, missing) * accept_share
    slope_in = (set_at - ocv) / max(missing * accept_share, TINY)
    hold = fma(accept, slope_in, ocv) if accept_max < missing else set_at
    return ocv, ONE / ocv, hold, accept, slope_in


@inlined
def supply(state, parts, sun, loads, extras):
    """Second part: what array, other chargers and generator offer, and what is never disconnected takes.

    Returns
    -------
    array, engine, running : float32
        Power of the array and of the generator [W/Ah], and whether the latter runs.
    offered, rest, kept : float32
        All power on offer, what is left for the loads that can be disconnected, and what those that cannot
        draw from the bank [W/Ah].
    """
    soc, on, running = state
    ocv, inverse, hold, _, slope_in = parts
    essential, deferrable, always, _, _, _, _ = loads
    mpp, source, other, engine = sun
    running = generator_state(extras, soc, on, running)
    engine = engine * running
    guess = max(fma(other + engine - (essential + deferrable + always), inverse, source), ZERO)
    array = min(mpp, source * (ocv + min(guess * slope_in, hold - ocv)))
    offered = array + other + engine
    return array, engine, running, offered, max(offered - always, ZERO), always - min(offered, always)


@inlined
def switch(state, parts, given, loads, terms, controls, c):
    """Third part: which loads are connected, and what the bank has to take or give for them.

    `given` is (offered, rest) of `supply`, or None in an hour without any charging.

    Returns
    -------
    free, shed_free : float32
        1 if the loads, and the deferrable ones among them, are connected.
    floor : float32
        State of charge below which nothing is let out at this rate and cold [-].
    net, unserved_essential, unserved_deferrable : float32
        Power into the bank, and what is left unserved beside it [W/Ah].
    """
    soc, on, shed_free = state
    ocv, inverse, hold, accept, slope_in = parts
    essential, deferrable, _, _, peak, _, cable = loads
    _, resistance, _, letting, _ = terms
    asked = essential + deferrable
    if given is None:
        offered, rest, voltage = ZERO, ZERO, ocv
    else:
        offered, rest = given
        voltage = ocv + min(offered * inverse * slope_in, hold - ocv)
    floor = max(c.floor, withheld(max(asked - rest, ZERO) * inverse, letting, c))
    sag = max(peak - offered, ZERO) * ((resistance + cable) * c.per_cut_off)
    free = reconnected(controls.extras, on, soc, c.reconnect, voltage)
    free &= (ocv - c.cut_off >= sag) & (soc >= floor)
    shed_free = ONE if soc > controls.resume else (shed_free if soc >= controls.shed else ZERO)
    essential_on = essential if free else ZERO
    deferrable_on = shed_free * deferrable if free else ZERO
    wanted = essential_on + deferrable_on
    unserved_essential = essential - essential_on
    unserved_deferrable = deferrable - deferrable_on
    if given is None:
        net = -wanted
    else:
        excess = rest - wanted
        extra = min(max(excess - accept * hold, ZERO), asked - wanted)
        extra_essential = min(extra, unserved_essential)
        unserved_essential -= extra_essential
        unserved_deferrable = max(unserved_deferrable - (extra - extra_essential), ZERO)
        net = excess - extra
    return (ONE if free else ZERO), shed_free, floor, net, unserved_essential, unserved_deferrable


@inlined
def carry(soc, absorbed, parts, kept, switched, loads, terms, dark, calm, extras, c):
    """Last part: the current, and the charge at the end.

    `dark` is None unless something may charge, and `calm` is None unless nothing can run short
    (`safe`): the compiler then leaves out what would come to nothing.

    Returns
    -------
    soc, on, absorbed : float32
    current, voltage, offer, left_over : float32
        The last is the power that neither loads nor bank take [W/Ah].
    unserved_essential, unserved_deferrable : float32
    """
    ocv, inverse, hold, accept, slope_in = parts
    free, floor, net, unserved_essential, unserved_deferrable = switched
    _, deferrable, _, heat, _, standing, _ = loads
    _, resistance, accept_max, _, leak = terms
    if dark is None:
        slope, charging, full_offer, left_over = resistance, False, False, ZERO
    else:
        accept_power = accept * hold
        charging = net > ZERO
        full_offer = charging & (net >= accept_power)
        slope = slope_in if charging else resistance
        left_over = net - accept_power if full_offer else ZERO
    root = fma(FOUR * net, slope, ocv * ocv)
    amps = (net + net) / (ocv + np.sqrt(max(root, ZERO)))
    discharge = max(-amps, ZERO)
    idle = (standing + kept) * inverse
    on = free
    if calm is None:
        available = max(soc - floor, ZERO)
        ran_out = (discharge > available) | (root < ZERO)
        discharge = min(discharge, available)
        short = max(fma(-discharge, fma(-resistance, discharge, ocv), -net), ZERO) if ran_out else ZERO
        short_deferrable = min(short, deferrable - unserved_deferrable)
        idle_asked = idle
        idle = min(idle_asked, soc - discharge)
        short_always = min((idle_asked - idle) * ocv, max(kept - heat, ZERO))
        unserved_essential += (short - short_deferrable) + short_always
        unserved_deferrable += short_deferrable
        on = ZERO if ran_out else free
    voltage_out = fma(-resistance, discharge, ocv)
    left = (soc - discharge) - idle
    current, voltage = -discharge - idle, voltage_out
    if dark is not None:
        charge = min(max(amps, ZERO), accept)
        half_way = fma(HALF, charge, soc)
        left = fma(charge_efficiency(half_way, charge, c), charge, left)
        current = charge - discharge - idle
        voltage_in = hold if full_offer else ocv + min(charge * slope_in, hold - ocv)
        voltage = voltage_in if charging else voltage_out
    absorbed = absorbed_hours(extras, absorbed, full_offer & (accept < accept_max), charging)
    soc = min(max(fma(-leak, left, left), ZERO), ONE)
    offer = max(net, ZERO) / hold
    return soc, on, absorbed, current, voltage, offer, left_over, unserved_essential, unserved_deferrable


@inlined
def safe(soc, heaviest, least, c):
    """Whether from this state of charge on nothing can run short or be disconnected in any hour of a year.

    All that decides it rises with the state of charge, so what is safe at one is safe above it.

    Parameters
    ----------
    soc : float32
    heaviest : tuple of float32
        The year's greatest essential and deferrable load together, its greatest load within an hour, the
        greatest draw that nothing disconnects [W/Ah], the resistances of bank, at its coldest, and cable [V h].
    least : tuple of float32
        Least share that the cold lets out, and state of charge that sheds deferrable loads [-].
    c : ChemistryNumbers

    Returns
    -------
    bool
        With a margin beyond what rounding can do.
    """
    load, peak, always, resistance, cable = heaviest
    letting, shed = least
    ocv = open_circuit(soc, c)
    root = max(ocv * ocv - FOUR * load * resistance, ZERO)
    amps = (load + load) / (ocv + np.sqrt(root))
    floor = max(c.floor, withheld(load / ocv, letting, c))
    sag = peak * (resistance + cable) * c.per_cut_off
    enough = soc >= max(shed, floor + amps + always / ocv + MARGIN)
    return enough & (root > ZERO) & (ocv - c.cut_off >= sag + MARGIN)


@inlined
def taken(array, other, engine, left_over):
    """What spills, and what array, other chargers and generator give: the generator is held back first."""
    engine_left = min(left_over, engine)
    other_left = min(left_over - engine_left, other)
    spilled = (left_over - engine_left) - other_left
    return spilled, array - spilled, other - other_left, engine - engine_left


@shared_inlined
def step(state, sun, loads, terms, controls, c):
    """Advance the bank by an hour.

    Parameters
    ----------
    state : tuple of float32
        ``(soc, on, shed_free, running, absorbed)`` at the beginning: state of charge [-]; 1 while the
        loads, among them the deferrable ones, may draw from the bank, and while the generator runs, else
        0; hours at the set point [h].
    sun : tuple of float32, or None in an hour without any charging
        ``(mpp, source, aux, engine)``: array power at its maximum after the controller [W/Ah]; the greatest
        current from it [1/h], the array's own at bank voltage (PWM) or the controller's limit (MPPT); power
        of all other chargers at the bank's terminals, and of the generator if it runs [W/Ah].
    loads : tuple of float32
        ``(essential, deferrable, always, heat, peak, standing, cable)``: mean load of either tier, and of
        what is never disconnected, of which `heat` serves the bank's heater and no one else; greatest load
        within the hour, all included; draw that nothing disconnects [W/Ah]; resistance between bank and
        loads [V h].
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
    unserved_essential, unserved_deferrable, spilled, used, aux_used, engine_used : float32
        Energy of the hour [Wh/Ah]; ``used + spilled`` is what the array offered. What the bank cannot
        take is held back from the generator first, then from the other chargers. Loads never disconnected
        count as essential, the heater does not.
    """
    soc, on, shed_free, running, absorbed = state
    extras = controls.extras
    parts = cell(soc, absorbed, terms, extras, c)
    array, other, engine = ZERO, ZERO, ZERO
    if sun is None:
        kept, given = loads[2], None
    else:
        other = sun[2]
        array, engine, running, offered, rest, kept = supply((soc, on, running), parts, sun, loads, extras)
        given = offered, rest
    free, shed_free, floor, net, missed_essential, missed_deferrable = switch(
        (soc, on, shed_free), parts, given, loads, terms, controls, c
    )
    switched = free, floor, net, missed_essential, missed_deferrable
    soc, on, absorbed, current, voltage, offer, left_over, unserved_essential, unserved_deferrable = carry(
        soc, absorbed, parts, kept, switched, loads, terms, given, None, extras, c
    )
    return (
        (soc, on, shed_free, running, absorbed), current, voltage, offer, parts[3],
        unserved_essential, unserved_deferrable, *taken(array, other, engine, left_over),
    )  # fmt: skip
