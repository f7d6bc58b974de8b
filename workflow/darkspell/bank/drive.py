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
    "unserved_essential", "unserved_deferrable", "spilled", "array_used",
)  # fmt: skip
YEAR, WARM_UP = int(HOURS), int(WARM_UP_HOURS)
# Places of the local rows, each LANES long.
SOC, ON, FREE, MPP, PWM, TEMP, ESSENTIAL, DEFERRABLE, PEAK = (i * LANES for i in range(9))
OUT = 9 * LANES
ROWS = 9 + len(OUTPUTS)

driver = njit(cache=True, nogil=True, error_model="numpy", fastmath=False)


@driver
def run_members(mpp, pwm, temp, essential, deferrable, peak, scales, tiers, c, out):
    """Run one design over 64 members, the last 60 days first, uncounted.

    Parameters
    ----------
    mpp, pwm, temp, essential, deferrable, peak : float32 arrays [8760, 64]
        Array power at its maximum [W], array current at bank voltage [A], bank temperature [degC],
        mean essential and deferrable load and the hour's peak load [W].
    scales : tuple of float32
        Factors per Ah of present capacity: ``(mpp, pwm, limit, load, standing, cable)``. The controller's
        efficiency and the design's share of the study's array are in the first two; `limit` and
        `standing` are the controller's limit [1/h] and the standing draw [W/Ah]; `cable` in V h.
    tiers : tuple of float32
        Shed and resume state of charge of deferrable loads.
    c : ChemistryNumbers
    out : float32 array [9, 8760, 64], written
        `OUTPUTS`, per Ah.
    """
    w = np.empty(ROWS * LANES, np.float32)
    for lane in range(LANES):
        w[SOC + lane] = ONE
        w[ON + lane] = ONE
        w[FREE + lane] = ONE
    for count in range(WARM_UP + YEAR):
        hour = (count - WARM_UP) % YEAR
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
            _lane_hour(w, lane, scales, tiers, c)
        for row in range(len(OUTPUTS)):
            for lane in range(LANES):
                out[row, hour, lane] = w[OUT + row * LANES + lane]


@njit(nogil=True, error_model="numpy", forceinline=True)
def _lane_hour(w, lane, scales, tiers, c):
    """One hour of one lane of the local rows `w`."""
    a_mpp, a_pwm, limit, per_ah, standing, cable = scales
    terms = temperature_terms(w[TEMP + lane], c)
    soc, on, free, current, voltage, offer, accept, short_e, short_d, spilled, used = step(
        w[SOC + lane],
        w[ON + lane],
        w[FREE + lane],
        w[MPP + lane] * a_mpp,
        w[PWM + lane] * a_pwm + limit,
        w[ESSENTIAL + lane] * per_ah,
        w[DEFERRABLE + lane] * per_ah,
        w[PEAK + lane] * per_ah,
        standing,
        cable,
        terms,
        tiers,
        c,
    )
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


@driver
def run_autonomy(mpp, pwm, temp, essential, deferrable, peak, scales, tiers, c, starts, horizon, loss, first):
    """Hours from each start, with a full bank, to the first hour that leaves essential load unserved.

    Parameters
    ----------
    mpp, pwm, temp, essential, deferrable, peak, scales, tiers, c
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
        for lane in range(LANES):
            w[SOC + lane] = ONE
            w[ON + lane] = ONE
            w[FREE + lane] = ONE
            first[place, lane] = horizon
        for count in range(horizon):
            hour = (starts[place] + count) % YEAR
            for lane in range(LANES):
                w[MPP + lane] = mpp[hour, lane]
                w[PWM + lane] = pwm[hour, lane]
                w[TEMP + lane] = temp[hour, lane]
            for lane in range(LANES):
                w[ESSENTIAL + lane] = essential[hour, lane]
                w[DEFERRABLE + lane] = deferrable[hour, lane]
                w[PEAK + lane] = peak[hour, lane]
            for lane in range(LANES):
                _lane_hour(w, lane, scales, tiers, c)
            open_lanes = 0
            for lane in range(LANES):
                failed = w[OUT + 5 * LANES + lane] > loss
                first[place, lane] = min(first[place, lane], count if failed else horizon)
                open_lanes += 1 if first[place, lane] == horizon else 0
            if open_lanes == 0:
                break


# Local rows of the sizing driver.
D_SOC, D_ON, D_FREE, D_MPP, D_PWM, D_LIMIT, D_LOAD, D_STANDING, D_CABLE = (i * LANES for i in range(9))
D_NIGHT, D_FIRST, D_HOURS, D_NIGHTS, D_ESSENTIAL, D_ALL = (i * LANES for i in range(9, 15))


@driver
def run_designs(
    mpp, pwm, temp, essential, deferrable, peak, member, scales, tiers, c, loss_wh, night_wh, totals
):
    """Run 64 designs over one member of a block; only what sizing asks for is kept.

    Parameters
    ----------
    mpp, pwm, temp, essential, deferrable, peak, tiers, c
        As in `run_members`.
    member : int
        Column of the block.
    scales : float32 array [6, 64]
        As `scales` of `run_members`, a column a design.
    loss_wh, night_wh : float32
        Unserved essential energy of an hour that counts as lost, and that makes a night short [Wh].
    totals : float32 array [4, 64], written
        Loss-of-load hours, short nights, unserved essential and unserved total energy [Wh/Ah].
    """
    w = np.zeros(15 * LANES, np.float32)
    for lane in range(LANES):
        w[D_SOC + lane] = ONE
        w[D_ON + lane] = ONE
        w[D_FREE + lane] = ONE
        for row in range(6):
            w[D_MPP + row * LANES + lane] = scales[row, lane]
    for count in range(WARM_UP + YEAR):
        hour = (count - WARM_UP) % YEAR
        if count == WARM_UP:
            w[D_NIGHT:] = ZERO
        if hour % 24 == 12 and count > WARM_UP:
            _close_night(w, hour == 12)
        terms = temperature_terms(temp[hour, member], c)
        power, amps = mpp[hour, member], pwm[hour, member]
        need, extra, top = essential[hour, member], deferrable[hour, member], peak[hour, member]
        for lane in range(LANES):
            per_ah = w[D_LOAD + lane]
            soc, on, free, _, _, _, _, short_e, short_d, _, _ = step(
                w[D_SOC + lane],
                w[D_ON + lane],
                w[D_FREE + lane],
                power * w[D_MPP + lane],
                amps * w[D_PWM + lane] + w[D_LIMIT + lane],
                need * per_ah,
                extra * per_ah,
                top * per_ah,
                w[D_STANDING + lane],
                w[D_CABLE + lane],
                terms,
                tiers,
                c,
            )
            w[D_SOC + lane] = soc
            w[D_ON + lane] = on
            w[D_FREE + lane] = free
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
