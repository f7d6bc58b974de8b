"""One pass of all counters of ampere-hours: count, dead band, clamps, and resets to full within the hour.

The count runs on hourly means of the current. A reset cannot: voltage and tail current meet the criteria
for minutes, see `darkspell.monitor.full_detection`. All counters of a study are walked together, on one
reading of the bank's hours and one draw of the flicker.
"""

import numpy as np

from darkspell.core.batches import LANES
from darkspell.core.fast_math import rate_share
from darkspell.core.jit import inlined, kernel
from darkspell.monitor.full_detection import (  # fmt: skip
    CASE,
    COUNTS,
    DEFICIT,
    DRIFT,
    EARLY,
    FACTOR,
    HIGH,
    INVERSE,
    LOW,
    NEVER,
    NONE,
    OFFSET,
    ONE,
    OUT,
    OWN,
    REFERENCE,
    RESETS,
    RUN,
    SCALE,
    SHARED,
    SPARE,
    STEPS,
    SURELY,
    TEMP,
    TODAY,
    TOTAL,
    ZERO,
    charge_hour,
    draw_listed,
    walk_listed,
    windows,
)

QUARTER, FASTEST = np.float32(0.25), np.float32(30.0)
APART = np.float32(0.1)


@kernel
def walk(seen, bank, errors, numbers, whole, groups, warm_up, floating, c, flicker, out):
    """Read `LANES` members' banks through counters, each shown alone or with others.

    Parameters
    ----------
    seen : float32 array [8760, LANES], or one of no hours where nothing is wired past a counter
        Current through the counters that see it [A].
    bank : tuple of float32 arrays [8760, LANES]
        ``(current, offer, accept, soc, temp)``.
    errors : float32 array [counters, 3, LANES]
        Scale [-], offset [A] and its drift [A/K].
    numbers : float32 array [counters, 10]
        See the unpacking in `count_hour`.
    whole : int64 array [counters, 2]
        Steps in a row that must meet the criteria, and 1 for a counter that sees `seen`, not the bank's current.
    groups : int64 array [groups, 3]
        First counter of a group and the one after its last; 1 where the lowest of them is shown, else their mean.
    warm_up : int
        Hours of the year's end that are walked first, uncounted.
    floating : tuple of float32
        ``(capacity, drop, factor)``: of the bank [Ah], how far the set point falls after the absorption time [V], and
        float32 [LANES] with the factor of each member's bank on that capacity [-].
    c : ChemistryNumbers
    flicker : tuple
        ``(members, key, table, sd)``: for `darkspell.monitor.full_detection.draw_listed`, and the standard deviation.
    out : tuple, written
        ``reading``, float32 [groups, 8760, LANES]; ``counts``, int64 [counters, 2, LANES]: days with a reset, and
        those on which the first came while the bank held too little; ``discharged``, float64 [counters, LANES]:
        charge counted as leaving [Ah]; ``apart``, int32 [groups, LANES]: hours in which counters of a group stand
        `APART` or more from each other.
    """
    hours, lanes = bank[0].shape  # a number of lanes known beforehand would be unrolled, not packed
    current, offer, accept, soc, temp = bank
    reading, counts, discharged, apart = out
    members, key, table, sd = flicker
    many, past = errors.shape[0], seen.shape[0] > 0
    w, amps = np.zeros(SHARED * LANES, np.float32), np.zeros((2, LANES), np.float32)
    own, k = np.zeros((many, OWN * LANES), np.float32), np.zeros((many, COUNTS * LANES), np.int32)
    cases, perhaps = np.zeros(many, np.int32), np.zeros(many, np.uint64)
    room = (
        np.zeros(LANES, np.uint32), np.zeros(LANES, np.int64),
        np.zeros(LANES * STEPS, np.int32), np.zeros(LANES, np.float32),
        np.zeros(LANES, np.int32), np.zeros(LANES, np.int32), np.zeros(LANES, np.int32),
    )  # fmt: skip
    for n in range(many):
        _begin(own, n, lanes, errors, soc, numbers[n, 2], floating[2], hours - warm_up - 1)
    for count in range(hours + warm_up):
        hour = (count - warm_up) % hours
        if count == warm_up:
            for n in range(many):
                _first_hour(own, k, n, lanes, current, soc, numbers, floating[2], warm_up)
            discharged[:] = 0.0
            apart[:] = 0
        if hour % 24 == 0:
            for n in range(many):
                _next_day(own, k, n, lanes, discharged)
        for lane in range(lanes):
            amps[0, lane] = current[hour, lane]
        if past:
            for lane in range(lanes):
                amps[1, lane] = seen[hour, lane]
        for lane in range(lanes):
            w[TEMP + lane] = temp[hour, lane]
        charging = charge_hour(w, lanes, offer, accept, soc, hour, floating, sd, c)
        listed = NONE
        for n in range(many):
            count_hour(w, own, n, lanes, amps, whole[n, 1], numbers)
            if charging:
                cases[n], perhaps[n] = windows(w, own, k, n, lanes, amps, whole[n, 1], numbers)
                listed |= perhaps[n]
        drawn = draw_listed(listed, hour, members, key, room) if listed > NONE else 0
        for n in range(many):
            if charging and cases[n] > NEVER:
                if perhaps[n] > NONE:
                    walk_listed(own, k, n, perhaps[n], drawn, whole[n, 0], table, room)
                settle(own, k, n, lanes, soc, hour, whole[n, 0], numbers[n, 5], w)
            else:
                for lane in range(lanes):
                    k[n, RUN + lane] = NEVER
        for group in range(groups.shape[0]):
            show(w, own, lanes, hour, groups, group, reading, apart)
    for n in range(many):
        _next_day(own, k, n, lanes, discharged)
        for lane in range(lanes):
            counts[n, 0, lane] = k[n, RESETS + lane]
            counts[n, 1, lane] = k[n, EARLY + lane]


@inlined
def _begin(own, n, lanes, errors, soc, ratio, factor, before):
    for lane in range(lanes):
        own[n, DEFICIT + lane] = ratio * factor[lane] * (ONE - soc[before, lane])
        own[n, SCALE + lane] = errors[n, 0, lane]
        own[n, INVERSE + lane] = ONE / errors[n, 0, lane]
        own[n, OFFSET + lane] = errors[n, 1, lane]
        own[n, DRIFT + lane] = errors[n, 2, lane]


@inlined
def _first_hour(own, k, n, lanes, current, soc, numbers, factor, warm_up):
    """Carry the error of the warm-up, not its reading, into the year; forget what it counted."""
    per_ah = numbers[n, 0]
    for lane in range(lanes):
        ratio = numbers[n, 2] * factor[lane]
        began = soc[0, lane] - current[0, lane] * per_ah / ratio
        error = own[n, DEFICIT + lane] - ratio * (ONE - soc[-1, lane])
        own[n, DEFICIT + lane] = max(ratio * (ONE - began) + (error if warm_up > 0 else ZERO), ZERO)
    for lane in range(lanes):
        own[n, OUT + lane] = ZERO
        k[n, RESETS + lane] = NEVER
        k[n, EARLY + lane] = NEVER


@inlined
def _next_day(own, k, n, lanes, discharged):
    for lane in range(lanes):
        discharged[n, lane] += own[n, OUT + lane]
        own[n, OUT + lane] = ZERO
        k[n, TODAY + lane] = NEVER


@inlined
def count_hour(w, own, n, lanes, through, row, numbers):
    """Add an hour's measured current, in a row of `through`, to the deficit, a share of the capacity set.

    Parameters
    ----------
    w : float32 array [SHARED * LANES]
        Rows that all counters of a walk share (`TEMP` to `SPARE`).
    own : float32 array [counters, OWN * LANES]
        Rows of each counter (`DEFICIT` to `INVERSE`): deficit [-], scale [-] and its inverse, offset [A], drift
        [A/K], charge counted as leaving today [Ah], window of the flicker [1/64 standard deviations].
    n, lanes : int
        Counter, and number of members.
    through : float32 array [2, LANES]
        Current of the bank, and through the shunt [A].
    row : int
        Which of the two the counter sees.
    numbers : float32 array [counters, 10]
        From `darkspell.monitor.shunt.counter_numbers`.

    Notes
    -----
    Equations 1 and 2 of `darkspell.monitor.reference`.
    """
    per_ah, efficiency, dead, rating = numbers[n, 0], numbers[n, 1], numbers[n, 6], numbers[n, 7]
    exponent, per_rate = numbers[n, 8], numbers[n, 9]
    if exponent > ZERO:
        for lane in range(lanes):
            rate = min(max(-through[row, lane] * per_rate, ONE), FASTEST)
            root = rate_share(rate, exponent * QUARTER)  # good up to an exponent of a quarter
            w[FACTOR + lane] = ONE / (root * root * (root * root))
    for lane in range(lanes):
        warmer = w[TEMP + lane] - REFERENCE
        amps = through[row, lane] * own[n, SCALE + lane]
        amps += own[n, OFFSET + lane] + own[n, DRIFT + lane] * warmer
        amps = min(max(amps, -rating), rating)
        amps = amps if abs(amps) >= dead else ZERO
        factor = w[FACTOR + lane] if exponent > ZERO else ONE
        left = own[n, DEFICIT + lane] - amps * per_ah * (efficiency if amps > ZERO else factor)
        own[n, DEFICIT + lane] = min(max(left, ZERO), ONE)
        own[n, OUT + lane] += max(-amps, ZERO)


@inlined
def settle(own, k, n, lanes, soc, hour, dwell, premature, w):
    """Reset the lanes that meet the criteria for long enough.

    Parameters
    ----------
    own : float32 array [counters, OWN * LANES]
        Rows of each counter (`DEFICIT` to `INVERSE`): deficit [-], scale [-] and its inverse, offset [A], drift
        [A/K], charge counted as leaving today [Ah], window of the flicker [1/64 standard deviations].
    k : int32 array [counters, COUNTS * LANES]
        Rows of each counter (`CASE` to `EARLY`): case of the hour, steps in a row, whether reset today, days with a
        reset, and those whose first came too soon.
    n, lanes : int
        Counter, and number of members.
    soc : float32 array [hours, LANES]
        Charge at the end of each hour [-].
    hour, dwell : int
        Hour of the year, and steps in a row that must meet the criteria.
    premature : float32
        Charge below which a reset comes too soon [-].
    w : float32 array [SHARED * LANES]
        Rows that all counters of a walk share (`TEMP` to `SPARE`).
    """
    wanted = np.int32(dwell)
    for lane in range(lanes):
        w[LOW + lane] = soc[hour, lane]
    for lane in range(lanes):
        case = k[n, CASE + lane]
        run = k[n, RUN + lane]
        run = run + np.int32(STEPS) if case == SURELY else run
        run = run if case != NEVER else NEVER
        full = run >= wanted
        fresh = full & (k[n, TODAY + lane] == NEVER)
        own[n, DEFICIT + lane] *= ZERO if full else ONE
        k[n, RESETS + lane] += np.int32(1) if fresh else NEVER
        k[n, EARLY + lane] += np.int32(1) if fresh & (w[LOW + lane] < premature) else NEVER
        k[n, TODAY + lane] |= np.int32(1) if full else NEVER
        k[n, RUN + lane] = min(run, wanted)


@inlined
def show(w, own, lanes, hour, groups, group, reading, apart):
    """What is shown of a group's counters, and whether they stand apart.

    Parameters
    ----------
    w : float32 array [SHARED * LANES]
        Rows that all counters of a walk share (`TEMP` to `SPARE`).
    own : float32 array [counters, OWN * LANES]
        Rows of each counter (`DEFICIT` to `INVERSE`): deficit [-], scale [-] and its inverse, offset [A], drift
        [A/K], charge counted as leaving today [Ah], window of the flicker [1/64 standard deviations].
    lanes, hour : int
    groups : int64 array [groups, 3]
        As `walk` takes it.
    group : int
    reading : float32 array [groups, hours, LANES], written
        [-].
    apart : int32 array [groups, LANES], added to
        Hours in which the counters differ by `APART` or more.
    """
    first, after, lowest = groups[group, 0], groups[group, 1], groups[group, 2]
    if after - first == 1:
        for lane in range(lanes):
            reading[group, hour, lane] = ONE - own[first, DEFICIT + lane]
        return
    for lane in range(lanes):
        one = ONE - own[first, DEFICIT + lane]
        w[LOW + lane] = one
        w[HIGH + lane] = one
        w[TOTAL + lane] = one
    for n in range(first + 1, after):
        _join(w, own, n, lanes)
    share = ONE if lowest else np.float32(1.0 / (after - first))
    for lane in range(lanes):
        reading[group, hour, lane] = (w[LOW + lane] if lowest else w[TOTAL + lane]) * share
    for lane in range(lanes):
        apart[group, lane] += np.int32(w[HIGH + lane] - w[LOW + lane] >= APART)


@inlined
def _join(w, own, n, lanes):
    """Take in one more counter, through spare rows: what is kept by a condition would become a masked store."""
    for lane in range(lanes):
        one = ONE - own[n, DEFICIT + lane]
        w[SPARE + lane] = min(w[LOW + lane], one)
        w[SPARE + LANES + lane] = max(w[HIGH + lane], one)
        w[SPARE + 2 * LANES + lane] = w[TOTAL + lane] + one
    for lane in range(lanes):
        w[LOW + lane] = w[SPARE + lane]
        w[HIGH + lane] = w[SPARE + LANES + lane]
        w[TOTAL + lane] = w[SPARE + 2 * LANES + lane]
