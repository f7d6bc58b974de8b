"""The walk of whatever counts ampere-hours: count, dead zone, clamps, and resets to full within the hour.

The count runs on hourly means of the current. A reset cannot: voltage and tail current meet the criteria
for minutes. In an hour of charging the charger's offer flickers about its mean as under broken cloud, in
five-minute steps; the terminal voltage of a step is the set point if the offer reaches what the bank
accepts, and below that lies on the straight line from the open-circuit voltage, at no current, to the set
point, at the accepted one. Both criteria together therefore hold for a window of the flicker. The window
is found for all lanes at once; only where it neither holds all flicker nor none are the steps drawn.
"""

import numpy as np

from darkspell.bank.drive import LANES
from darkspell.bank.step import open_circuit, rate_share, temperature_terms
from darkspell.draws import quick_normals
from darkspell.kernels import inlined, kernel, shared_part
from darkspell.monitor.settings import STEP_MINUTES

STEPS = 60 // STEP_MINUTES
DRAWS = STEPS // 4  # a draw gives four numbers
ZERO, ONE, TINY = np.float32(0.0), np.float32(1.0), np.float32(1e-9)
WIDEST = np.float32(3.8)  # beyond the flicker's last step, see `darkspell.draws.quick_normals`
BEYOND = np.float32(100.0)
REFERENCE = np.float32(25.0)
QUARTER, FASTEST = np.float32(0.25), np.float32(30.0)
NEVER, PERHAPS, SURELY = np.int32(0), np.int32(1), np.int32(2)
DEFICIT, SCALE, OFFSET, DRIFT, SEEN, TEMP, FACTOR, OUT, CURRENT, OFFER, ACCEPT, SOC, LOW, HIGH = (
    n * LANES for n in range(14)
)
ROWS = 14
CASE, RUN, TODAY, RESETS, EARLY = (n * LANES for n in range(5))
COUNTS = 5


@kernel
def walk(seen, bank, errors, numbers, dwell, warm_up, c, flicker, reading, counts, discharged):
    """Read up to `LANES` members' banks through one counter.

    Parameters
    ----------
    seen : float32 array [8760, L]
        Current through the counter [A].
    bank : tuple of float32 arrays [8760, L]
        ``(current, offer, accept, soc, temp)``.
    errors : tuple of float32 arrays [L]
        Scale [-], offset [A] and its drift [A/K].
    numbers : tuple of float32
        See the unpacking; flicker's standard deviation last.
    dwell : int
        Steps in a row that must meet the criteria.
    warm_up : int
        Hours of the year's end that are walked first, uncounted.
    c : ChemistryNumbers
    flicker : tuple
        ``(members, key, table)`` for `quick_normals`.
    reading : float32 array [8760, L], written
    counts : int64 array [2, L], written
        Days with a reset, and those on which the first came while the bank held too little.
    discharged : float64 array [L], written
        Charge counted as leaving [Ah].
    """
    hours, lanes = seen.shape
    ratio = numbers[2]
    w, k = np.zeros(ROWS * LANES, np.float32), np.zeros(COUNTS * LANES, np.int32)
    noise = np.empty(STEPS // DRAWS)
    for lane in range(lanes):
        w[DEFICIT + lane] = ratio * (ONE - bank[3][hours - warm_up - 1, lane])
        w[SCALE + lane] = errors[0][lane]
        w[OFFSET + lane] = errors[1][lane]
        w[DRIFT + lane] = errors[2][lane]
    for count in range(hours + warm_up):
        hour = (count - warm_up) % hours
        if count == warm_up:
            _first_hour(w, k, lanes, bank, numbers, warm_up, discharged)
        if hour % 24 == 0:
            _next_day(w, k, lanes, discharged)
        count_hour(w, lanes, seen, bank[4], hour, numbers)
        sure, perhaps = windows(w, k, lanes, bank, hour, numbers, c)
        if sure + perhaps == 0:
            for lane in range(LANES):
                k[RUN + lane] = NEVER
        else:
            settle(w, k, bank[3], hour, lanes, dwell, numbers, flicker, noise, perhaps)
        for lane in range(lanes):
            reading[hour, lane] = ONE - w[DEFICIT + lane]
    _next_day(w, k, lanes, discharged)
    for lane in range(lanes):
        counts[0, lane] = k[RESETS + lane]
        counts[1, lane] = k[EARLY + lane]


@inlined
def _first_hour(w, k, lanes, bank, numbers, warm_up, discharged):
    """Carry the error of the warm-up, not its reading, into the year; forget what it counted."""
    per_ah, ratio = numbers[0], numbers[2]
    hours = bank[3].shape[0]
    for lane in range(lanes):
        began = bank[3][0, lane] - bank[0][0, lane] * per_ah / ratio
        error = w[DEFICIT + lane] - ratio * (ONE - bank[3][hours - 1, lane])
        w[DEFICIT + lane] = max(ratio * (ONE - began) + (error if warm_up > 0 else ZERO), ZERO)
    discharged[:] = 0.0
    w[OUT : OUT + LANES] = ZERO
    k[RESETS : RESETS + LANES] = NEVER
    k[EARLY : EARLY + LANES] = NEVER


@inlined
def _next_day(w, k, lanes, discharged):
    for lane in range(lanes):
        discharged[lane] += w[OUT + lane]
    w[OUT : OUT + LANES] = ZERO
    k[TODAY : TODAY + LANES] = NEVER


@inlined
def count_hour(w, lanes, seen, temp, hour, numbers):
    """Add an hour's measured current to the deficit, a share of the capacity set."""
    per_ah, efficiency, _, _, _, _, dead, rating, exponent, per_rate, _ = numbers
    for lane in range(lanes):
        w[SEEN + lane] = seen[hour, lane]
    for lane in range(lanes):
        w[TEMP + lane] = temp[hour, lane]
    if exponent > ZERO:
        for lane in range(LANES):
            rate = min(max(-w[SEEN + lane] * per_rate, ONE), FASTEST)
            root = rate_share(rate, exponent * QUARTER)  # good up to an exponent of a quarter
            w[FACTOR + lane] = ONE / (root * root * (root * root))
    for lane in range(LANES):
        warmer = w[TEMP + lane] - REFERENCE
        amps = w[SEEN + lane] * w[SCALE + lane] + (w[OFFSET + lane] + w[DRIFT + lane] * warmer)
        amps = min(max(amps, -rating), rating)
        amps = amps if abs(amps) >= dead else ZERO
        factor = w[FACTOR + lane] if exponent > ZERO else ONE
        left = w[DEFICIT + lane] - amps * per_ah * (efficiency if amps > ZERO else factor)
        w[DEFICIT + lane] = min(max(left, ZERO), ONE)
        w[OUT + lane] += max(-amps, ZERO)


@inlined
def windows(w, k, lanes, bank, hour, numbers, c):
    """Window of the flicker that meets the criteria in each lane; how many lanes reset surely, and perhaps."""
    _, _, _, full, tail, _, _, _, _, _, sd = numbers
    current, offer, accept, soc, _ = bank
    charging = NEVER
    for lane in range(lanes):
        w[OFFER + lane] = offer[hour, lane]
    for lane in range(LANES):
        charging += np.int32(1) if w[OFFER + lane] > ZERO else NEVER
    if charging == 0:
        return NEVER, NEVER
    for lane in range(lanes):
        w[CURRENT + lane] = current[hour, lane]
    for lane in range(lanes):
        w[ACCEPT + lane] = accept[hour, lane]
    for lane in range(lanes):
        w[SOC + lane] = soc[hour - 1, lane]
    for lane in range(LANES):
        offered, accepted = w[OFFER + lane], w[ACCEPT + lane]
        ocv = open_circuit(w[SOC + lane], c)
        rise = max(temperature_terms(w[TEMP + lane], c)[0] - ocv, ZERO)
        least = accepted * max(full - ocv, ZERO) / max(rise, TINY)
        zero = w[OFFSET + lane] + w[DRIFT + lane] * (w[TEMP + lane] - REFERENCE)
        most = (tail - zero) / w[SCALE + lane] - (w[SEEN + lane] - w[CURRENT + lane])
        per = ONE / (max(offered, TINY) * sd)
        low = min(max((least - offered) * per, -BEYOND), BEYOND)
        high = BEYOND if accepted <= most else min(max((most - offered) * per, -BEYOND), BEYOND)
        w[LOW + lane] = low
        w[HIGH + lane] = high
        could = (offered > ZERO) & (ocv + rise >= full) & (low <= min(high, WIDEST)) & (high >= -WIDEST)
        could &= (k[TODAY + lane] == NEVER) | (w[DEFICIT + lane] > ZERO)
        case = SURELY if (low <= -WIDEST) & (high >= WIDEST) else PERHAPS
        k[CASE + lane] = case if could else NEVER
    sure, perhaps = NEVER, NEVER
    for lane in range(LANES):
        sure += k[CASE + lane] >> np.int32(1)
    for lane in range(LANES):
        perhaps += k[CASE + lane] & np.int32(1)
    return sure, perhaps


@inlined
def settle(w, k, soc, hour, lanes, dwell, numbers, flicker, noise, perhaps):
    """Reset the lanes that meet the criteria for long enough."""
    members, key, table = flicker
    premature = numbers[5]
    if perhaps > 0:
        for lane in range(lanes):
            if k[CASE + lane] == PERHAPS:
                for draw in range(DRAWS):
                    quick_normals(key, DRAWS * hour + draw, members[lane], table, noise)
                    k[RUN + lane] = steps_within(
                        noise, w[LOW + lane], w[HIGH + lane], k[RUN + lane], np.int32(dwell)
                    )
                    if k[RUN + lane] >= dwell:
                        break
    for lane in range(lanes):
        w[SOC + lane] = soc[hour, lane]
    for lane in range(LANES):
        case = k[CASE + lane]
        run = k[RUN + lane]
        run = run + np.int32(STEPS) if case == SURELY else run
        run = run if case != NEVER else NEVER
        full = run >= dwell
        fresh = full & (k[TODAY + lane] == NEVER)
        w[DEFICIT + lane] = ZERO if full else w[DEFICIT + lane]
        k[RESETS + lane] += np.int32(1) if fresh else NEVER
        k[EARLY + lane] += np.int32(1) if fresh & (w[SOC + lane] < premature) else NEVER
        k[TODAY + lane] = np.int32(1) if full else k[TODAY + lane]
        k[RUN + lane] = min(run, np.int32(dwell))


@shared_part
def steps_within(noise, low, high, run, dwell):
    """Steps in a row, up to `dwell`, within the window, after an hour that began with `run` of them."""
    for step in range(noise.size):
        run = run + np.int32(1) if (noise[step] >= low) & (noise[step] <= high) else NEVER
        if run >= dwell:
            break
    return run
