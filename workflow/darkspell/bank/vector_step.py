"""One hour of 64 lanes, in parts: what both drivers of the bank share.

A lane is a member of one design, or a design over one member (see `darkspell.bank.rows`). Each part of the hour is a
loop of its own: in a single loop it would be a chain of operations longer than a processor looks ahead, and run at a
third of the pace. Functions of one lane are those of `darkspell.bank.step`.
"""

from numba import types
from numba.extending import overload

from darkspell.bank.cell_laws import drawn_terms
from darkspell.bank.part_lanes import add_dropped, drop_lane, loads_left
from darkspell.bank.rows import DESIGN, MEMBER, STATE_ROWS
from darkspell.bank.step import ONE, ZERO, cell_state, connect_loads, curtail, exchange_charge, offered_power
from darkspell.bank.step_values import FULL_STATE, CellState, Loads, Sources, TemperatureTerms
from darkspell.core.batches import LANES
from darkspell.core.jit import INLINED, inlined


@inlined
def start_full(w):
    """Set all lanes to full banks, loads connected, generators at rest.

    Parameters
    ----------
    w : float32 array [rows x LANES], written
    """
    for row in range(STATE_ROWS):
        for lane in range(LANES):
            w[row * LANES + lane] = FULL_STATE[row]


@inlined
def advance(w, sources, loads, terms, factors, controls, c, shares):
    """Advance all lanes by an hour.

    Parameters
    ----------
    w : float32 array [rows x LANES], written
        The local rows.
    sources : tuple of float32, or None in an hour without any charging
        For members the generator's power alone, ``(generator,)`` [W]; for designs ``(mpp, pwm, chargers, generator)``
        [W, A, W, W].
    loads, terms : tuple of float32, or None
        For designs the hour's loads ``(essential, deferrable, uninterruptible, heater, peak)`` [W] and
        `TemperatureTerms`; None for members, whose rows hold them.
    factors : darkspell.bank.step_values.PerAhFactors, or None
        Of the members' design; None for designs, whose rows hold them.
    controls : darkspell.bank.step_values.Controls
    c : darkspell.chemistry.numbers.ChemistryNumbers
    shares : tuple of float32, or None
        For designs `darkspell.bank.part_cutoff.PartShares`, if their study has them; None for members, whose
        rows hold them.
    """
    extras = controls.extras
    _cells(w, sources, terms, extras, c)
    if sources is None:
        for lane in range(LANES):
            w[MEMBER.from_bank + lane] = _loads(w, lane, loads, factors).uninterruptible
    else:
        for lane in range(LANES):
            _offer_lane(w, lane, _sources(w, lane, sources, factors), loads, factors, extras)
    for lane in range(LANES):
        drop_lane(w, lane, extras, _loads(w, lane, loads, factors), shares, _terms(w, lane, terms)[1])
    for lane in range(LANES):
        state = w[MEMBER.soc + lane], w[MEMBER.connected + lane], w[MEMBER.deferrable_on + lane]
        left = loads_left(w, lane, extras, _loads(w, lane, loads, factors))
        sent = connect_loads(
            state, _cell(w, lane), _offered(w, lane, sources), left, _terms(w, lane, terms), controls, c,
        )  # fmt: skip
        w[MEMBER.connected + lane] = sent.connected
        w[MEMBER.deferrable_on + lane] = sent.deferrable_on
        w[MEMBER.floor + lane] = sent.floor
        w[MEMBER.net + lane] = sent.net
        w[MEMBER.missed_essential + lane] = sent.unserved_essential
        w[MEMBER.missed_deferrable + lane] = sent.unserved_deferrable
        w[MEMBER.cause + lane] = sent.cause
    for lane in range(LANES):
        dispatch = (
            w[MEMBER.connected + lane], w[MEMBER.floor + lane], w[MEMBER.net + lane],
            w[MEMBER.missed_essential + lane], w[MEMBER.missed_deferrable + lane], w[MEMBER.cause + lane],
        )  # fmt: skip
        _exchange_lane(w, lane, dispatch, sources, loads, terms, factors, None, extras, c)
    for lane in range(LANES):
        add_dropped(w, lane, extras)
    if factors is not None:
        for lane in range(LANES):
            _curtail_lane(w, lane, sources, factors)


@inlined
def advance_no_shortfall(w, sources, loads, terms, c):
    """Advance designs by an hour in which none can run short: the same bits, by a shorter way.

    Flags stay, and the rows of unserved energy are not written.

    Parameters
    ----------
    w, sources, loads, terms, c
        As `advance` takes them.
    """
    if sources is None:
        for lane in range(LANES):
            own = _loads(w, lane, loads, None)
            soc = w[MEMBER.soc + lane]
            cell = cell_state(soc, ZERO, terms, None, c)
            dispatch = ONE, ZERO, -(own.essential + own.deferrable), ZERO, ZERO, ZERO
            end = exchange_charge(
                (soc, ZERO), cell, own.uninterruptible, dispatch, own, terms, None, (), None, c
            )
            w[MEMBER.soc + lane] = end.soc
        return
    _cells(w, sources, terms, None, c)
    for lane in range(LANES):
        _offer_lane(w, lane, _sources(w, lane, sources, None), loads, None, None)
    for lane in range(LANES):
        own = _loads(w, lane, loads, None)
        net = w[MEMBER.spare + lane] - (own.essential + own.deferrable)
        _exchange_lane(w, lane, (ONE, ZERO, net, ZERO, ZERO, ZERO), sources, loads, terms, None, (), None, c)


@inlined
def member_terms(w, c):
    """Write the temperature terms of all members from their rows of temperatures and of what their banks are.

    Parameters
    ----------
    w : float32 array [rows x LANES], written
    c : darkspell.chemistry.numbers.ChemistryNumbers
    """
    for lane in range(LANES):
        draw = (
            w[MEMBER.of_resistance + lane], w[MEMBER.of_leak + lane], w[MEMBER.of_gassing + lane],
            w[MEMBER.of_cold + lane],
        )  # fmt: skip
        terms = drawn_terms(w[MEMBER.temp + lane], draw, c)
        w[MEMBER.setpoint + lane] = terms.setpoint
        w[MEMBER.resistance + lane] = terms.resistance
        w[MEMBER.accept_max + lane] = terms.accept_max
        w[MEMBER.deliverable_fraction + lane] = terms.deliverable_fraction
        w[MEMBER.self_discharge + lane] = terms.self_discharge
        w[MEMBER.taper_h + lane] = terms.taper_h
        w[MEMBER.taper + lane] = terms.taper
        w[MEMBER.gassing + lane] = terms.gassing


@inlined
def _cells(w, sources, terms, extras, c):
    """Write `CellState` of all lanes."""
    for lane in range(LANES):
        cell = cell_state(w[MEMBER.soc + lane], w[MEMBER.absorbed + lane], _terms(w, lane, terms), extras, c)
        w[MEMBER.ocv + lane] = cell.ocv
        w[MEMBER.per_ocv + lane] = cell.per_ocv
        _keep_charging_terms(w, lane, cell, sources, terms)


@inlined
def _offer_lane(w, lane, own, loads, factors, extras):
    """Write `darkspell.bank.step_values.Offer` of one lane; designs need less, and only a generator its own row."""
    state = w[MEMBER.soc + lane], w[MEMBER.connected + lane], w[MEMBER.generator_on + lane]
    offer = offered_power(state, _cell(w, lane), own, _loads(w, lane, loads, factors), extras)
    w[MEMBER.offered + lane] = offer.total
    w[MEMBER.spare + lane] = offer.spare
    w[MEMBER.from_bank + lane] = offer.from_bank
    if loads is None:
        w[MEMBER.array + lane] = offer.array
    if extras is not None:
        w[MEMBER.generator_on + lane] = offer.generator_on
        w[MEMBER.generator + lane] = offer.generator
        w[MEMBER.running + lane] = ONE if offer.generator > ZERO else ZERO


@inlined
def _exchange_lane(w, lane, dispatch, sources, loads, terms, factors, no_shortfall, extras, c):
    """Write `darkspell.bank.step_values.Exchange` of one lane; designs need less of it."""
    end = exchange_charge(
        (w[MEMBER.soc + lane], w[MEMBER.absorbed + lane]), _cell(w, lane), w[MEMBER.from_bank + lane], dispatch,
        loads_left(w, lane, extras, _loads(w, lane, loads, factors)), _terms(w, lane, terms), sources,
        no_shortfall, extras, c,
    )  # fmt: skip
    w[MEMBER.soc + lane] = end.soc
    if no_shortfall is None:
        w[MEMBER.connected + lane] = end.connected
        w[MEMBER.short_essential + lane] = end.unserved_essential
        w[MEMBER.short_deferrable + lane] = end.unserved_deferrable
    if extras is not None:
        w[MEMBER.absorbed + lane] = end.absorbed
        w[MEMBER.left_over + lane] = end.left_over
    if loads is None:
        w[MEMBER.left_over + lane] = end.left_over
        w[MEMBER.current + lane] = end.current
        w[MEMBER.voltage + lane] = end.voltage
        w[MEMBER.offer + lane] = end.offer
        w[MEMBER.cause + lane] = end.cause


@inlined
def _cell(w, lane):
    return CellState(
        w[MEMBER.ocv + lane],
        w[MEMBER.per_ocv + lane],
        w[MEMBER.charging_voltage + lane],
        w[MEMBER.accept + lane],
        w[MEMBER.slope_in + lane],
    )


@inlined
def _offered(w, lane, sources):
    if sources is None:
        return None
    else:
        return w[MEMBER.offered + lane], w[MEMBER.spare + lane]


# What members read from their rows, and designs from the hour: chosen by the type of the arguments.


def _terms(w, lane, terms):
    raise NotImplementedError("compiled code only")


def _loads(w, lane, loads, factors):
    raise NotImplementedError("compiled code only")


def _sources(w, lane, sources, factors):
    raise NotImplementedError("compiled code only")


def _curtail_lane(w, lane, sources, factors):
    raise NotImplementedError("compiled code only")


def _keep_charging_terms(w, lane, cell, sources, terms):
    raise NotImplementedError("compiled code only")


@overload(_keep_charging_terms, jit_options=INLINED)
def _keep_charging_terms_of(w, lane, cell, sources, terms):
    """Write what only charging needs; members hand out the acceptance without charging too."""
    if isinstance(sources, types.NoneType) and not isinstance(terms, types.NoneType):
        return lambda w, lane, cell, sources, terms: None

    def keep(w, lane, cell, sources, terms):
        w[MEMBER.charging_voltage + lane] = cell.charging_voltage
        w[MEMBER.accept + lane] = cell.accept
        w[MEMBER.slope_in + lane] = cell.slope_in

    return keep


@overload(_terms, jit_options=INLINED)
def _terms_of(w, lane, terms):
    if not isinstance(terms, types.NoneType):
        return lambda w, lane, terms: terms
    return lambda w, lane, terms: TemperatureTerms(
        w[MEMBER.setpoint + lane],
        w[MEMBER.resistance + lane],
        w[MEMBER.accept_max + lane],
        w[MEMBER.deliverable_fraction + lane],
        w[MEMBER.self_discharge + lane],
        w[MEMBER.taper_h + lane],
        w[MEMBER.taper + lane],
        w[MEMBER.gassing + lane],
    )


@overload(_loads, jit_options=INLINED)
def _loads_of(w, lane, loads, factors):
    def of_design(w, lane, loads, factors):
        essential, deferrable, uninterruptible, heater, peak = loads
        per_ah = w[DESIGN.load + lane]
        return Loads(
            essential * per_ah, deferrable * per_ah, uninterruptible * per_ah, heater * per_ah, peak * per_ah,
            w[DESIGN.self_consumption + lane], w[DESIGN.cable + lane],
        )  # fmt: skip

    def of_member(w, lane, loads, factors):
        _, _, _, per_ah, self_consumption, cable = factors
        return Loads(
            w[MEMBER.essential + lane] * per_ah, w[MEMBER.deferrable + lane] * per_ah,
            w[MEMBER.uninterruptible + lane] * per_ah, w[MEMBER.heater + lane] * per_ah,
            w[MEMBER.peak + lane] * per_ah, self_consumption * w[MEMBER.per_capacity + lane],
            cable * w[MEMBER.capacity + lane],
        )  # fmt: skip

    return of_design if isinstance(factors, types.NoneType) else of_member


@overload(_sources, jit_options=INLINED)
def _sources_of(w, lane, sources, factors):
    def of_design(w, lane, sources, factors):
        power, amps, chargers, generator = sources
        per_ah = w[DESIGN.load + lane]
        max_current = amps * w[DESIGN.pwm + lane] + w[DESIGN.limit + lane]
        return Sources(power * w[DESIGN.mpp + lane], max_current, chargers * per_ah, generator * per_ah)

    def of_member(w, lane, sources, factors):
        mpp, pwm, limit, per_ah, _, _ = factors
        max_current = w[MEMBER.pwm + lane] * pwm + limit * w[MEMBER.per_capacity + lane]
        return Sources(
            w[MEMBER.mpp + lane] * mpp, max_current, w[MEMBER.chargers + lane] * per_ah,
            sources[0] * w[MEMBER.per_capacity + lane] * per_ah,
        )  # fmt: skip

    return of_design if isinstance(factors, types.NoneType) else of_member


@overload(_curtail_lane, jit_options=INLINED)
def _curtail_lane_of(w, lane, sources, factors):
    """Write what one member spills and takes; nothing without charging, and designs do not ask."""

    def without_charging(w, lane, sources, factors):
        w[MEMBER.spilled + lane] = ZERO
        w[MEMBER.used + lane] = ZERO
        w[MEMBER.chargers_used + lane] = ZERO
        w[MEMBER.generator_used + lane] = ZERO

    def with_charging(w, lane, sources, factors):
        spilled, used, chargers_used, generator_used = curtail(
            w[MEMBER.array + lane], w[MEMBER.chargers + lane] * factors[3], w[MEMBER.generator + lane],
            w[MEMBER.left_over + lane],
        )  # fmt: skip
        w[MEMBER.spilled + lane] = spilled
        w[MEMBER.used + lane] = used
        w[MEMBER.chargers_used + lane] = chargers_used
        w[MEMBER.generator_used + lane] = generator_used

    if isinstance(factors, types.NoneType):
        return lambda w, lane, sources, factors: None
    return without_charging if isinstance(sources, types.NoneType) else with_charging
