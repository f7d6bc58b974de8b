"""One hour of the bank: a branchless float32 function, scalars in and out.

The drivers call it inside loops over lanes, where the compiler turns it into vector code; a nested conditional would
silently stop that. All values are per ampere-hour of present capacity: state of charge s [-], currents [1/h], powers
[W/Ah], resistances [V h]. The same hour in plain NumPy, with the equations written out, is
`darkspell.bank.reference`; tests hold the two together.

The parts of an hour, in order:

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

from typing import NamedTuple

import numpy as np

from darkspell.bank.optional_features import (
    DEPTH_LIMIT,
    EMPTY,
    RECONNECTION,
    SERVED,
    VOLTAGE,
    Extras,
    absorbed_hours,
    float_terms,
    generator_state,
    reconnected,
)
from darkspell.bank.part_cutoff import part_loads, with_dropped
from darkspell.core.fast_math import hinges, rate_share, two_to
from darkspell.core.jit import fma, inlined, shared_inlined

ZERO, HALF, ONE, TWO, FOUR = (np.float32(x) for x in (0.0, 0.5, 1.0, 2.0, 4.0))
TINY = np.float32(1e-9)
LEAST_RATE = np.float32(0.05)  # of the 20 h current: keeps the logarithm bounded, far below the 100 h cap
MARGIN = np.float32(0.002)  # of charge [-] and of voltage [V], far beyond what rounding can do


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


class State(NamedTuple):
    """What the bank carries from hour to hour; every field a float32.

    Attributes
    ----------
    soc : state of charge [-]
    connected, deferrable_on : 1 while the loads, among them the deferrable ones, may draw from the bank, else 0
    generator_on : 1 while the generator is asked for, in its hours or not, else 0
    absorbed : hours at the charging voltage since the chargers last rested [h]
    part_on : 1 while the part of the loads that is switched off before the rest is on, else 0, see
        `darkspell.bank.part_cutoff`
    """

    soc: np.float32
    connected: np.float32
    deferrable_on: np.float32
    generator_on: np.float32
    absorbed: np.float32
    part_on: np.float32


class Sources(NamedTuple):
    """What can charge in an hour; every field a float32.

    Attributes
    ----------
    mpp : array power at its maximum, after the controller [W/Ah]
    max_current : the greatest current from it [1/h]: the array's own at bank voltage (PWM), or the MPPT charge
        controller's limit
    chargers : power of all other chargers at the bank's terminals [W/Ah]
    generator : power of the generator if it runs [W/Ah]
    """

    mpp: np.float32
    max_current: np.float32
    chargers: np.float32
    generator: np.float32


class Loads(NamedTuple):
    """What draws in an hour; every field a float32.

    Attributes
    ----------
    essential, deferrable : mean load of either tier [W/Ah]
    uninterruptible : mean load that is never disconnected [W/Ah]
    heater : the part of it that serves the bank's heater [W/Ah]
    peak : greatest load within the hour, all included [W/Ah]
    self_consumption : draw of the system itself, never disconnected [W/Ah]
    cable : resistance between bank and loads [V h]
    """

    essential: np.float32
    deferrable: np.float32
    uninterruptible: np.float32
    heater: np.float32
    peak: np.float32
    self_consumption: np.float32
    cable: np.float32


class TemperatureTerms(NamedTuple):
    """What the bank's temperature changes in an hour, the same for every design; every field a float32.

    Attributes
    ----------
    setpoint : charging voltage that the chargers hold [V]
    resistance : of the bank in discharge [V h]
    accept_max : greatest charge current [1/h]
    deliverable_fraction : of the capacity, at the reference rate [-]
    self_discharge : [1/h]
    taper_h : time constant with which the accepted current falls at the set point [h]
    taper : accepted current for each unit of missing charge, mean over an hour [1/h]
    gassing : factor on the charge lost to gas near full [-]: of the bank itself, not of its temperature
    """

    setpoint: np.float32
    resistance: np.float32
    accept_max: np.float32
    deliverable_fraction: np.float32
    self_discharge: np.float32
    taper_h: np.float32
    taper: np.float32
    gassing: np.float32


class CellState(NamedTuple):
    """What the state of charge alone settles; every field a float32.

    Attributes
    ----------
    ocv, per_ocv : open-circuit voltage [V] and its inverse [1/V]
    charging_voltage : terminal voltage at which the bank is charged with all that it accepts [V]: the chargers' set
        point where the missing charge limits the current, or a lock-out accepts none at all; less where the bank's
        greatest current does
    accept : that current, mean over the hour [1/h]
    slope_in : rise of the voltage with the charge current [V h]
    """

    ocv: np.float32
    per_ocv: np.float32
    charging_voltage: np.float32
    accept: np.float32
    slope_in: np.float32


class Offer(NamedTuple):
    """What the sources offer in an hour; every field a float32.

    Attributes
    ----------
    array, generator : power of the array and of the generator [W/Ah]
    generator_on : 1 while the generator is asked for, else 0
    total : all power on offer [W/Ah]
    spare : what uninterruptible loads leave of it [W/Ah]
    from_bank : what uninterruptible loads draw from the bank [W/Ah]
    """

    array: np.float32
    generator: np.float32
    generator_on: np.float32
    total: np.float32
    spare: np.float32
    from_bank: np.float32


class Dispatch(NamedTuple):
    """Which loads are connected, and what the bank has to accept or give for them; every field a float32.

    Attributes
    ----------
    connected, deferrable_on : 1 if the loads, and the deferrable ones among them, are connected
    floor : state of charge below which nothing is delivered at this current and temperature [-]
    net : power into the bank [W/Ah]
    unserved_essential, unserved_deferrable : load left unserved by disconnection [W/Ah]
    cause : why loads are not connected, `SERVED` if they are
    """

    connected: np.float32
    deferrable_on: np.float32
    floor: np.float32
    net: np.float32
    unserved_essential: np.float32
    unserved_deferrable: np.float32
    cause: np.float32


class Exchange(NamedTuple):
    """What flows in the hour and the state at its end; every field a float32.

    Attributes
    ----------
    soc, connected, absorbed : as in `State`, at the end of the hour
    current : mean terminal current, charging positive [1/h]
    voltage : mean terminal voltage [V]
    offer : current that the chargers could push in after the loads [1/h]
    left_over : power that neither loads nor bank take [W/Ah]
    unserved_essential, unserved_deferrable : energy of the hour [Wh/Ah]
    cause : why essential load is not served, if any is not
    """

    soc: np.float32
    connected: np.float32
    absorbed: np.float32
    current: np.float32
    voltage: np.float32
    offer: np.float32
    left_over: np.float32
    unserved_essential: np.float32
    unserved_deferrable: np.float32
    cause: np.float32


class PerAhFactors(NamedTuple):
    """What turns a study's input series into those of one design, per ampere-hour; every field a float32.

    Attributes
    ----------
    mpp : of the array's power [1/Ah]: the design's share of the study's array and the controller's efficiency
    pwm : of the array's current at bank voltage [1/Ah]; 0 with an MPPT charge controller
    limit : greatest current of an MPPT charge controller [1/h]; 0 with PWM
    load : of loads and chargers [1/Ah]
    self_consumption : the system's own draw [W/Ah]
    cable : resistance between bank and loads [V h]
    """

    mpp: np.float32
    pwm: np.float32
    limit: np.float32
    load: np.float32
    self_consumption: np.float32
    cable: np.float32


FULL_STATE = State(ONE, ONE, ONE, ZERO, ZERO, ONE)


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
