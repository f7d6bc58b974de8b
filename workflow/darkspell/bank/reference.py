"""The bank's hour in plain NumPy over members: the equations that the compiled step is held to.

Follows `darkspell.bank.step` in meaning, in double precision where its inputs are, with masks and whole arrays. Per
ampere-hour of present capacity: s state of charge [-], I currents [1/h], P powers [W/Ah], R resistances [V h]. Tests
compare both ways of writing the hour, for all chemistries, with everything on; the benchmark measures how much faster
the compiled one is.

The laws of the cell and their sources are in `darkspell.bank.reference_laws`, loads that are switched off before the
rest in `darkspell.bank.reference_parts`. Sources of the equations here:

- Acceptance at the set point proportional to the missing charge: the form of Mas' law (1967; from memory).
- Voltage of a source behind a resistance: V = V_oc + I R, P = V I.
"""

import numpy as np

from darkspell.bank.optional_features import DEPTH_LIMIT, EMPTY, RECONNECTION, SERVED, SHED, VOLTAGE
from darkspell.bank.part_cutoff import PartShares
from darkspell.bank.reference_laws import (
    charge_efficiency,
    open_circuit,
    temperature_terms,
    undeliverable_charge,
)
from darkspell.bank.reference_parts import inverter_loads, shed_loads, shed_then_inverter
from darkspell.bank.step_values import Dispatch, Loads, Offer, Sources, State


def acceptance(state, terms, extras, c):
    """Current that the bank accepts and the voltage at which it does.

    I_accept = min(I_max, (1 - exp(-1 / tau)) (1 - s)), times the float share after the absorption time; the voltage
    reaches the set point where the missing charge limits the current, or where none is accepted.

    Parameters
    ----------
    state : darkspell.bank.step_values.State
        Arrays [members].
    terms : darkspell.bank.step_values.TemperatureTerms
        Arrays [members].
    extras : darkspell.bank.optional_features.Extras or None
    c : darkspell.chemistry.numbers.ChemistryNumbers

    Returns
    -------
    accept, charging_voltage, slope_in : float arrays [members]
        [1/h], [V] and [V h].
    """
    ocv = open_circuit(state.soc, c)
    share, set_at = 1.0, terms.setpoint
    if extras is not None:
        rested = state.absorbed >= extras.absorption
        share = np.where(rested, extras.float_share, 1.0)
        set_at = np.where(rested, set_at - extras.float_drop, set_at)
    gap = np.where(terms.accept_max > 0, 1 - state.soc, 0)
    missing = terms.taper * gap
    accept = np.clip(np.minimum(terms.accept_max, missing), 0, None) * share
    set_at = np.maximum(set_at, ocv)
    slope_in = (set_at - ocv) * terms.taper_h / np.maximum(gap * share, 1e-9)
    voltage = np.where(terms.accept_max < missing, ocv + accept * slope_in, set_at)
    return accept, voltage, slope_in


def offered_power(state, limits, sources, loads, extras, c):
    """Power of array, chargers and generator, and what uninterruptible loads take of it.

    P_array = min(P_mpp, I_source V), V = V_oc + min(I slope, V_charge - V_oc) at the current after all loads.

    Parameters
    ----------
    state : darkspell.bank.step_values.State
    limits : tuple of float arrays
        From `acceptance`.
    sources : darkspell.bank.step_values.Sources
    loads : darkspell.bank.step_values.Loads
    extras : darkspell.bank.optional_features.Extras or None
    c : darkspell.chemistry.numbers.ChemistryNumbers
        All with arrays [members].

    Returns
    -------
    darkspell.bank.step_values.Offer
    """
    _, voltage, slope_in = limits
    running, generator = state.generator_on, sources.generator
    if extras is not None:
        wanted = (state.soc <= extras.start) | (state.connected == 0)
        running = np.where(wanted, True, (running > 0) & (state.soc < extras.stop))
        generator = np.where(running, generator, 0)
    ocv = open_circuit(state.soc, c)
    other = sources.chargers + generator
    asked = loads.essential + loads.deferrable + loads.uninterruptible
    current = np.clip(sources.max_current + (other - asked) / ocv, 0, None)
    array = np.minimum(
        sources.mpp, sources.max_current * (ocv + np.minimum(current * slope_in, voltage - ocv))
    )
    total = array + other
    spare = np.clip(total - loads.uninterruptible, 0, None)
    return Offer(array, generator, running, total, spare, np.clip(loads.uninterruptible - total, 0, None))


def connect_loads(state, limits, offer, loads, terms, controls, c):
    """Which loads are connected, and what the bank has to accept or give.

    Loads are off below the floor max(depth limit, undeliverable charge), and where the greatest load pulls the
    terminals below the cut-off; power beyond the acceptance serves disconnected loads.

    Parameters
    ----------
    state, limits, offer, loads, terms, controls, c
        As above; arrays [members].

    Returns
    -------
    darkspell.bank.step_values.Dispatch
    """
    accept, charging_voltage, slope_in = limits
    ocv, asked, extras = open_circuit(state.soc, c), loads.essential + loads.deferrable, controls.extras
    current = np.clip(asked - offer.spare, 0, None) / ocv
    floor = np.maximum(c.floor, undeliverable_charge(current, terms.deliverable_fraction, c))
    sag = (terms.resistance + loads.cable) * np.clip(loads.peak - offer.total, 0, None) / c.cut_off
    back = state.soc >= c.reconnect
    if extras is not None:
        lifted = ocv + np.minimum(offer.total / ocv * slope_in, charging_voltage - ocv)
        back |= lifted >= extras.reconnect_voltage
    free, holds, charged = (state.connected > 0) | back, ocv - sag >= c.cut_off, state.soc >= floor
    on = free & holds & charged
    cause = np.where(~holds, VOLTAGE, np.where(free, SERVED, RECONNECTION))
    cause = np.where(charged, cause, np.where(floor <= c.floor, DEPTH_LIMIT, EMPTY))
    low, high = state.soc < controls.shed, state.soc > controls.resume
    deferrable_on = np.where(low, False, np.where(high, True, state.deferrable_on > 0))
    essential = np.where(on, loads.essential, 0)
    deferrable = np.where(on & deferrable_on, loads.deferrable, 0)
    extra = np.clip(offer.spare - essential - deferrable - accept * charging_voltage, 0, None)
    extra_essential = np.minimum(extra, loads.essential - essential)
    extra_deferrable = np.minimum(extra - extra_essential, loads.deferrable - deferrable)
    essential, deferrable = essential + extra_essential, deferrable + extra_deferrable
    net = offer.spare - essential - deferrable
    unserved = loads.essential - essential, loads.deferrable - deferrable
    return Dispatch(on, deferrable_on, floor, net, *(np.clip(part, 0, None) for part in unserved), cause)


def step(state, sources, loads, temp, controls, c, shares=None, draw=(1.0, 1.0, 1.0, 1.0)):
    """One hour of many members.

    Parameters
    ----------
    state, sources, loads : sequences of float arrays [members]
        Fields of `darkspell.bank.step_values.State`, `Sources` and `Loads`.
    temp : float array [members]
        Bank temperature [degC].
    controls : darkspell.bank.step_values.Controls
    c : darkspell.chemistry.numbers.ChemistryNumbers
    shares : sequence of float arrays [members], optional
        `darkspell.bank.part_cutoff.PartShares`, where the extras have a part that is switched off before the rest.
    draw
        As `temperature_terms` takes it.

    Returns
    -------
    tuple
        As `darkspell.bank.step.step` returns it, arrays [members].
    """
    state, sources, loads = State(*state), Sources(*sources), Loads(*loads)
    extras, terms = controls.extras, temperature_terms(temp, c, draw)
    limits = accept, charging_voltage, slope_in = acceptance(state, terms, extras, c)
    offer = offered_power(state, limits, sources, loads, extras, c)
    (dropped_essential, dropped_deferrable), part_on = (0.0, 0.0), state.part_on
    tag, off_critical, other = (
        SHED if extras is not None and extras.inverter_cut_off == 0 else VOLTAGE,
        0.0,
        0.0,
    )
    if shares is not None and extras.both is not None:
        loads, dropped, part_on = shed_then_inverter(loads, shares, state, offer, terms, extras, c)
        dropped_essential, dropped_deferrable, tag, off_critical, other = dropped
    elif shares is not None and tag == VOLTAGE:
        loads, (dropped_essential, dropped_deferrable) = inverter_loads(
            loads, PartShares(*shares), offer, open_circuit(state.soc, c), terms, extras.inverter_cut_off
        )
    elif shares is not None:
        loads, (dropped_essential, dropped_deferrable), part_on = shed_loads(
            loads, PartShares(*shares), state, extras
        )
    sent = connect_loads(state, limits, offer, loads, terms, controls, c)
    soc, ocv, net = state.soc, open_circuit(state.soc, c), sent.net

    # Current: the root of P = I (V_oc + I R).
    into = net > 0
    root = ocv**2 + 4 * np.where(into, slope_in, terms.resistance + loads.cable) * net
    amps = 2 * np.abs(net) / (ocv + np.sqrt(np.clip(root, 0, None)))
    full = into & (net >= accept * charging_voltage)
    charge = np.where(into, np.minimum(amps, accept), 0)
    left_over = np.where(full, net - accept * charging_voltage, 0)

    # Discharge down to the floor; what it cannot carry is taken from deferrable loads first.
    available, wanted = np.clip(soc - sent.floor, 0, None), np.where(into, 0, amps)
    ran_out = (wanted > available) | (root < 0)
    discharge = np.minimum(wanted, available)
    sagging = ocv - terms.resistance * discharge
    short = np.where(ran_out, np.clip(-net - discharge * (sagging - loads.cable * discharge), 0, None), 0)
    short_deferrable = np.minimum(short, loads.deferrable - sent.unserved_deferrable)
    asked_idle = (loads.self_consumption + offer.from_bank) / ocv
    idle = np.minimum(asked_idle, soc - discharge)
    short_idle = np.clip(np.minimum((asked_idle - idle) * ocv, offer.from_bank - loads.heater), 0, None)

    ended = (ran_out | (short_idle > 0)) & (sent.cause == SERVED)
    cause = np.where(ended, np.where(sent.floor <= c.floor, DEPTH_LIMIT, EMPTY), sent.cause)
    cause = np.where((dropped_essential > 0) & (cause == SERVED), tag, cause)

    missed = sent.unserved_essential + short - short_deferrable + short_idle
    critical = off_critical + np.clip(missed - other, 0, None) if extras is not None and extras.both else 0.0

    left = soc - discharge - idle + charge_efficiency(soc + 0.5 * charge, charge, terms.gassing, c) * charge
    absorbed = state.absorbed
    if extras is not None:
        absorbed = np.where(into, absorbed + (full & (accept < terms.accept_max)), 0)
    voltage_in = np.clip(net / np.maximum(charge, 1e-9), ocv, charging_voltage)
    generator_left = np.minimum(left_over, offer.generator)
    chargers_left = np.minimum(left_over - generator_left, sources.chargers)
    spilled = left_over - generator_left - chargers_left
    return (
        State(
            np.clip(left - terms.self_discharge * left, 0, 1), sent.connected & ~ran_out, sent.deferrable_on,
            offer.generator_on, absorbed, part_on,
        ),
        charge - discharge - idle,
        np.where(into, voltage_in, sagging),
        np.clip(net, 0, None) / charging_voltage,
        accept,
        missed + dropped_essential,
        sent.unserved_deferrable + short_deferrable + dropped_deferrable,
        spilled,
        offer.array - spilled,
        sources.chargers - chargers_left,
        offer.generator - generator_left,
        cause,
        critical,
    )  # fmt: skip


def run_members(traces, factors, controls, c, hours):
    """State of charge of all members over the first hours, from full.

    Parameters
    ----------
    traces, factors, controls, c
        As `darkspell.bank.run_years.run_members` takes them; any number of members.
    hours : int

    Returns
    -------
    float32 array [hours, members]
        [-].
    """
    mpp, pwm, temp, essential, deferrable, peak, chargers, uninterruptible, heater, draws, *shares = traces
    of_mpp, of_pwm, limit, per_ah, self_consumption, cable = factors
    capacity, *draw = draws.astype(float)
    of_mpp, of_pwm, per_ah = (factor / capacity for factor in (of_mpp, of_pwm, per_ah))
    limit, self_consumption, cable = limit / capacity, self_consumption / capacity, cable * capacity
    soc = np.ones(mpp.shape[1], np.float32)
    yes, no = np.ones(soc.size, bool), np.zeros(soc.size, bool)
    state, out = (soc, yes, yes, no, np.zeros(soc.size), yes), np.empty((hours, soc.size), np.float32)
    for h in range(hours):
        sources = mpp[h] * of_mpp, pwm[h] * of_pwm + limit, chargers[h] * per_ah, np.zeros(soc.size)
        loads = (row[h] * per_ah for row in (essential, deferrable, uninterruptible, heater, peak))
        own = [row[h] for row in shares] or None
        state, *_ = step(state, sources, (*loads, self_consumption, cable), temp[h], controls, c, own, draw)
        out[h] = state[0]
    return out
