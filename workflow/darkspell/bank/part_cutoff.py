"""A part of the loads that is switched off before the rest: behind an inverter with a cut-off of its own, or shed to
spare critical loads.

Each function exists for each type of its argument, as in `darkspell.bank.optional_features`: for `Extras` with such a
part, for those with both, and for all others, where it leaves the step as it is. An inverter alone and critical loads
alone are one type, so that they are one compiled kernel. With both, the level of charge decides first; what it
leaves on meets the inverter. The input series are those of `darkspell.bank.part_series`.
"""

from typing import NamedTuple

import numpy as np
from numba import types
from numba.extending import overload

from darkspell.bank.optional_features import SERVED, SHED, VOLTAGE, Extras
from darkspell.core.jit import INLINED

ZERO, ONE = np.float32(0.0), np.float32(1.0)


class PartShares(NamedTuple):
    """What belongs to the part in an hour; every field a float32, or an array of them.

    Attributes
    ----------
    essential, deferrable : share of either tier that belongs to it [-]
    rest_peak : greatest load without it, over the greatest load [-]
    peak : greatest load that the inverter meets, over the one that the bank's cut-off meets [-]; not 1 where the
        bank's cut-off waits and the inverter does not
    """

    essential: np.float32
    deferrable: np.float32
    rest_peak: np.float32
    peak: np.float32


class CriticalShares(NamedTuple):
    """What belongs to the critical loads in an hour, and an inverter that cuts off; float32, or arrays.

    Attributes
    ----------
    critical : share of the essential load [-]
    behind_inverter : share of it that the inverter serves [-]
    peak : greatest load that is left when essential loads are shed, over the greatest load [-]
    rest_peak, inverter_peak : as `PartShares.rest_peak` and ``peak``, of what is left then [-]
    """

    critical: np.float32
    behind_inverter: np.float32
    peak: np.float32
    rest_peak: np.float32
    inverter_peak: np.float32


def part_loads(extras, loads, shares, state, resistance, total):
    """Loads that are left once the part is on or off for the hour, and those that are dropped.

    An inverter runs while V_oc - (R + R_cable) max(P_peak - P_offered, 0) / V_off >= V_off. While it does, the bank's
    cut-off sees its current over the bank's resistance, and not over the cable:
    P_peak = P_rest + (P_peak - P_rest) R / (R + R_cable). Essential loads are shed below one state of charge and come
    back above another; an inverter then meets the peak of what is left.

    Parameters
    ----------
    extras : darkspell.bank.optional_features.Extras or None
    loads : tuple of float32
        `darkspell.bank.step_values.Loads`.
    shares : tuple of float32, or None
        `PartShares`, with both followed by `CriticalShares`; None without a part.
    state : tuple of float32
        ``(soc, ocv, part_on)``: state of charge [-], open-circuit voltage [V], 1 while the part was on.
    resistance, total : float32
        Of the bank [V h], and power on offer [W/Ah].

    Returns
    -------
    loads : tuple of float32
        As given, less what is dropped.
    dropped : tuple of float32
        Essential and deferrable load dropped [W/Ah], the cause, critical load dropped, and other essential load that
        is left [W/Ah]; the last two are 0 but with both.
    part_on : float32
        1 while the loads that are shed for critical ones are on, else 0; an inverter leaves it as it was.
    """
    raise NotImplementedError("compiled code only")


def with_dropped(extras, unserved, cause, dropped):
    """Unserved energy with what was dropped, laid to voltage or level of charge where nothing else is short.

    Parameters
    ----------
    extras : darkspell.bank.optional_features.Extras or None
    unserved : tuple of float32
        Essential and deferrable [Wh/Ah].
    cause : float32
        Cause of the hour.
    dropped : tuple of float32
        From `part_loads`.

    Returns
    -------
    essential, deferrable, cause : float32
    critical : float32
        Unserved critical load, with both; else 0 [Wh/Ah]. Of what is not delivered to loads that are on, other
        essential loads go without first.
    """
    raise NotImplementedError("compiled code only")


def has_part(extras):
    """Whether a type of `Extras` has a part of the loads that is switched off before the rest.

    Parameters
    ----------
    extras : numba.types.Type

    Returns
    -------
    bool
    """
    return _given(extras, "inverter_cut_off")


def has_both(extras):
    """Whether a type of `Extras` has an inverter with a cut-off of its own and critical loads.

    Parameters
    ----------
    extras : numba.types.Type

    Returns
    -------
    bool
    """
    return _given(extras, "both")


def _given(extras, field):
    known = not isinstance(extras, types.NoneType)
    return known and not isinstance(extras.types[Extras._fields.index(field)], types.NoneType)


@overload(part_loads, jit_options=INLINED)
def _part_loads(extras, loads, shares, state, resistance, total):
    if not has_part(extras):
        return lambda extras, loads, shares, state, resistance, total: (
            loads, (ZERO, ZERO, SERVED, ZERO, ZERO), state[2],
        )  # fmt: skip

    def in_turn(extras, loads, shares, state, resistance, total):
        essential, deferrable, uninterruptible, heater, peak, self_consumption, cable = loads
        soc, ocv, part_on = state
        level = ONE if soc > extras.essential_resume else (part_on if soc >= extras.essential_shed else ZERO)
        unshed = level > ZERO
        kept = essential * shares[4]
        left_essential = essential if unshed else kept
        left_deferrable = deferrable if unshed else ZERO
        left_peak = peak if unshed else peak * shares[6]
        behind = shares[0] if unshed else shares[5]
        direct = left_peak * (shares[2] if unshed else shares[7])
        meets = left_peak * (shares[3] if unshed else shares[8])
        off_at, both = extras.inverter_cut_off, resistance + cable
        runs = ocv - off_at >= max(meets - total, ZERO) * (both / off_at)
        seen = direct + (left_peak - direct) * (resistance / both) if runs else direct
        off_essential = ZERO if runs else left_essential * behind
        off_deferrable = ZERO if runs else left_deferrable * shares[1]
        off_critical = ZERO if runs else kept * shares[5]
        other = max((left_essential - off_essential) - (kept - off_critical), ZERO)
        shed_essential = ZERO if unshed else essential - kept
        shed_deferrable = ZERO if unshed else deferrable
        left_essential -= off_essential
        left_deferrable -= off_deferrable
        return (
            (left_essential, left_deferrable, uninterruptible, heater, seen, self_consumption, cable),
            (
                shed_essential + off_essential, shed_deferrable + off_deferrable,
                VOLTAGE if off_essential > ZERO else SHED, off_critical, other,
            ),
            level,
        )  # fmt: skip

    def left(extras, loads, shares, state, resistance, total):
        essential, deferrable, uninterruptible, heater, peak, self_consumption, cable = loads
        essential_share, deferrable_share, rest_share, peak_share = shares[0], shares[1], shares[2], shares[3]
        soc, ocv, part_on = state
        off_at, both = extras.inverter_cut_off, resistance + cable
        inverter = off_at > ZERO
        runs = ocv - off_at >= max(peak * peak_share - total, ZERO) * (both / off_at)
        by_level = (
            ONE if soc > extras.essential_resume else (part_on if soc >= extras.essential_shed else ZERO)
        )
        on = runs if inverter else by_level > ZERO
        part_on = part_on if inverter else by_level
        direct = peak * rest_share
        seen = direct + (peak - direct) * (resistance / both if inverter else ONE) if on else direct
        dropped_essential = ZERO if on else essential * essential_share
        dropped_deferrable = ZERO if on else deferrable * deferrable_share
        rest = essential - dropped_essential, deferrable - dropped_deferrable
        return (
            (*rest, uninterruptible, heater, seen, self_consumption, cable),
            (dropped_essential, dropped_deferrable, VOLTAGE if inverter else SHED, ZERO, ZERO),
            part_on,
        )

    return in_turn if has_both(extras) else left


@overload(with_dropped, jit_options=INLINED)
def _with_dropped(extras, unserved, cause, dropped):
    if not has_part(extras):
        return lambda extras, unserved, cause, dropped: (unserved[0], unserved[1], cause, ZERO)
    both = has_both(extras)

    def joined(extras, unserved, cause, dropped):
        why = dropped[2] if (dropped[0] > ZERO) & (cause == SERVED) else cause
        critical = dropped[3] + max(unserved[0] - dropped[4], ZERO) if both else ZERO
        return unserved[0] + dropped[0], unserved[1] + dropped[1], why, critical

    return joined
