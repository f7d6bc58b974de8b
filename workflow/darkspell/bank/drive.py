"""Drivers of the bank step: one design over lanes of members, many designs over one member, autonomy.

All of them call the same `step`, so the same inputs give the same bits whichever driver runs them.
Rows of an hour are copied into one small local array first: the compiler can then prove that nothing
overlaps and packs the lanes into vector registers.
"""

import numpy as np
from numba import njit

from darkspell.bank.step import ONE, ZERO, step, temperature_terms
from darkspell.calendar import HOURS, WARM_UP_HOURS

LANES = 64
OUTPUTS = (
    "soc", "current", "voltage", "offer", "accept",
    "unserved_essential", "unserved_deferrable", "spilled", "array_used", "aux_used",
)  # fmt: skip
YEAR, WARM_UP = int(HOURS), int(WARM_UP_HOURS)
STATES, TRACES, SCALES, TOTALS = 3, 8, 6, 4
# Places of the local rows, each LANES long: states, traces, outputs.
SOC, ON, FREE = (i * LANES for i in range(STATES))
MPP, PWM, TEMP, ESSENTIAL, DEFERRABLE, PEAK, AUX, ALWAYS = (i * LANES for i in range(STATES, STATES + TRACES))
OUT = (STATES + TRACES) * LANES
ROWS = STATES + TRACES + len(OUTPUTS)

driver = njit(cache=True, nogil=True, error_model="numpy", fastmath=False)


@driver
def run_members(traces, scales, controls, c, out):
    """Run one design over 64 members, the last 60 days first, uncounted.

    Parameters
    ----------
    traces : tuple of eight float32 arrays [8760, 64]
        From `darkspell.traces.TraceBlock.for_bank`: array power at its maximum [W], array current at bank
        voltage [A], bank temperature [degC], mean essential and deferrable load and the hour's peak load
        [W], other chargers' power and loads never disconnected [W].
    scales : tuple of float32
        Factors per Ah of present capacity: ``(mpp, pwm, limit, load, standing, cable)``. The controller's
        efficiency and the design's share of the study's array are in the first two; `limit` and
        `standing` are the controller's limit [1/h] and the standing draw [W/Ah]; `cable` in V h.
    controls : Controls
    c : ChemistryNumbers
    out : float32 array [len(OUTPUTS), 8760, 64], written
        `OUTPUTS`, per Ah.
    """
    w = np.empty(ROWS * LANES, np.float32)
    _start_full(w)
    for count in range(WARM_UP + YEAR):
        hour = (count - WARM_UP) % YEAR
        _read_hour(traces, hour, w)
        for lane in range(LANES):
            _lane_hour(w, lane, scales, controls, c)
        for row in range(len(OUTPUTS)):
            for lane in range(LANES):
                out[row, hour, lane] = w[OUT + row * LANES + lane]


@njit(nogil=True, error_model="numpy", forceinline=True)
def _start_full(w):
    for lane in range(LANES):
        w[SOC + lane] = ONE
        w[ON + lane] = ONE
        w[FREE + lane] = ONE


@njit(nogil=True, error_model="numpy", forceinline=True)
def _read_hour(traces, hour, w):
    """Copy the hour's rows into the local ones."""
    mpp, pwm, temp, essential, deferrable, peak, aux, always = traces
    for lane in range(LANES):
        w[MPP + lane] = mpp[hour, lane]
    for lane in range(LANES):
        w[PWM + lane] = pwm[hour, lane]
    for lane in range(LANES):
        w[TEMP + lane] = temp[hour, lane]
    for lane in range(LANES):
        w[ESSENTIAL + lane] = essential[hour, lane]
    for lane in range(LANES):
        w[DEFERRABLE + lane] = deferrable[hour, lane]
    for lane in range(LANES):
        w[PEAK + lane] = peak[hour, lane]
    for lane in range(LANES):
        w[AUX + lane] = aux[hour, lane]
    for lane in range(LANES):
        w[ALWAYS + lane] = always[hour, lane]


@njit(nogil=True, error_model="numpy", forceinline=True)
def _lane_hour(w, lane, scales, controls, c):
    """One hour of one lane of the local rows `w`."""
    a_mpp, a_pwm, limit, per_ah, standing, cable = scales
    terms = temperature_terms(w[TEMP + lane], c)
    state = w[SOC + lane], w[ON + lane], w[FREE + lane]
    hour = (
        w[MPP + lane] * a_mpp,
        w[PWM + lane] * a_pwm + limit,
        w[AUX + lane] * per_ah,
        w[ESSENTIAL + lane] * per_ah,
        w[DEFERRABLE + lane] * per_ah,
        w[ALWAYS + lane] * per_ah,
        w[PEAK + lane] * per_ah,
        standing,
        cable,
    )
    state, current, voltage, offer, accept, short_e, short_d, spilled, used, aux_used = step(
        state, hour, terms, controls, c
    )
    soc, on, free = state
    w[SOC + lane] = soc
    w[ON + lane] = on
    w[FREE + lane] = free
    w[OUT + lane] = soc
    w[OUT + LANES + lane] = current
    w[OUT + 2 * LANES + lane] = voltage
    w[OUT + 3 * LANES + lane] = offer
    w[OUT + 4 * LANES + lane] = accept
    w[OUT + 5 * LANES + lane] = short_e
    w[OUT + 6 * LANES + lane] = short_d
    w[OUT + 7 * LANES + lane] = spilled
    w[OUT + 8 * LANES + lane] = used
    w[OUT + 9 * LANES + lane] = aux_used


@driver
def run_autonomy(traces, scales, controls, c, starts, horizon, loss, first):
    """Hours from each start, with a full bank, to the first hour that leaves essential load unserved.

    Parameters
    ----------
    traces, scales, controls, c
        As in `run_members`.
    starts : int array [starts]
        Hours of the study year; the walk wraps round its end.
    horizon : int
        Hours at which the walk ends.
    loss : float32
        Unserved energy per Ah that counts [Wh/Ah].
    first : int32 array [starts, 64], written
        Hours until the first unserved one; `horizon` where there is none.
    """
    w = np.empty(ROWS * LANES, np.float32)
    for place in range(starts.size):
        _start_full(w)
        for lane in range(LANES):
            first[place, lane] = horizon
        for count in range(horizon):
            hour = (starts[place] + count) % YEAR
            _read_hour(traces, hour, w)
            for lane in range(LANES):
                _lane_hour(w, lane, scales, controls, c)
            open_lanes = 0
            for lane in range(LANES):
                failed = w[OUT + 5 * LANES + lane] > loss
                first[place, lane] = min(first[place, lane], count if failed else horizon)
                open_lanes += 1 if first[place, lane] == horizon else 0
            if open_lanes == 0:
                break


# Local rows of the sizing driver: states, scales, and what is counted.
D_MPP, D_PWM, D_LIMIT, D_LOAD, D_STANDING, D_CABLE = (i * LANES for i in range(STATES, STATES + SCALES))
D_COUNTED = STATES + SCALES
D_NIGHT, D_FIRST, D_HOURS, D_NIGHTS, D_ESSENTIAL, D_ALL = (i * LANES for i in range(D_COUNTED, D_COUNTED + 6))
D_ROWS = D_COUNTED + 6


@driver
def run_designs(traces, member, scales, controls, c, floors, totals):
    """Run 64 designs over one member of a block; only what sizing asks for is kept.

    Parameters
    ----------
    traces, controls, c
        As in `run_members`.
    member : int
        Column of the block.
    scales : float32 array [6, 64]
        As `scales` of `run_members`, a column a design.
    floors : tuple of float32
        Unserved essential energy of an hour that counts as lost, and that makes a night short [Wh].
    totals : float32 array [4, 64], written
        Loss-of-load hours, short nights, unserved essential and unserved total energy [Wh/Ah].
    """
    mpp, pwm, temp, essential, deferrable, peak, aux, always = traces
    loss_wh, night_wh = floors
    w = np.zeros(D_ROWS * LANES, np.float32)
    _start_full(w)
    for row in range(SCALES):
        for lane in range(LANES):
            w[D_MPP + row * LANES + lane] = scales[row, lane]
    for count in range(WARM_UP + YEAR):
        hour = (count - WARM_UP) % YEAR
        if count == WARM_UP:
            w[D_NIGHT:] = ZERO
        if hour % 24 == 12 and count > WARM_UP:
            _close_night(w, hour == 12)
        terms = temperature_terms(temp[hour, member], c)
        power, amps, other = mpp[hour, member], pwm[hour, member], aux[hour, member]
        need, extra, top = essential[hour, member], deferrable[hour, member], peak[hour, member]
        kept = always[hour, member]
        for lane in range(LANES):
            per_ah = w[D_LOAD + lane]
            state = w[SOC + lane], w[ON + lane], w[FREE + lane]
            met = (
                power * w[D_MPP + lane],
                amps * w[D_PWM + lane] + w[D_LIMIT + lane],
                other * per_ah,
                need * per_ah,
                extra * per_ah,
                kept * per_ah,
                top * per_ah,
                w[D_STANDING + lane],
                w[D_CABLE + lane],
            )
            state, _, _, _, _, short_e, short_d, _, _, _ = step(state, met, terms, controls, c)
            w[SOC + lane], w[ON + lane], w[FREE + lane] = state
            w[D_HOURS + lane] += ONE if short_e > loss_wh * per_ah else ZERO
            w[D_NIGHT + lane] = max(w[D_NIGHT + lane], ONE if short_e > night_wh * per_ah else ZERO)
            w[D_ESSENTIAL + lane] += short_e
            w[D_ALL + lane] += short_e + short_d
    for lane in range(LANES):
        last = max(w[D_NIGHT + lane], w[D_FIRST + lane])
        totals[0, lane] = w[D_HOURS + lane]
        totals[1, lane] = w[D_NIGHTS + lane] + last
        totals[2, lane] = w[D_ESSENTIAL + lane]
        totals[3, lane] = w[D_ALL + lane]


@njit(nogil=True, error_model="numpy", forceinline=True)
def _close_night(w, first_morning):
    """Count the night that ends at noon; the first morning belongs to the year's last night."""
    for lane in range(LANES):
        flag = w[D_NIGHT + lane]
        w[D_FIRST + lane] = flag if first_morning else w[D_FIRST + lane]
        w[D_NIGHTS + lane] += ZERO if first_morning else flag
        w[D_NIGHT + lane] = ZERO
