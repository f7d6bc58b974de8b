"""An inverter that switches off by its own voltage: its loads drop, and the others go on.

Each function exists twice, as in `darkspell.bank.optional_features`: for `Extras` with an inverter's cut-off, and
for all others, where it leaves the step as it is. Numbers of the plain step follow from the type of the argument.
"""

from typing import NamedTuple

import numpy as np
from numba import types
from numba.extending import overload

from darkspell.bank.rows import MEMBER
from darkspell.core.jit import INLINED

DRAWS = 9  # place of what the members' banks are among the input series
SERIES, SHARES = 10, 4  # input series of all studies; those of `InverterShares` follow them
ZERO = np.float32(0.0)


class InverterShares(NamedTuple):
    """What hangs on the inverter in an hour; every field a float32, or an array of them.

    Attributes
    ----------
    essential, deferrable : part of either tier that runs through it [-]
    dc_peak : greatest load without it, over the greatest load [-]
    peak : greatest load that the inverter meets, over the one that the bank's cut-off meets [-]; not 1 where the
        bank's cut-off waits and the inverter does not
    """

    essential: np.float32
    deferrable: np.float32
    dc_peak: np.float32
    peak: np.float32


def series_count(controls):
    """How many input series the bank's drivers take: `SERIES`, and four for an inverter with a cut-off.

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


def inverter_loads(extras, loads, shares, ocv, resistance, total):
    """Loads that are left once the inverter has looked at its voltage, and those that it drops for the hour.

    It runs while V_oc - (R + R_cable) max(P_peak - P_offered, 0) / V_off >= V_off. While it does, the bank's cut-off
    sees its current over the bank's resistance, and not over the cable:
    P_peak = P_dc + (P_peak - P_dc) R / (R + R_cable).

    Parameters
    ----------
    extras : darkspell.bank.optional_features.Extras or None
    loads : tuple of float32
        `darkspell.bank.step.Loads`.
    shares : tuple of float32, or None
        `InverterShares`; None without a cut-off.
    ocv, resistance, total : float32
        Open-circuit voltage [V], resistance of the bank [V h], power on offer [W/Ah].

    Returns
    -------
    loads : tuple of float32
        As given, less what is dropped.
    dropped : tuple of float32
        Essential and deferrable load dropped [W/Ah].
    """
    raise NotImplementedError("compiled code only")


def with_dropped(extras, unserved, cause, dropped, voltage):
    """Unserved energy with what the inverter dropped; that is laid to the voltage where nothing else is short.

    Parameters
    ----------
    extras : darkspell.bank.optional_features.Extras or None
    unserved, dropped : tuple of float32
        Essential and deferrable [Wh/Ah].
    cause, voltage : float32
        Cause of the hour, and `darkspell.bank.step.VOLTAGE`.

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
    """Columns of one member's own hours: `columns`, and four more for an inverter with a cut-off."""
    raise NotImplementedError("compiled code only")


def gather_shares(extras, traces, hour, member, own, first):
    """Copy one member's shares of an hour to its own hours, from the column `first` on."""
    raise NotImplementedError("compiled code only")


def own_shares(extras, own, hour, first):
    """Shares of an hour of one member's own hours, from the column `first` on; None without a cut-off."""
    raise NotImplementedError("compiled code only")


def drop_lane(w, lane, extras, loads, shares, resistance):
    """Write the rows of `inverter_loads` of one lane.

    Parameters
    ----------
    w : float32 array [rows x LANES], written
    lane : int
    extras, loads, resistance
        As `inverter_loads` takes them.
    shares : tuple of float32, or None
        Of a design; None for members, whose rows hold them.
    """
    raise NotImplementedError("compiled code only")


def loads_left(w, lane, extras, loads):
    """Loads of one lane less what its inverter dropped, as `drop_lane` wrote them."""
    raise NotImplementedError("compiled code only")


def add_dropped(w, lane, extras, served, voltage):
    """Add what the inverter dropped to the unserved energy of one lane, as `with_dropped`."""
    raise NotImplementedError("compiled code only")


def has_cutoff(extras):
    """Whether a type of `Extras` has an inverter's cut-off.

    Parameters
    ----------
    extras : numba.types.Type

    Returns
    -------
    bool
    """
    return not isinstance(extras, types.NoneType) and not isinstance(extras.types[-1], types.NoneType)


@overload(inverter_loads, jit_options=INLINED)
def _inverter_loads(extras, loads, shares, ocv, resistance, total):
    if not has_cutoff(extras):
        return lambda extras, loads, shares, ocv, resistance, total: (loads, (ZERO, ZERO))

    def left(extras, loads, shares, ocv, resistance, total):
        essential, deferrable, uninterruptible, heater, peak, self_consumption, cable = loads
        essential_share, deferrable_share, dc_peak_share, peak_share = shares
        off_at, both = extras.inverter_cut_off, resistance + cable
        runs = ocv - off_at >= max(peak * peak_share - total, ZERO) * (both / off_at)
        direct = peak * dc_peak_share
        seen = direct + (peak - direct) * (resistance / both) if runs else direct
        dropped_essential = ZERO if runs else essential * essential_share
        dropped_deferrable = ZERO if runs else deferrable * deferrable_share
        rest = essential - dropped_essential, deferrable - dropped_deferrable
        return (
            (*rest, uninterruptible, heater, seen, self_consumption, cable),
            (dropped_essential, dropped_deferrable),
        )

    return left


@overload(with_dropped, jit_options=INLINED)
def _with_dropped(extras, unserved, cause, dropped, voltage):
    if not has_cutoff(extras):
        return lambda extras, unserved, cause, dropped, voltage: (unserved[0], unserved[1], cause)

    def joined(extras, unserved, cause, dropped, voltage):
        tag = voltage if (dropped[0] > ZERO) & (cause == ZERO) else cause
        return unserved[0] + dropped[0], unserved[1] + dropped[1], tag

    return joined


@overload(read_shares, jit_options=INLINED)
def _read_shares(extras, traces, hour, w):
    if not has_cutoff(extras):
        return lambda extras, traces, hour, w: None

    def read(extras, traces, hour, w):
        for lane in range(traces[SERIES].shape[1]):
            w[MEMBER.essential_share + lane] = traces[SERIES][hour, lane]
            w[MEMBER.deferrable_share + lane] = traces[SERIES + 1][hour, lane]
            w[MEMBER.dc_peak_share + lane] = traces[SERIES + 2][hour, lane]
            w[MEMBER.peak_share + lane] = traces[SERIES + 3][hour, lane]

    return read


@overload(own_columns, jit_options=INLINED)
def _own_columns(extras, columns):
    if not has_cutoff(extras):
        return lambda extras, columns: columns
    return lambda extras, columns: columns + SHARES


@overload(gather_shares, jit_options=INLINED)
def _gather_shares(extras, traces, hour, member, own, first):
    if not has_cutoff(extras):
        return lambda extras, traces, hour, member, own, first: None

    def gather(extras, traces, hour, member, own, first):
        own[hour, first] = traces[SERIES][hour, member]
        own[hour, first + 1] = traces[SERIES + 1][hour, member]
        own[hour, first + 2] = traces[SERIES + 2][hour, member]
        own[hour, first + 3] = traces[SERIES + 3][hour, member]

    return gather


@overload(own_shares, jit_options=INLINED)
def _own_shares(extras, own, hour, first):
    if not has_cutoff(extras):
        return lambda extras, own, hour, first: None
    return lambda extras, own, hour, first: (
        own[hour, first], own[hour, first + 1], own[hour, first + 2], own[hour, first + 3],
    )  # fmt: skip


@overload(drop_lane, jit_options=INLINED)
def _drop_lane(w, lane, extras, loads, shares, resistance):
    if not has_cutoff(extras):
        return lambda w, lane, extras, loads, shares, resistance: None

    def of_design(w, lane, extras, loads, shares, resistance):
        left, dropped = inverter_loads(
            extras, loads, shares, w[MEMBER.ocv + lane], resistance, w[MEMBER.offered + lane]
        )
        w[MEMBER.left_essential + lane], w[MEMBER.left_deferrable + lane] = left[0], left[1]
        w[MEMBER.left_peak + lane] = left[4]
        w[MEMBER.dropped_essential + lane], w[MEMBER.dropped_deferrable + lane] = dropped

    def of_member(w, lane, extras, loads, shares, resistance):
        own = (
            w[MEMBER.essential_share + lane], w[MEMBER.deferrable_share + lane],
            w[MEMBER.dc_peak_share + lane], w[MEMBER.peak_share + lane],
        )  # fmt: skip
        drop_lane(w, lane, extras, loads, own, resistance)

    return of_member if isinstance(shares, types.NoneType) else of_design


@overload(loads_left, jit_options=INLINED)
def _loads_left(w, lane, extras, loads):
    if not has_cutoff(extras):
        return lambda w, lane, extras, loads: loads

    def left(w, lane, extras, loads):
        _, _, uninterruptible, heater, _, self_consumption, cable = loads
        return (
            w[MEMBER.left_essential + lane], w[MEMBER.left_deferrable + lane], uninterruptible, heater,
            w[MEMBER.left_peak + lane], self_consumption, cable,
        )  # fmt: skip

    return left


@overload(add_dropped, jit_options=INLINED)
def _add_dropped(w, lane, extras, served, voltage):
    if not has_cutoff(extras):
        return lambda w, lane, extras, served, voltage: None

    def add(w, lane, extras, served, voltage):
        dropped = w[MEMBER.dropped_essential + lane]
        cause = w[MEMBER.cause + lane]
        w[MEMBER.short_essential + lane] += dropped
        w[MEMBER.short_deferrable + lane] += w[MEMBER.dropped_deferrable + lane]
        w[MEMBER.cause + lane] = voltage if (dropped > ZERO) & (cause == served) else cause

    return add
