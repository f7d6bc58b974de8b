"""The bank's hour in plain NumPy over members: the equations that the compiled step is held to.

Follows `darkspell.bank.step` in meaning, in double precision where its inputs are, with masks and whole arrays. Per
ampere-hour of present capacity: s state of charge [-], I currents [1/h], P powers [W/Ah], R resistances [V h]. Tests
compare both ways of writing the hour, for all chemistries, with everything on; the benchmark measures how much faster
the compiled one is.

Sources of the equations:

- Discharge capacity: Peukert's law, t = H (C / (I H))^k, capped at the capacity of the 100 h rate.
- Acceptance at the set point proportional to the missing charge: the form of Mas' law (1967; from memory).
- Charge efficiency that falls towards full and with the current: Copetti, Lorenzo & Chenlo, Progress in Photovoltaics
  1 (1993) 283-292, in a polynomial form of our own.
- Charging resistance that grows by 2.5 % a kelvin in the cold: Copetti, Lorenzo & Chenlo, as acceptance.
- Self-discharge doubling per 10 K: US Army TM 9-6140-200-14, paragraph 4-8.
- Voltage of a source behind a resistance: V = V_oc + I R, P = V I.
"""

import numpy as np

from darkspell.bank.optional_features import SHED
from darkspell.bank.part_cutoff import CriticalShares, PartShares
from darkspell.bank.step import (
    DEPTH_LIMIT,
    EMPTY,
    RECONNECTION,
    SERVED,
    VOLTAGE,
    Dispatch,
    Loads,
    Offer,
    Sources,
    State,
    TemperatureTerms,
)

power = np.power  # of Peukert's law


def temperature_terms(temp, c, draw=(1.0, 1.0, 1.0, 1.0)):
    """What the bank's temperature changes; as `darkspell.bank.step.drawn_terms`, over arrays.

    Parameters
    ----------
    temp : float array [members]
        Bank temperature [degC].
    c : darkspell.chemistry.numbers.ChemistryNumbers
    draw : tuple of float arrays [members], or floats
        Factors on resistance, self-discharge, charge lost to gas and capacity lost to the cold [-].

    Returns
    -------
    darkspell.bank.step.TemperatureTerms
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


def acceptance(state, terms, extras, c):
    """Current that the bank accepts and the voltage at which it does.

    I_accept = min(I_max, (1 - exp(-1 / tau)) (1 - s)), times the float share after the absorption time; the voltage
    reaches the set point where the missing charge limits the current, or where none is accepted.

    Parameters
    ----------
    state : darkspell.bank.step.State
        Arrays [members].
    terms : darkspell.bank.step.TemperatureTerms
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
    state : darkspell.bank.step.State
    limits : tuple of float arrays
        From `acceptance`.
    sources : darkspell.bank.step.Sources
    loads : darkspell.bank.step.Loads
    extras : darkspell.bank.optional_features.Extras or None
    c : darkspell.chemistry.numbers.ChemistryNumbers
        All with arrays [members].

    Returns
    -------
    darkspell.bank.step.Offer
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
    darkspell.bank.step.Dispatch
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


def shed_loads(loads, shares, state, extras):
    """Loads left once essential ones are shed to spare the critical ones, and those that are dropped.

    Shed below one state of charge until another is passed: a switch with hysteresis.

    Parameters
    ----------
    loads : darkspell.bank.step.Loads
    shares : darkspell.bank.part_cutoff.PartShares
    state : darkspell.bank.step.State
    extras : darkspell.bank.optional_features.Extras

    Returns
    -------
    loads : darkspell.bank.step.Loads
    dropped : (essential, deferrable), float arrays [members]
        [W/Ah].
    part_on : bool array [members]
    """
    low, high = state.soc < extras.essential_shed, state.soc > extras.essential_resume
    on = np.where(low, False, np.where(high, True, state.part_on > 0))
    essential = np.where(on, 0, loads.essential * shares.essential)
    deferrable = np.where(on, 0, loads.deferrable * shares.deferrable)
    left = loads._replace(
        essential=loads.essential - essential,
        deferrable=loads.deferrable - deferrable,
        peak=np.where(on, loads.peak, loads.peak * shares.rest_peak),
    )
    return left, (essential, deferrable), on


def inverter_runs(loads, shares, offer, ocv, terms, off_at):
    """Where an inverter with a cut-off of its own stays on, bool [members]; parameters as `inverter_loads` has."""
    drawn = np.clip(loads.peak * shares.peak - offer.total, 0, None)
    return ocv - (terms.resistance + loads.cable) * drawn / off_at >= off_at


def inverter_loads(loads, shares, offer, ocv, terms, off_at):
    """Loads left once the inverter has looked at its voltage, and those that it drops.

    It runs while V_oc - (R + R_cable) max(P_peak - P_offered, 0) / V_off >= V_off. While it does, the bank's cut-off
    sees its current over the bank's resistance alone.

    Parameters
    ----------
    loads : darkspell.bank.step.Loads
    shares : darkspell.bank.part_cutoff.PartShares
    offer : darkspell.bank.step.Offer
    ocv : float array [members]
        [V].
    terms : darkspell.bank.step.TemperatureTerms
    off_at : float
        Voltage at which it switches off [V].

    Returns
    -------
    loads : darkspell.bank.step.Loads
    dropped : (essential, deferrable), float arrays [members]
        [W/Ah].
    """
    both, runs = terms.resistance + loads.cable, inverter_runs(loads, shares, offer, ocv, terms, off_at)
    direct = loads.peak * shares.rest_peak
    seen = np.where(runs, direct + (loads.peak - direct) * terms.resistance / both, direct)
    essential = np.where(runs, 0, loads.essential * shares.essential)
    deferrable = np.where(runs, 0, loads.deferrable * shares.deferrable)
    left = loads._replace(
        essential=loads.essential - essential, deferrable=loads.deferrable - deferrable, peak=seen
    )
    return left, (essential, deferrable)


def shed_then_inverter(loads, shares, state, offer, terms, extras, c):
    """Loads left where critical loads are spared and an inverter cuts off: the level first, then the inverter.

    Parameters
    ----------
    loads : darkspell.bank.step.Loads
    shares : sequence of float arrays [members]
        `darkspell.bank.part_cutoff.PartShares`, then ``CriticalShares``.
    state, offer, terms, extras, c
        As above; arrays [members].

    Returns
    -------
    loads : darkspell.bank.step.Loads
    dropped : tuple of float arrays [members]
        Essential, deferrable [W/Ah]; the cause; critical load off, and other essential load still on [W/Ah].
    part_on : bool array [members]
    """
    every, critical = PartShares(*shares[:4]), CriticalShares(*shares[4:])
    ones = np.ones_like(every.essential)
    level = PartShares(1 - critical.critical, ones, critical.peak, ones)
    left, shed, on = shed_loads(loads, level, state, extras)
    kept = loads.essential * critical.critical
    behind = PartShares(
        np.where(on, every.essential, critical.behind_inverter),
        every.deferrable,
        np.where(on, every.rest_peak, critical.rest_peak),
        np.where(on, every.peak, critical.inverter_peak),
    )
    given = left, behind, offer, open_circuit(state.soc, c), terms, extras.inverter_cut_off
    last, off = inverter_loads(*given)
    off_critical = np.where(inverter_runs(*given), 0, kept * critical.behind_inverter)
    other = np.clip(last.essential - (kept - off_critical), 0, None)
    tag = np.where(off[0] > 0, VOLTAGE, SHED)
    return last, (shed[0] + off[0], shed[1] + off[1], tag, off_critical, other), on


def step(state, sources, loads, temp, controls, c, shares=None, draw=(1.0, 1.0, 1.0, 1.0)):
    """One hour of many members.

    Parameters
    ----------
    state, sources, loads : sequences of float arrays [members]
        Fields of `darkspell.bank.step.State`, `Sources` and `Loads`.
    temp : float array [members]
        Bank temperature [degC].
    controls : darkspell.bank.step.Controls
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
