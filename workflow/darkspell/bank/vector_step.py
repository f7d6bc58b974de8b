"""One hour of 64 lanes, in parts: what both drivers of the bank share.

A lane is a member of one design, or a design over one member. Rows of an hour lie in one small local array:
the compiler can then prove that nothing overlaps and packs the lanes into vector registers. The hour runs as
a loop a part: in a single loop it is a chain of operations longer than a processor looks ahead, and runs at
a third of the pace.
"""

from numba import types
from numba.extending import overload

from darkspell.bank.step import FULL_STATE, ONE, ZERO, carry, cell, supply, switch, taken, temperature_terms
from darkspell.core.jit import INLINED, inlined

LANES = 64

# Rows of both drivers: states, what the parts hand on, and what is short.
SOC, ON, FREE, RUNNING, ABSORBED = (i * LANES for i in range(5))
CELL = 5 * LANES
OFFERED, REST, KEPT, ARRAY, ENGINE, FLOOR, NET, MISSED, LATE, LEFT = (i * LANES for i in range(10, 20))
SHORT_ESSENTIAL, SHORT_DEFERRABLE = 20 * LANES, 21 * LANES
SHARED = 22
# Rows of members: what an hour brings, its terms, and outputs.
MPP, PWM, TEMP, ESSENTIAL, DEFERRABLE, PEAK, AUX, ALWAYS, HEAT = (
    i * LANES for i in range(SHARED, SHARED + 9)
)
TERMS = (SHARED + 9) * LANES
CURRENT, VOLTAGE, OFFER, SPILLED, USED, AUX_USED, ENGINE_USED = (
    i * LANES for i in range(SHARED + 14, SHARED + 21)
)
MEMBER_ROWS = SHARED + 21
# Rows of designs: scales.
D_MPP, D_PWM, D_LIMIT, D_LOAD, D_STANDING, D_CABLE = (i * LANES for i in range(SHARED, SHARED + 6))


@inlined
def start_full(w):
    """Full banks, loads connected, generators at rest."""
    for row in range(5):
        for lane in range(LANES):
            w[row * LANES + lane] = FULL_STATE[row]


@inlined
def advance(w, given, draws, terms, scales, controls, c):
    """Advance all lanes by an hour.

    Parameters
    ----------
    w : float32 array
        The local rows.
    given : tuple of float32, or None in an hour without any charging
        For members the generator's power alone, ``(engine,)``; for designs ``(mpp, pwm, aux, engine)``, W and A.
    draws, terms : tuple of float32, or None
        For designs the hour's loads [W] and temperature terms; None for members, whose rows hold them.
    scales : tuple of float32, or None
        For members as `darkspell.bank.run_years.run_members` takes them; None for designs, whose rows hold them.
    controls, c
        As `darkspell.bank.step.step` takes them.
    """
    extras = controls.extras
    _cells(w, given, terms, extras, c)
    if given is None:
        for lane in range(LANES):
            w[KEPT + lane] = _loads(w, lane, draws, scales)[2]
    else:
        for lane in range(LANES):
            _supply_lane(w, lane, _sun(w, lane, given, scales), draws, scales, extras)
    for lane in range(LANES):
        state = w[SOC + lane], w[ON + lane], w[FREE + lane]
        loads = _loads(w, lane, draws, scales)
        free, shed_free, floor, net, missed, late = switch(
            state, _parts(w, lane), _met(w, lane, given), loads, _terms(w, lane, terms), controls, c
        )
        w[ON + lane] = free
        w[FREE + lane] = shed_free
        w[FLOOR + lane] = floor
        w[NET + lane] = net
        w[MISSED + lane] = missed
        w[LATE + lane] = late
    for lane in range(LANES):
        switched = w[ON + lane], w[FLOOR + lane], w[NET + lane], w[MISSED + lane], w[LATE + lane]
        _carry_lane(w, lane, switched, given, draws, terms, scales, None, extras, c)
    if scales is not None:
        for lane in range(LANES):
            _take_lane(w, lane, given, scales)


@inlined
def advance_calm(w, given, draws, terms, c):
    """Advance designs by an hour in which none can run short: the same bits, by a shorter way.

    Arguments as `advance` takes them. Flags stay, and the rows of what is short are not written.
    """
    if given is None:
        for lane in range(LANES):
            loads = _loads(w, lane, draws, None)
            soc = w[SOC + lane]
            parts = cell(soc, ZERO, terms, None, c)
            switched = ONE, ZERO, -(loads[0] + loads[1]), ZERO, ZERO
            w[SOC + lane] = carry(soc, ZERO, parts, loads[2], switched, loads, terms, None, (), None, c)[0]
        return
    _cells(w, given, terms, None, c)
    for lane in range(LANES):
        _supply_lane(w, lane, _sun(w, lane, given, None), draws, None, None)
    for lane in range(LANES):
        loads = _loads(w, lane, draws, None)
        net = w[REST + lane] - (loads[0] + loads[1])
        _carry_lane(w, lane, (ONE, ZERO, net, ZERO, ZERO), given, draws, terms, None, (), None, c)


@inlined
def _cells(w, given, terms, extras, c):
    for lane in range(LANES):
        parts = cell(w[SOC + lane], w[ABSORBED + lane], _terms(w, lane, terms), extras, c)
        w[CELL + lane] = parts[0]
        w[CELL + LANES + lane] = parts[1]
        _charging_parts(w, lane, parts, given, terms)


@inlined
def _supply_lane(w, lane, sun, draws, scales, extras):
    state = w[SOC + lane], w[ON + lane], w[RUNNING + lane]
    array, engine, running, offered, rest, kept = supply(
        state, _parts(w, lane), sun, _loads(w, lane, draws, scales), extras
    )
    w[OFFERED + lane] = offered
    w[REST + lane] = rest
    w[KEPT + lane] = kept
    if draws is None:
        w[ARRAY + lane] = array
    if extras is not None:
        w[RUNNING + lane] = running
        w[ENGINE + lane] = engine


@inlined
def _carry_lane(w, lane, switched, given, draws, terms, scales, calm, extras, c):
    loads = _loads(w, lane, draws, scales)
    soc, on, absorbed, current, voltage, offer, left_over, short_e, short_d = carry(
        w[SOC + lane], w[ABSORBED + lane], _parts(w, lane), w[KEPT + lane], switched, loads,
        _terms(w, lane, terms), given, calm, extras, c,
    )  # fmt: skip
    w[SOC + lane] = soc
    if calm is None:
        w[ON + lane] = on
        w[SHORT_ESSENTIAL + lane] = short_e
        w[SHORT_DEFERRABLE + lane] = short_d
    if extras is not None:
        w[ABSORBED + lane] = absorbed
        w[LEFT + lane] = left_over
    if draws is None:
        w[LEFT + lane] = left_over
        w[CURRENT + lane] = current
        w[VOLTAGE + lane] = voltage
        w[OFFER + lane] = offer


@inlined
def hour_terms(w, c):
    """Temperature terms of all members from their rows."""
    for lane in range(LANES):
        setpoint, resistance, accept_max, letting, leak = temperature_terms(w[TEMP + lane], c)
        w[TERMS + lane] = setpoint
        w[TERMS + LANES + lane] = resistance
        w[TERMS + 2 * LANES + lane] = accept_max
        w[TERMS + 3 * LANES + lane] = letting
        w[TERMS + 4 * LANES + lane] = leak


@inlined
def _parts(w, lane):
    return (
        w[CELL + lane],
        w[CELL + LANES + lane],
        w[CELL + 2 * LANES + lane],
        w[CELL + 3 * LANES + lane],
        w[CELL + 4 * LANES + lane],
    )


@inlined
def _met(w, lane, given):
    if given is None:
        return None
    else:
        return w[OFFERED + lane], w[REST + lane]


# What members read from their rows, and designs from the hour: chosen by the type of the arguments.


def _terms(w, lane, terms):
    raise NotImplementedError("compiled code only")


def _loads(w, lane, draws, scales):
    raise NotImplementedError("compiled code only")


def _sun(w, lane, given, scales):
    raise NotImplementedError("compiled code only")


def _take_lane(w, lane, given, scales):
    raise NotImplementedError("compiled code only")


def _charging_parts(w, lane, parts, given, terms):
    raise NotImplementedError("compiled code only")


@overload(_charging_parts, jit_options=INLINED)
def _charging_parts_of(w, lane, parts, given, terms):
    """What only charging asks for; members hand out the acceptance in the dark too."""
    if isinstance(given, types.NoneType) and not isinstance(terms, types.NoneType):
        return lambda w, lane, parts, given, terms: None

    def keep(w, lane, parts, given, terms):
        w[CELL + 2 * LANES + lane] = parts[2]
        w[CELL + 3 * LANES + lane] = parts[3]
        w[CELL + 4 * LANES + lane] = parts[4]

    return keep


@overload(_terms, jit_options=INLINED)
def _terms_of(w, lane, terms):
    if not isinstance(terms, types.NoneType):
        return lambda w, lane, terms: terms
    return lambda w, lane, terms: (
        w[TERMS + lane],
        w[TERMS + LANES + lane],
        w[TERMS + 2 * LANES + lane],
        w[TERMS + 3 * LANES + lane],
        w[TERMS + 4 * LANES + lane],
    )


@overload(_loads, jit_options=INLINED)
def _loads_of(w, lane, draws, scales):
    def of_design(w, lane, draws, scales):
        need, extra, kept, heat, top = draws
        per_ah = w[D_LOAD + lane]
        return (
            need * per_ah, extra * per_ah, kept * per_ah, heat * per_ah, top * per_ah,
            w[D_STANDING + lane], w[D_CABLE + lane],
        )  # fmt: skip

    def of_member(w, lane, draws, scales):
        _, _, _, per_ah, standing, cable = scales
        return (
            w[ESSENTIAL + lane] * per_ah, w[DEFERRABLE + lane] * per_ah, w[ALWAYS + lane] * per_ah,
            w[HEAT + lane] * per_ah, w[PEAK + lane] * per_ah, standing, cable,
        )  # fmt: skip

    return of_design if isinstance(scales, types.NoneType) else of_member


@overload(_sun, jit_options=INLINED)
def _sun_of(w, lane, given, scales):
    def of_design(w, lane, given, scales):
        power, amps, other, engine = given
        per_ah = w[D_LOAD + lane]
        source = amps * w[D_PWM + lane] + w[D_LIMIT + lane]
        return power * w[D_MPP + lane], source, other * per_ah, engine * per_ah

    def of_member(w, lane, given, scales):
        a_mpp, a_pwm, limit, per_ah, _, _ = scales
        source = w[PWM + lane] * a_pwm + limit
        return w[MPP + lane] * a_mpp, source, w[AUX + lane] * per_ah, given[0] * per_ah

    return of_design if isinstance(scales, types.NoneType) else of_member


@overload(_take_lane, jit_options=INLINED)
def _take_of(w, lane, given, scales):
    """What spills and what is taken, of one member; nothing in the dark, and designs do not ask."""

    def in_the_dark(w, lane, given, scales):
        w[SPILLED + lane] = ZERO
        w[USED + lane] = ZERO
        w[AUX_USED + lane] = ZERO
        w[ENGINE_USED + lane] = ZERO

    def by_day(w, lane, given, scales):
        spilled, used, aux_used, engine_used = taken(
            w[ARRAY + lane], w[AUX + lane] * scales[3], w[ENGINE + lane], w[LEFT + lane]
        )
        w[SPILLED + lane] = spilled
        w[USED + lane] = used
        w[AUX_USED + lane] = aux_used
        w[ENGINE_USED + lane] = engine_used

    if isinstance(scales, types.NoneType):
        return lambda w, lane, given, scales: None
    return in_the_dark if isinstance(given, types.NoneType) else by_day
