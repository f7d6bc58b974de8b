"""One hour of the bank: a branchless float32 function, scalars in and out.

The drivers call it inside loops over lanes, where the compiler turns it into vector code; a nested conditional would
silently stop that. All values are per ampere-hour of present capacity: state of charge s [-], currents [1/h], powers
[W/Ah], resistances [V h]. The same hour in plain NumPy, with the equations written out, is
`darkspell.bank.reference`; tests hold the two together.

What passes between the parts is named in `darkspell.bank.step_values`; the laws of the cell are
`darkspell.bank.cell_laws`. The parts of an hour, in order:

1. `cell_state`: open-circuit voltage, the charge current that the bank accepts, and the charging voltage.
2. `offered_power`: power of array, chargers and generator at the bank's voltage, less loads that are never
   disconnected.
3. `connect_loads`: which loads are connected. Power that the bank cannot accept serves disconnected loads before it
   is curtailed: the terminal voltage is then the charging voltage, above any reconnection voltage.
4. `exchange_charge`: the current that carries the rest, into the bank up to its acceptance or out of it down to its
   floor, and the charge after efficiency, self-consumption and self-discharge.

In an hour without any charging, which is the same hour for all lanes, the drivers pass no sources: the compiler then
leaves out what would be zero, and the bits are the same. Nor do they ask for flags and shortfalls in an hour in which
no lane can run short (`above_shortfall`).
"""

import numpy as np

from darkspell.bank.cell_laws import charge_efficiency, open_circuit, undeliverable_charge
from darkspell.bank.optional_features import (
    DEPTH_LIMIT,
    EMPTY,
    RECONNECTION,
    SERVED,
    VOLTAGE,
    absorbed_hours,
    float_terms,
    generator_state,
    reconnected,
)
from darkspell.bank.part_cutoff import part_loads, with_dropped
from darkspell.bank.step_values import CellState, Dispatch, Exchange, Offer, State
from darkspell.core.jit import fma, inlined, shared_inlined

ZERO, HALF, ONE, TWO, FOUR = (np.float32(x) for x in (0.0, 0.5, 1.0, 2.0, 4.0))
TINY = np.float32(1e-9)
MARGIN = np.float32(0.002)  # of charge [-] and of voltage [V], far beyond what rounding can do


@inlined
def cell_state(soc, absorbed, terms, extras, c):
    """First part of the hour: what the state of charge alone settles.

    The accepted current falls with the missing charge (the form of Mas' law), as a mean over the hour:
    I = min(I_max, (1 - exp(-1 / tau)) (1 - s)). The voltage rises with the charge current in a straight line that
    meets the set point at the current accepted at once, (1 - s) / tau; with all that it accepts on offer the bank is
    at the set point.

    Parameters
    ----------
    soc, absorbed : float32
        As in `State`.
    terms : TemperatureTerms
    extras : darkspell.bank.optional_features.Extras or None
    c : darkspell.chemistry.numbers.ChemistryNumbers

    Returns
    -------
    CellState
    """
    setpoint, _, accept_max, _, _, taper_h, taper, _ = terms
    accept_share, drop = float_terms(extras, absorbed)
    ocv = open_circuit(soc, c)
    set_at = max(setpoint - drop, ocv)
    gap = ONE - soc if accept_max > ZERO else ZERO
    missing = taper * gap
    accept = min(accept_max, missing) * accept_share
    slope_in = (set_at - ocv) * taper_h / max(gap * accept_share, TINY)
    charging_voltage = fma(accept, slope_in, ocv) if accept_max < missing else set_at
    return CellState(ocv, ONE / ocv, charging_voltage, accept, slope_in)


@inlined
def offered_power(state, cell, sources, loads, extras):
    """Second part: what array, chargers and generator offer, and what uninterruptible loads take of it.

    The array is held at the bank's voltage times its greatest current; the voltage follows from the current after all
    loads, in one step: V = V_oc + min(I slope, V_charge - V_oc).

    Parameters
    ----------
    state : tuple of float32
        ``(soc, connected, generator_on)`` of `State`.
    cell : CellState
    sources : Sources
    loads : Loads
    extras : darkspell.bank.optional_features.Extras or None

    Returns
    -------
    Offer
    """
    soc, connected, generator_on = state
    ocv, per_ocv, charging_voltage, _, slope_in = cell
    essential, deferrable, uninterruptible, _, _, _, _ = loads
    mpp, max_current, chargers, generator = sources
    generator_on = generator_state(extras, soc, connected, generator_on)
    generator = generator * generator_on
    guess = max(
        fma(chargers + generator - (essential + deferrable + uninterruptible), per_ocv, max_current), ZERO
    )
    array = min(mpp, max_current * (ocv + min(guess * slope_in, charging_voltage - ocv)))
    total = array + chargers + generator
    spare, from_bank = max(total - uninterruptible, ZERO), uninterruptible - min(total, uninterruptible)
    return Offer(array, generator, generator_on, total, spare, from_bank)


@inlined
def connect_loads(state, cell, offered, loads, terms, controls, c):
    """Third part: which loads are connected, and what the bank has to accept or give for them.

    Loads stay connected while the greatest load leaves the terminals above the cut-off,
    V_oc - (R + R_cable) max(P_peak - P_offered, 0) / V_cut >= V_cut, and the charge is at or above its floor; they
    are connected again at the reconnection level. Power that the bank cannot accept serves disconnected loads.

    Parameters
    ----------
    state : tuple of float32
        ``(soc, connected, deferrable_on)`` of `State`.
    cell : CellState
    offered : tuple of float32, or None in an hour without any charging
        ``(total, spare)`` of `Offer`.
    loads : Loads
    terms : TemperatureTerms
    controls : Controls
    c : darkspell.chemistry.numbers.ChemistryNumbers

    Returns
    -------
    Dispatch
    """
    soc, connected, deferrable_on = state
    ocv, per_ocv, charging_voltage, accept, slope_in = cell
    essential, deferrable, _, _, peak, _, cable = loads
    _, resistance, _, deliverable_fraction, _, _, _, _ = terms
    asked = essential + deferrable
    if offered is None:
        total, spare, voltage = ZERO, ZERO, ocv
    else:
        total, spare = offered
        voltage = ocv + min(total * per_ocv * slope_in, charging_voltage - ocv)
    floor = max(c.floor, undeliverable_charge(max(asked - spare, ZERO) * per_ocv, deliverable_fraction, c))
    sag = max(peak - total, ZERO) * ((resistance + cable) * c.per_cut_off)
    free = reconnected(controls.extras, connected, soc, c.reconnect, voltage)
    holds, charged = ocv - c.cut_off >= sag, soc >= floor
    cause = VOLTAGE if not holds else (SERVED if free else RECONNECTION)
    cause = cause if charged else (DEPTH_LIMIT if floor <= c.floor else EMPTY)
    free &= holds & charged
    deferrable_on = ONE if soc > controls.resume else (deferrable_on if soc >= controls.shed else ZERO)
    essential_served = essential if free else ZERO
    deferrable_served = deferrable_on * deferrable if free else ZERO
    wanted = essential_served + deferrable_served
    unserved_essential = essential - essential_served
    unserved_deferrable = deferrable - deferrable_served
    if offered is None:
        net = -wanted
    else:
        excess = spare - wanted
        extra = min(max(excess - accept * charging_voltage, ZERO), asked - wanted)
        extra_essential = min(extra, unserved_essential)
        unserved_essential -= extra_essential
        unserved_deferrable = max(unserved_deferrable - (extra - extra_essential), ZERO)
        net = excess - extra
    return Dispatch(
        ONE if free else ZERO, deferrable_on, floor, net, unserved_essential, unserved_deferrable, cause
    )  # fmt: skip


@inlined
def exchange_charge(
    state, cell, from_bank, dispatch, loads, terms, no_charging, no_shortfall, extras, c,
):  # fmt: skip
    """Last part: the current, and the charge at the end.

    The power P into the bank meets its voltage: P = I (V_oc + I R), with the charging slope for R where P > 0:
    I = 2 P / (V_oc + sqrt(V_oc^2 + 4 P R)). In discharge R includes the cable to the loads. Where that current
    exceeds the mean acceptance the bank reaches its set point within the hour: V = P / I. Discharge ends at the
    floor; self-consumption and uninterruptible loads go on to an empty bank. The charge ends as
    s - I_out - I_idle + e(s + I_in / 2) I_in, less self-discharge.

    Parameters
    ----------
    state : tuple of float32
        ``(soc, absorbed)`` of `State`.
    cell : CellState
    from_bank : float32
        As in `Offer`.
    dispatch : tuple of float32
        ``(connected, floor, net, unserved_essential, unserved_deferrable, cause)`` of `Dispatch`.
    loads : Loads
    terms : TemperatureTerms
    no_charging : anything or None
        None in an hour without any charging.
    no_shortfall : anything or None
        None unless no lane can run short (`above_shortfall`); the compiler then leaves out what would be zero.
    extras : darkspell.bank.optional_features.Extras or None
    c : darkspell.chemistry.numbers.ChemistryNumbers

    Returns
    -------
    Exchange
    """
    soc, absorbed = state
    ocv, per_ocv, charging_voltage, accept, slope_in = cell
    free, floor, net, unserved_essential, unserved_deferrable, cause = dispatch
    _, deferrable, _, heater, _, self_consumption, cable = loads
    _, resistance, accept_max, _, self_discharge, _, _, gassing = terms
    out = resistance + cable
    if no_charging is None:
        slope, charging, full_offer, left_over = out, False, False, ZERO
    else:
        accept_power = accept * charging_voltage
        charging = net > ZERO
        full_offer = charging & (net >= accept_power)
        slope = slope_in if charging else out
        left_over = net - accept_power if full_offer else ZERO
    root = fma(FOUR * net, slope, ocv * ocv)
    amps = (net + net) / (ocv + np.sqrt(max(root, ZERO)))
    discharge = max(-amps, ZERO)
    idle = (self_consumption + from_bank) * per_ocv
    connected = free
    if no_shortfall is None:
        available = max(soc - floor, ZERO)
        ran_out = (discharge > available) | (root < ZERO)
        discharge = min(discharge, available)
        short = max(fma(-discharge, fma(-out, discharge, ocv), -net), ZERO) if ran_out else ZERO
        short_deferrable = min(short, deferrable - unserved_deferrable)
        idle_asked = idle
        idle = min(idle_asked, soc - discharge)
        short_uninterruptible = min((idle_asked - idle) * ocv, max(from_bank - heater, ZERO))
        unserved_essential += (short - short_deferrable) + short_uninterruptible
        unserved_deferrable += short_deferrable
        connected = ZERO if ran_out else free
        ended = ran_out | (short_uninterruptible > ZERO)
        cause = (DEPTH_LIMIT if floor <= c.floor else EMPTY) if ended & (cause == SERVED) else cause
    voltage_out = fma(-resistance, discharge, ocv)
    left = (soc - discharge) - idle
    current, voltage = -discharge - idle, voltage_out
    if no_charging is not None:
        charge = min(max(amps, ZERO), accept)
        half_way = fma(HALF, charge, soc)
        left = fma(charge_efficiency(half_way, charge, gassing, c), charge, left)
        current = charge - discharge - idle
        voltage_in = min(max(net / max(charge, TINY), ocv), charging_voltage)
        voltage = voltage_in if charging else voltage_out
    absorbed = absorbed_hours(extras, absorbed, full_offer & (accept < accept_max), charging)
    soc = min(max(fma(-self_discharge, left, left), ZERO), ONE)
    offer = max(net, ZERO) / charging_voltage
    return Exchange(
        soc, connected, absorbed, current, voltage, offer, left_over, unserved_essential, unserved_deferrable,
        cause,
    )  # fmt: skip


@inlined
def above_shortfall(soc, heaviest, least, c):
    """Whether from this state of charge on nothing can run short or be disconnected in any hour of a year.

    All that decides it rises with the state of charge: what is safe at one level is safe above it.

    Parameters
    ----------
    soc : float32
        State of charge [-].
    heaviest : tuple of float32
        The year's greatest essential and deferrable load together, its greatest load within an hour, the greatest
        draw that is never disconnected [W/Ah], the resistances of the bank at its coldest and of the cable [V h].
    least : tuple of float32
        Least deliverable fraction, and state of charge that sheds deferrable loads [-].
    c : darkspell.chemistry.numbers.ChemistryNumbers

    Returns
    -------
    bool
        With a margin beyond what rounding can do.
    """
    load, peak, uninterruptible, resistance, cable = heaviest
    deliverable_fraction, shed = least
    ocv = open_circuit(soc, c)
    root = max(ocv * ocv - FOUR * load * (resistance + cable), ZERO)
    amps = (load + load) / (ocv + np.sqrt(root))
    floor = max(c.floor, undeliverable_charge(load / ocv, deliverable_fraction, c))
    sag = peak * (resistance + cable) * c.per_cut_off
    enough = soc >= max(shed, floor + amps + uninterruptible / ocv + MARGIN)
    return enough & (root > ZERO) & (ocv - c.cut_off >= sag + MARGIN)


@inlined
def curtail(array, chargers, generator, left_over):
    """Share out the power that nobody takes: the generator is held back first, then chargers, then the array.

    Parameters
    ----------
    array, chargers, generator, left_over : float32
        Power on offer, and the part of it that neither loads nor bank take [W/Ah].

    Returns
    -------
    spilled, used, chargers_used, generator_used : float32
        Curtailed array energy, and the energy taken from array, chargers and generator [Wh/Ah].
    """
    generator_left = min(left_over, generator)
    chargers_left = min(left_over - generator_left, chargers)
    spilled = (left_over - generator_left) - chargers_left
    return spilled, array - spilled, chargers - chargers_left, generator - generator_left


@shared_inlined
def step(state, sources, loads, terms, controls, c, shares=None):
    """Advance the bank by an hour.

    Parameters
    ----------
    state : State
        At the beginning of the hour.
    sources : Sources, or None in an hour without any charging
    loads : Loads
    terms : TemperatureTerms
    controls : Controls
    c : darkspell.chemistry.numbers.ChemistryNumbers
    shares : tuple of float32, optional
        `darkspell.bank.part_cutoff.PartShares`, where the extras have a part that is switched off before the rest;
        with both parts followed by ``CriticalShares``.

    Returns
    -------
    state : State
        At the end of the hour.
    current, voltage, offer, accept : float32
        Mean terminal current (positive: charging), mean terminal voltage, the current that the chargers could push in
        after the loads, and the current accepted at the set point [1/h, V, 1/h, 1/h].
    unserved_essential, unserved_deferrable, spilled, used, chargers_used, generator_used : float32
        Energy of the hour [Wh/Ah]; ``used + spilled`` is what the array offered. Uninterruptible loads count as
        essential, the heater does not.
    cause : float32
        Why essential load is not served, if any is not: `EMPTY`, `DEPTH_LIMIT`, `VOLTAGE`, `RECONNECTION`, SHED.
    unserved_critical : float32
        [Wh/Ah]; 0 but with an inverter's own cut-off and critical loads.
    """
    soc, connected, deferrable_on, generator_on, absorbed, part_on = state
    extras = controls.extras
    cell = cell_state(soc, absorbed, terms, extras, c)
    array, chargers, generator, total = ZERO, ZERO, ZERO, ZERO
    if sources is None:
        from_bank, offered = loads[2], None
    else:
        chargers = sources[2]
        offer = offered_power((soc, connected, generator_on), cell, sources, loads, extras)
        array, generator, generator_on = offer.array, offer.generator, offer.generator_on
        from_bank, offered, total = offer.from_bank, (offer.total, offer.spare), offer.total
    part = soc, cell.ocv, part_on
    left, dropped, part_on = part_loads(extras, loads, shares, part, terms[1], total)
    sent = connect_loads((soc, connected, deferrable_on), cell, offered, left, terms, controls, c)
    dispatch = (
        sent.connected, sent.floor, sent.net, sent.unserved_essential, sent.unserved_deferrable, sent.cause,
    )  # fmt: skip
    end = exchange_charge((soc, absorbed), cell, from_bank, dispatch, left, terms, offered, None, extras, c)
    unserved = end.unserved_essential, end.unserved_deferrable
    essential, deferrable, cause, critical = with_dropped(extras, unserved, end.cause, dropped)
    return (
        State(end.soc, end.connected, sent.deferrable_on, generator_on, end.absorbed, part_on),
        end.current, end.voltage, end.offer, cell.accept,
        essential, deferrable, *curtail(array, chargers, generator, end.left_over), cause, critical,
    )  # fmt: skip
