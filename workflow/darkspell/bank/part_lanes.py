"""The part of the loads that is switched off first, in the rows of a block of lanes.

`darkspell.bank.part_cutoff` decides for one lane; this module reads and writes its rows. Each function exists for
each type of its argument, as there.
"""

from numba import types
from numba.extending import overload

from darkspell.bank.part_cutoff import has_both, has_part, part_loads, with_dropped
from darkspell.bank.rows import MEMBER
from darkspell.core.jit import INLINED


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
    """Loads of one lane less what was dropped.

    Parameters
    ----------
    w : float32 array [rows x LANES]
        With the rows that `drop_lane` wrote.
    lane : int
    extras : darkspell.bank.optional_features.Extras or None
    loads : tuple of float32
        `darkspell.bank.step_values.Loads`, before anything was dropped.

    Returns
    -------
    tuple of float32
        `darkspell.bank.step_values.Loads`.
    """
    raise NotImplementedError("compiled code only")


def add_dropped(w, lane, extras):
    """Add what was dropped to the unserved energy of one lane, as `with_dropped`.

    Parameters
    ----------
    w : float32 array [rows x LANES], written
    lane : int
    extras : darkspell.bank.optional_features.Extras or None
    """
    raise NotImplementedError("compiled code only")


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
        w[MEMBER.dropped_essential + lane], w[MEMBER.dropped_deferrable + lane] = dropped[0], dropped[1]
        w[MEMBER.dropped_cause + lane] = dropped[2]
        w[MEMBER.dropped_critical + lane], w[MEMBER.left_other + lane] = dropped[3], dropped[4]
        w[MEMBER.part_on + lane] = part_on

    def of_member(w, lane, extras, loads, shares, resistance):
        own = (
            w[MEMBER.essential_share + lane], w[MEMBER.deferrable_share + lane],
            w[MEMBER.rest_peak_share + lane], w[MEMBER.peak_share + lane],
        )  # fmt: skip
        drop_lane(w, lane, extras, loads, own, resistance)

    def of_member_with_both(w, lane, extras, loads, shares, resistance):
        own = (
            w[MEMBER.essential_share + lane], w[MEMBER.deferrable_share + lane],
            w[MEMBER.rest_peak_share + lane], w[MEMBER.peak_share + lane],
            w[MEMBER.critical_share + lane], w[MEMBER.critical_ac_share + lane], w[MEMBER.kept_peak_share + lane],
            w[MEMBER.kept_rest_peak_share + lane], w[MEMBER.kept_inverter_peak_share + lane],
        )  # fmt: skip
        drop_lane(w, lane, extras, loads, own, resistance)

    if not isinstance(shares, types.NoneType):
        return of_design
    return of_member_with_both if has_both(extras) else of_member


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
        dropped = (
            w[MEMBER.dropped_essential + lane], w[MEMBER.dropped_deferrable + lane], w[MEMBER.dropped_cause + lane],
            w[MEMBER.dropped_critical + lane], w[MEMBER.left_other + lane],
        )  # fmt: skip
        unserved = w[MEMBER.short_essential + lane], w[MEMBER.short_deferrable + lane]
        essential, deferrable, cause, critical = with_dropped(
            extras, unserved, w[MEMBER.cause + lane], dropped
        )
        w[MEMBER.short_essential + lane] = essential
        w[MEMBER.short_deferrable + lane] = deferrable
        w[MEMBER.cause + lane] = cause
        w[MEMBER.short_critical + lane] = critical

    return add
