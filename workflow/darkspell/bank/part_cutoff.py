"""A part of the loads that is switched off before the rest: behind an inverter with a cut-off of its own, or shed to
spare critical loads.

Each function exists twice, as in `darkspell.bank.optional_features`: for `Extras` with such a part, and for all
others, where it leaves the step as it is: numbers of the plain step follow from the type of the argument. A study has
one of the two parts; both are one type, so that both are one compiled kernel.
"""

from typing import NamedTuple

import numpy as np
from numba import types
from numba.extending import overload

from darkspell.bank.optional_features import SERVED, SHED, VOLTAGE
from darkspell.bank.rows import MEMBER
from darkspell.core.jit import INLINED

DRAWS = 9  # place of what the members' banks are among the input series
SERIES, SHARES = 10, 4  # input series of all studies; those of `PartShares` follow them
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


def series_count(controls):
    """How many input series the bank's drivers take: `SERIES`, and four more where a part may be switched off.

    Parameters
    ----------
    controls : darkspell.bank.step.Controls

    Returns
    -------
    int
    """
    extras = controls.extras
    absent = extras is None or extras.inverter_cut_off is None
    return SERIES if absent else SERIES + SHARES


def part_loads(extras, loads, shares, state, resistance, total):
    """Loads that are left once the part is on or off for the hour, and those that are dropped.

    An inverter runs while V_oc - (R + R_cable) max(P_peak - P_offered, 0) / V_off >= V_off. While it does, the bank's
    cut-off sees its current over the bank's resistance, and not over the cable:
    P_peak = P_rest + (P_peak - P_rest) R / (R + R_cable). Essential loads are shed below one state of charge and come
    back above another.

    Parameters
    ----------
    extras : darkspell.bank.optional_features.Extras or None
    loads : tuple of float32
        `darkspell.bank.step.Loads`.
    shares : tuple of float32, or None
        `PartShares`; None without a part.
    state : tuple of float32
        ``(soc, ocv, part_on)``: state of charge [-], open-circuit voltage [V], 1 while the part was on.
    resistance, total : float32
        Of the bank [V h], and power on offer [W/Ah].

    Returns
    -------
    loads : tuple of float32
        As given, less what is dropped.
    dropped : tuple of float32
        Essential and deferrable load dropped [W/Ah].
    part_on : float32
        1 while the loads that are shed for critical ones are on, else 0; an inverter leaves it as it was.
    """
    raise NotImplementedError("compiled code only")


def with_dropped(extras, unserved, cause, dropped):
    """Unserved energy with what was dropped, laid to voltage or level of charge where nothing else is short.

    Parameters
    ----------
    extras : darkspell.bank.optional_features.Extras or None
    unserved, dropped : tuple of float32
        Essential and deferrable [Wh/Ah].
    cause : float32
        Cause of the hour.

    Returns
    -------
    essential, deferrable, cause : float32
    """
    raise NotImplementedError("compiled code only")


def read_shares(extras, traces, hour, w):
    """Copy the shares of an hour of the input series to the members' rows.

    Parameters
    ----------
    extras : darkspell.bank.optional_features.Extras or None
    traces : tuple of float32 arrays [8760, LANES]
    hour : int
    w : float32 array [rows x LANES], written
    """
    raise NotImplementedError("compiled code only")


def own_columns(extras, columns):
    """Columns of one member's own hours: `columns`, and four more where a part may be switched off."""
    raise NotImplementedError("compiled code only")


def gather_shares(extras, traces, hour, member, own, first):
    """Copy one member's shares of an hour to its own hours, from the column `first` on."""
    raise NotImplementedError("compiled code only")


def own_shares(extras, own, hour, first):
    """Shares of an hour of one member's own hours, from the column `first` on; None without a part."""
    raise NotImplementedError("compiled code only")


def drop_lane(w, lane, extras, loads, shares, resistance):
    """Write the rows of `part_loads` of one lane.

    Parameters
    ----------
    w : float32 array [rows x LANES], written
    lane : int
    extras, loads, resistance
        As `part_loads` takes them.
    shares : tuple of float32, or None
        Of a design; None for members, whose rows hold them.
    """
    raise NotImplementedError("compiled code only")


def loads_left(w, lane, extras, loads):
    """Loads of one lane less what was dropped, as `drop_lane` wrote them."""
    raise NotImplementedError("compiled code only")


def add_dropped(w, lane, extras):
    """Add what was dropped to the unserved energy of one lane, as `with_dropped`."""
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
    return not isinstance(extras, types.NoneType) and not isinstance(extras.types[-1], types.NoneType)


@overload(part_loads, jit_options=INLINED)
def _part_loads(extras, loads, shares, state, resistance, total):
    if not has_part(extras):
        return lambda extras, loads, shares, state, resistance, total: (loads, (ZERO, ZERO), state[2])

    def left(extras, loads, shares, state, resistance, total):
        essential, deferrable, uninterruptible, heater, peak, self_consumption, cable = loads
        essential_share, deferrable_share, rest_share, peak_share = shares
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
            (dropped_essential, dropped_deferrable),
            part_on,
        )

    return left


@overload(with_dropped, jit_options=INLINED)
def _with_dropped(extras, unserved, cause, dropped):
    if not has_part(extras):
        return lambda extras, unserved, cause, dropped: (unserved[0], unserved[1], cause)

    def joined(extras, unserved, cause, dropped):
        tag = VOLTAGE if extras.inverter_cut_off > ZERO else SHED
        why = tag if (dropped[0] > ZERO) & (cause == SERVED) else cause
        return unserved[0] + dropped[0], unserved[1] + dropped[1], why

    return joined


@overload(read_shares, jit_options=INLINED)
def _read_shares(extras, traces, hour, w):
    if not has_part(extras):
        return lambda extras, traces, hour, w: None

    def read(extras, traces, hour, w):
        for lane in range(traces[SERIES].shape[1]):
            w[MEMBER.essential_share + lane] = traces[SERIES][hour, lane]
            w[MEMBER.deferrable_share + lane] = traces[SERIES + 1][hour, lane]
            w[MEMBER.rest_peak_share + lane] = traces[SERIES + 2][hour, lane]
            w[MEMBER.peak_share + lane] = traces[SERIES + 3][hour, lane]

    return read


@overload(own_columns, jit_options=INLINED)
def _own_columns(extras, columns):
    if not has_part(extras):
        return lambda extras, columns: columns
    return lambda extras, columns: columns + SHARES


@overload(gather_shares, jit_options=INLINED)
def _gather_shares(extras, traces, hour, member, own, first):
    if not has_part(extras):
        return lambda extras, traces, hour, member, own, first: None

    def gather(extras, traces, hour, member, own, first):
        own[hour, first] = traces[SERIES][hour, member]
        own[hour, first + 1] = traces[SERIES + 1][hour, member]
        own[hour, first + 2] = traces[SERIES + 2][hour, member]
        own[hour, first + 3] = traces[SERIES + 3][hour, member]

    return gather


@overload(own_shares, jit_options=INLINED)
def _own_shares(extras, own, hour, first):
    if not has_part(extras):
        return lambda extras, own, hour, first: None
    return lambda extras, own, hour, first: (
        own[hour, first], own[hour, first + 1], own[hour, first + 2], own[hour, first + 3],
    )  # fmt: skip


@overload(drop_lane, jit_options=INLINED)
def _drop_lane(w, lane, extras, loads, shares, resistance):
    if not has_part(extras):
        return lambda w, lane, extras, loads, shares, resistance: None

    def of_design(w, lane, extras, loads, shares, resistance):
        state = w[MEMBER.soc + lane], w[MEMBER.ocv + lane], w[MEMBER.part_on + lane]
        left, dropped, part_on = part_loads(
            extras, loads, shares, state, resistance, w[MEMBER.offered + lane]
        )
        w[MEMBER.left_essential + lane], w[MEMBER.left_deferrable + lane] = left[0], left[1]
        w[MEMBER.left_peak + lane] = left[4]
        w[MEMBER.dropped_essential + lane], w[MEMBER.dropped_deferrable + lane] = dropped
        w[MEMBER.part_on + lane] = part_on

    def of_member(w, lane, extras, loads, shares, resistance):
        own = (
            w[MEMBER.essential_share + lane], w[MEMBER.deferrable_share + lane],
            w[MEMBER.rest_peak_share + lane], w[MEMBER.peak_share + lane],
        )  # fmt: skip
        drop_lane(w, lane, extras, loads, own, resistance)

    return of_member if isinstance(shares, types.NoneType) else of_design


@overload(loads_left, jit_options=INLINED)
def _loads_left(w, lane, extras, loads):
    if not has_part(extras):
        return lambda w, lane, extras, loads: loads

    def left(w, lane, extras, loads):
        _, _, uninterruptible, heater, _, self_consumption, cable = loads
        return (
            w[MEMBER.left_essential + lane], w[MEMBER.left_deferrable + lane], uninterruptible, heater,
            w[MEMBER.left_peak + lane], self_consumption, cable,
        )  # fmt: skip

    return left


@overload(add_dropped, jit_options=INLINED)
def _add_dropped(w, lane, extras):
    if not has_part(extras):
        return lambda w, lane, extras: None

    def add(w, lane, extras):
        dropped = w[MEMBER.dropped_essential + lane], w[MEMBER.dropped_deferrable + lane]
        unserved = w[MEMBER.short_essential + lane], w[MEMBER.short_deferrable + lane]
        essential, deferrable, cause = with_dropped(extras, unserved, w[MEMBER.cause + lane], dropped)
        w[MEMBER.short_essential + lane] = essential
        w[MEMBER.short_deferrable + lane] = deferrable
        w[MEMBER.cause + lane] = cause

    return add
