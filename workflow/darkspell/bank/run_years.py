"""Drivers of the bank step over lanes of members: one design through its years, and walks from given starts.

They advance their lanes by the same hour as `darkspell.bank.run_designs`: the same inputs give the same bits with
either driver.
"""

import numpy as np

from darkspell.bank.optional_features import generator_power
from darkspell.bank.part_series import DRAWS, read_shares
from darkspell.bank.rows import MEMBER, MEMBER_ROWS
from darkspell.bank.step import ONE
from darkspell.bank.vector_step import advance, member_terms, start_full
from darkspell.core.batches import LANES
from darkspell.core.calendar import HOURS, WARM_UP_HOURS
from darkspell.core.jit import copy_floats, inlined, kernel

YEAR, WARM_UP = int(HOURS), int(WARM_UP_HOURS)
NEVER = np.float32(1e9)
FROM_FULL = (ONE, ONE)
PER_AH = np.ones((1, LANES), np.float32)
OUTPUTS = (
    "soc", "current", "voltage", "offer", "accept",
    "unserved_essential", "unserved_deferrable", "spilled", "array_used", "cause",
    "aux_used", "engine_used", "running", "unserved_critical",
)  # fmt: skip
NOT_PER_AH = ("soc", "voltage", "cause", "running")
SCALED = tuple(name not in NOT_PER_AH for name in OUTPUTS)
OUTPUT_ROWS = (
    MEMBER.soc, MEMBER.current, MEMBER.voltage, MEMBER.offer, MEMBER.accept,
    MEMBER.short_essential, MEMBER.short_deferrable, MEMBER.spilled, MEMBER.used, MEMBER.cause, MEMBER.chargers_used,
    MEMBER.generator_used, MEMBER.running, MEMBER.short_critical,
)  # fmt: skip


@kernel
def run_members(traces, factors, controls, c, unit, out):
    """Run one design over 64 members; the last 60 days of the year come first and are not kept.

    Parameters
    ----------
    traces : tuple of ten, fourteen or nineteen float32 arrays, all but the tenth [8760, 64]
        From `darkspell.simulation.input_series.TraceBlock.for_bank`: array power at its maximum [W], array current at
        bank voltage [A], bank temperature [degC], mean essential and deferrable load and the hour's peak load [W],
        other chargers' power, loads that are never disconnected, and the heater's part of them [W]; what the bank of
        each member is, `darkspell.chemistry.bank_draws.BankDraw` [5, 64]; then, if a part is switched off before
        the rest, `darkspell.bank.part_cutoff.PartShares` and, with both, ``CriticalShares`` [-].
    factors : darkspell.bank.step_values.PerAhFactors
    controls : darkspell.bank.step_values.Controls
    c : darkspell.chemistry.numbers.ChemistryNumbers
    unit : float32 array [1, 64]
        What all outputs but `NOT_PER_AH` are multiplied by: the capacity of the member's own bank [Ah], or 1.
    out : float32 array [up to len(OUTPUTS), 8760, 64], written
        The first so many of `OUTPUTS`, per Ah of the member's own bank times `unit`; ``running`` is 1 while the
        generator runs.
    """
    w = np.zeros(MEMBER_ROWS * LANES, np.float32)
    start_full(w)
    _keep_draws(w, traces[DRAWS])
    copy_floats(unit, 0, w, MEMBER.unit, LANES)
    for count in range(WARM_UP + YEAR):
        hour = (count - WARM_UP) % YEAR
        _member_hour(traces, hour, w, factors, controls, c)
        for row in range(out.shape[0]):
            first = OUTPUT_ROWS[row]
            if SCALED[row]:
                for lane in range(LANES):
                    w[MEMBER.scaled + lane] = w[first + lane] * w[MEMBER.unit + lane]
                first = MEMBER.scaled
            copy_floats(w, first, out, (row * YEAR + hour) * LANES, LANES)


@inlined
def _keep_draws(w, draws):
    """Write what the bank of each member is, and the inverse of its capacity."""
    for row in range(draws.shape[0]):
        for lane in range(LANES):
            w[MEMBER.capacity + row * LANES + lane] = draws[row, lane]
    for lane in range(LANES):
        w[MEMBER.per_capacity + lane] = ONE / draws[0, lane]


@inlined
def _member_hour(traces, hour, w, factors, controls, c):
    """Advance all members by an hour; without charging by the shorter way, which gives the same bits."""
    mpp, pwm, temp, essential, deferrable, peak, chargers, uninterruptible, heater = traces[:DRAWS]
    charging = np.int32(0)  # any bit of any power; a sum of float32 would not be packed
    at = hour * LANES
    copy_floats(mpp, at, w, MEMBER.mpp, LANES)
    copy_floats(chargers, at, w, MEMBER.chargers, LANES)
    for lane in range(LANES):
        charging = np.int32(
            charging | np.float32(w[MEMBER.mpp + lane] + w[MEMBER.chargers + lane]).view(np.int32)
        )
    copy_floats(temp, at, w, MEMBER.temp, LANES)
    copy_floats(essential, at, w, MEMBER.essential, LANES)
    copy_floats(deferrable, at, w, MEMBER.deferrable, LANES)
    copy_floats(peak, at, w, MEMBER.peak, LANES)
    copy_floats(uninterruptible, at, w, MEMBER.uninterruptible, LANES)
    copy_floats(heater, at, w, MEMBER.heater, LANES)
    read_shares(controls.extras, traces, hour, w)
    for lane in range(LANES):  # on rows of the one local array: from the series it would not be packed
        share = w[MEMBER.per_capacity + lane]
        w[MEMBER.mpp + lane] *= share
        w[MEMBER.chargers + lane] *= share
        w[MEMBER.essential + lane] *= share
        w[MEMBER.deferrable + lane] *= share
        w[MEMBER.peak + lane] *= share
        w[MEMBER.uninterruptible + lane] *= share
        w[MEMBER.heater + lane] *= share
    member_terms(w, c)
    if controls.extras is None and charging == 0:
        advance(w, None, None, None, factors, controls, c, None)
        return
    copy_floats(pwm, at, w, MEMBER.pwm, LANES)
    for lane in range(LANES):
        w[MEMBER.pwm + lane] *= w[MEMBER.per_capacity + lane]
    generator = generator_power(controls.extras, hour % 24)
    advance(w, (generator,), None, None, factors, controls, c, None)


@kernel
def run_until(traces, factors, controls, c, starts, begun, ends, first):
    """Hours from each start to the first hour that leaves essential load unserved, or that ends full.

    Parameters
    ----------
    traces, factors, controls, c
        As `run_members` takes them.
    starts : int array [starts]
        Hours of the study year; the walk wraps round its end.
    begun : tuple of float32
        ``(soc, connected)`` at each start: `FROM_FULL`, or another state of charge [-] with loads connected or not.
    ends : tuple
        ``(horizon, loss, full)``: hours at which the walk ends [h], unserved energy per Ah of the study's bank that
        counts [Wh/Ah], and state of charge that ends it [-]; `NEVER` where one of the last two shall not.
    first : int32 array [starts, 64], written
        Hours until that hour; the horizon where there is none.
    """
    w = np.zeros(MEMBER_ROWS * LANES, np.float32)
    _keep_draws(w, traces[DRAWS])
    soc, connected = begun
    horizon, loss, full = ends
    for start in range(starts.size):
        start_full(w)
        for lane in range(LANES):
            w[MEMBER.soc + lane] = soc
            w[MEMBER.connected + lane] = connected
            first[start, lane] = horizon
        for count in range(horizon):
            _member_hour(traces, (starts[start] + count) % YEAR, w, factors, controls, c)
            open_lanes = 0
            for lane in range(LANES):
                ended = (w[MEMBER.short_essential + lane] > loss * w[MEMBER.per_capacity + lane]) | (
                    w[MEMBER.soc + lane] >= full
                )
                first[start, lane] = min(first[start, lane], count if ended else horizon)
                open_lanes += 1 if first[start, lane] == horizon else 0
            if open_lanes == 0:
                break
