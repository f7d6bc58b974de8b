"""Drivers of the bank step over lanes of members: one design through its years, and spells from a start.

They advance their lanes by the same hour as `darkspell.bank.run_designs`, so the same inputs give the same bits
whichever driver runs them.
"""

import numpy as np

from darkspell.bank import vector_step as lanes
from darkspell.bank.optional_features import generator_power
from darkspell.bank.step import ONE
from darkspell.bank.vector_step import LANES, advance, hour_terms, start_full
from darkspell.core.calendar import HOURS, WARM_UP_HOURS
from darkspell.core.jit import inlined, kernel

OUTPUTS = (
    "soc", "current", "voltage", "offer", "accept",
    "unserved_essential", "unserved_deferrable", "spilled", "array_used", "aux_used", "engine_used", "running",
)  # fmt: skip
YEAR, WARM_UP = int(HOURS), int(WARM_UP_HOURS)
NEVER = np.float32(1e9)
FROM_FULL = (ONE, ONE)
# Rows of `lanes` that hold the outputs.
KEPT_ROWS = (
    lanes.SOC, lanes.CURRENT, lanes.VOLTAGE, lanes.OFFER, lanes.CELL + 3 * LANES,
    lanes.SHORT_ESSENTIAL, lanes.SHORT_DEFERRABLE, lanes.SPILLED, lanes.USED, lanes.AUX_USED,
    lanes.ENGINE_USED, lanes.RUNNING,
)  # fmt: skip


@kernel
def run_members(traces, scales, controls, c, out):
    """Run one design over 64 members, the last 60 days first, uncounted.

    Parameters
    ----------
    traces : tuple of nine float32 arrays [8760, 64]
        From `darkspell.simulation.input_series.TraceBlock.for_bank`: array power at its maximum [W], array
        current at bank voltage [A], bank temperature [degC], mean essential and deferrable load and the
        hour's peak load [W], other chargers' power, loads never disconnected, and the heater's part of them [W].
    scales : tuple of float32
        Factors per Ah of present capacity: ``(mpp, pwm, limit, load, standing, cable)``. The controller's
        efficiency and the design's share of the study's array are in the first two; `limit` and
        `standing` are the controller's limit [1/h] and the standing draw [W/Ah]; `cable` in V h.
    controls : Controls
    c : ChemistryNumbers
    out : float32 array [up to len(OUTPUTS), 8760, 64], written
        The first so many of `OUTPUTS`, per Ah; ``running`` is 1 while the generator runs.
    """
    w = np.zeros(lanes.MEMBER_ROWS * LANES, np.float32)
    start_full(w)
    for count in range(WARM_UP + YEAR):
        hour = (count - WARM_UP) % YEAR
        _member_hour(traces, hour, w, scales, controls, c)
        for row in range(out.shape[0]):
            place = KEPT_ROWS[row]
            for lane in range(LANES):
                out[row, hour, lane] = w[place + lane]


@inlined
def _member_hour(traces, hour, w, scales, controls, c):
    """Advance all members by an hour; in the dark by the shorter way, which gives the same bits."""
    mpp, pwm, temp, essential, deferrable, peak, aux, always, heat = traces
    charging = np.int32(0)  # any bit of any power; a sum of float32 would not be packed
    for lane in range(LANES):
        w[lanes.MPP + lane] = mpp[hour, lane]
    for lane in range(LANES):
        w[lanes.AUX + lane] = aux[hour, lane]
    for lane in range(LANES):
        charging = np.int32(charging | np.float32(w[lanes.MPP + lane] + w[lanes.AUX + lane]).view(np.int32))
    for lane in range(LANES):
        w[lanes.TEMP + lane] = temp[hour, lane]
    for lane in range(LANES):
        w[lanes.ESSENTIAL + lane] = essential[hour, lane]
    for lane in range(LANES):
        w[lanes.DEFERRABLE + lane] = deferrable[hour, lane]
    for lane in range(LANES):
        w[lanes.PEAK + lane] = peak[hour, lane]
    for lane in range(LANES):
        w[lanes.ALWAYS + lane] = always[hour, lane]
    for lane in range(LANES):
        w[lanes.HEAT + lane] = heat[hour, lane]
    hour_terms(w, c)
    if controls.extras is None and charging == 0:
        advance(w, None, None, None, scales, controls, c)
        return
    for lane in range(LANES):
        w[lanes.PWM + lane] = pwm[hour, lane]
    engine = generator_power(controls.extras, hour % 24)
    advance(w, (engine,), None, None, scales, controls, c)


@kernel
def run_until(traces, scales, controls, c, starts, begun, ends, first):
    """Hours from each start to the first one that leaves essential load unserved, or that ends full.

    Parameters
    ----------
    traces, scales, controls, c
        As in `run_members`.
    starts : int array [starts]
        Hours of the study year; the walk wraps round its end.
    begun : tuple of float32
        ``(soc, on)`` at each start: `FROM_FULL`, or another state of charge [-] with loads connected or not.
    ends : tuple
        ``(horizon, loss, full)``: hours at which the walk ends [h], unserved energy per Ah that counts [Wh/Ah],
        and state of charge that ends it [-]; `NEVER` where one of the last two shall not.
    first : int32 array [starts, 64], written
        Hours until that hour; the horizon where there is none.
    """
    w = np.zeros(lanes.MEMBER_ROWS * LANES, np.float32)
    soc, on = begun
    horizon, loss, full = ends
    for place in range(starts.size):
        start_full(w)
        for lane in range(LANES):
            w[lanes.SOC + lane] = soc
            w[lanes.ON + lane] = on
            first[place, lane] = horizon
        for count in range(horizon):
            _member_hour(traces, (starts[place] + count) % YEAR, w, scales, controls, c)
            open_lanes = 0
            for lane in range(LANES):
                there = (w[lanes.SHORT_ESSENTIAL + lane] > loss) | (w[lanes.SOC + lane] >= full)
                first[place, lane] = min(first[place, lane], count if there else horizon)
                open_lanes += 1 if first[place, lane] == horizon else 0
            if open_lanes == 0:
                break
