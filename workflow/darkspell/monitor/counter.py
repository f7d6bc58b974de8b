"""The walk of whatever counts ampere-hours: count, dead zone, clamps, and resets to full within the hour.

The count runs on hourly means of the current. A reset cannot: voltage and tail current meet the criteria
for minutes. In an hour of charging the charger's offer flickers about its mean as under broken cloud, in
five-minute steps; the terminal voltage of a step is the set point if the offer reaches what the bank
accepts, and below that lies on the straight line from the open-circuit voltage, at no current, to the set
point, at the accepted one (less where the bank's greatest current ends the line sooner). Both criteria
together therefore hold for a window of the flicker. The window is found for all lanes at once; only where
it neither holds all flicker nor none are the steps drawn.
"""

import numpy as np

from darkspell.bank.drive import LANES
from darkspell.bank.powers import rate_share
from darkspell.bank.step import open_circuit, temperature_terms
from darkspell.draws import quick_normals
from darkspell.kernels import inlined, kernel, shared_part
from darkspell.monitor.settings import STEP_MINUTES

STEPS = 60 // STEP_MINUTES
DRAWS = STEPS // 4  # a draw gives four numbers
ZERO, ONE, TINY = np.float32(0.0), np.float32(1.0), np.float32(1e-9)
WIDEST = np.float32(3.8)  # beyond the flicker's last step, see `darkspell.draws.quick_normals`
BEYOND = np.float32(100.0)
NEARLY = np.float32(0.999)
REFERENCE = np.float32(25.0)
QUARTER, FASTEST = np.float32(0.25), np.float32(30.0)
NEVER, PERHAPS, SURELY = np.int32(0), np.int32(1), np.int32(2)
# Rows that all counters of one walk share, those of each counter, and its whole numbers.
SEEN, TEMP, CURRENT, OFFER, ACCEPT, SOC, OPEN, RISE, LOW, HIGH, TOTAL, FACTOR = (n * LANES for n in range(12))
SPARE = 12 * LANES
SHARED = 15
DEFICIT, SCALE, OFFSET, DRIFT, OUT, FROM, UPTO = (n * LANES for n in range(7))
OWN = 7
CASE, RUN, TODAY, RESETS, EARLY = (n * LANES for n in range(5))
COUNTS = 5
APART = np.float32(0.1)


@kernel
def walk(
    seen, bank, errors, numbers, dwell, warm_up, floating, c, flicker, lowest, reading, counts, discharged, apart
):  # fmt: skip
    """Read up to `LANES` members' banks through one counter, or several alike.

    Counters of one walk differ in their errors alone. The flicker is one draw for all of them.

    Parameters
    ----------
    seen : float32 array [8760, L]
        Current through the counters [A].
    bank : tuple of float32 arrays [8760, L]
        ``(current, offer, accept, soc, temp)``.
    errors : float32 array [counters, 3, L]
        Scale [-], offset [A] and its drift [A/K].
    numbers : tuple of float32
        See the unpacking; flicker's standard deviation last.
    dwell : int
        Steps in a row that must meet the criteria.
    warm_up : int
        Hours of the year's end that are walked first, uncounted.
    floating : tuple of float32
        ``(capacity, drop)``: of the bank [Ah], and how far the set point falls after the absorption time [V].
    c : ChemistryNumbers
    flicker : tuple
        ``(members, key, table)`` for `quick_normals`.
    lowest : bool
        Whether the lowest of the counters is shown, or their mean.
    reading : float32 array [8760, L], written
    counts : int64 array [counters, 2, L], written
        Days with a reset, and those on which the first came while the bank held too little.
    discharged : float64 array [counters, L], written
        Charge counted as leaving [Ah].
    apart : int32 array [L], written
        Hours in which counters stand `APART` or more from each other.
    """
    hours, lanes = seen.shape
    many, ratio = errors.shape[0], numbers[2]
    w = np.zeros(SHARED * LANES, np.float32)
    own, k = np.zeros((many, OWN * LANES), np.float32), np.zeros((many, COUNTS * LANES), np.int32)
    noise, drawn = np.empty((LANES * DRAWS, STEPS // DRAWS)), np.zeros(LANES, np.int32)
    for n in range(many):
        for lane in range(lanes):
            own[n, DEFICIT + lane] = ratio * (ONE - bank[3][hours - warm_up - 1, lane])
            own[n, SCALE + lane] = errors[n, 0, lane]
            own[n, OFFSET + lane] = errors[n, 1, lane]
            own[n, DRIFT + lane] = errors[n, 2, lane]
    for count in range(hours + warm_up):
        hour = (count - warm_up) % hours
        if count == warm_up:
            for n in range(many):
                _first_hour(own[n], k[n], lanes, bank, numbers, warm_up, discharged[n])
            apart[:] = 0
        if hour % 24 == 0:
            for n in range(many):
                _next_day(own[n], k[n], lanes, discharged[n])
        for lane in range(lanes):
            w[SEEN + lane] = seen[hour, lane]
        for lane in range(lanes):
            w[TEMP + lane] = bank[4][hour, lane]
        charging = charge_hour(w, lanes, bank, hour, floating, c)
        if charging:
            drawn[:] = NEVER
        for n in range(many):
            count_hour(w, own[n], numbers)
            if charging:
                sure, perhaps = windows(w, own[n], k[n], numbers)
                if sure + perhaps > 0:
                    if perhaps > 0:
                        draw_runs(own[n], k[n], lanes, hour, dwell, flicker, noise, drawn)
                    settle(own[n], k[n], bank[3], hour, lanes, dwell, numbers, w)
                    continue
            _rest(k[n])
        show(w, own, hour, lanes, lowest, reading, apart)
    for n in range(many):
        _next_day(own[n], k[n], lanes, discharged[n])
        for lane in range(lanes):
            counts[n, 0, lane] = k[n, RESETS + lane]
            counts[n, 1, lane] = k[n, EARLY + lane]


@inlined
def _first_hour(own, k, lanes, bank, numbers, warm_up, discharged):
    """Carry the error of the warm-up, not its reading, into the year; forget what it counted."""
    per_ah, ratio = numbers[0], numbers[2]
    hours = bank[3].shape[0]
    for lane in range(lanes):
        began = bank[3][0, lane] - bank[0][0, lane] * per_ah / ratio
        error = own[DEFICIT + lane] - ratio * (ONE - bank[3][hours - 1, lane])
        own[DEFICIT + lane] = max(ratio * (ONE - began) + (error if warm_up > 0 else ZERO), ZERO)
    discharged[:] = 0.0
    own[OUT : OUT + LANES] = ZERO
    k[RESETS : RESETS + LANES] = NEVER
    k[EARLY : EARLY + LANES] = NEVER


@inlined
def _rest(k):
    for lane in range(LANES):
        k[RUN + lane] = NEVER


@inlined
def _next_day(own, k, lanes, discharged):
    for lane in range(lanes):
        discharged[lane] += own[OUT + lane]
    own[OUT : OUT + LANES] = ZERO
    k[TODAY : TODAY + LANES] = NEVER


@inlined
def count_hour(w, own, numbers):
    """Add an hour's measured current to the deficit, a share of the capacity set."""
    per_ah, efficiency, _, _, _, _, dead, rating, exponent, per_rate, _ = numbers
    if exponent > ZERO:
        for lane in range(LANES):
            rate = min(max(-w[SEEN + lane] * per_rate, ONE), FASTEST)
            root = rate_share(rate, exponent * QUARTER)  # good up to an exponent of a quarter
            w[FACTOR + lane] = ONE / (root * root * (root * root))
    for lane in range(LANES):
        warmer = w[TEMP + lane] - REFERENCE
        amps = w[SEEN + lane] * own[SCALE + lane] + (own[OFFSET + lane] + own[DRIFT + lane] * warmer)
        amps = min(max(amps, -rating), rating)
        amps = amps if abs(amps) >= dead else ZERO
        factor = w[FACTOR + lane] if exponent > ZERO else ONE
        left = own[DEFICIT + lane] - amps * per_ah * (efficiency if amps > ZERO else factor)
        own[DEFICIT + lane] = min(max(left, ZERO), ONE)
        own[OUT + lane] += max(-amps, ZERO)


@inlined
def charge_hour(w, lanes, bank, hour, floating, c):
    """What all counters see of an hour's charging; whether there is any.

    After the absorption time the bank accepts less than its charge and warmth would let it: there the chargers'
    voltage has fallen.
    """
    current, offer, accept, soc, _ = bank
    capacity, drop = floating
    charging = NEVER
    for lane in range(lanes):
        w[OFFER + lane] = offer[hour, lane]
    for lane in range(LANES):
        charging += np.int32(1) if w[OFFER + lane] > ZERO else NEVER
    if charging == 0:
        return False
    for lane in range(lanes):
        w[CURRENT + lane] = current[hour, lane]
    for lane in range(lanes):
        w[ACCEPT + lane] = accept[hour, lane]
    for lane in range(lanes):
        w[SOC + lane] = soc[hour - 1, lane]
    for lane in range(LANES):
        ocv = open_circuit(w[SOC + lane], c)
        w[OPEN + lane] = ocv
        w[RISE + lane] = max(temperature_terms(w[TEMP + lane], c)[0] - ocv, ZERO)
    if drop > ZERO:
        for lane in range(LANES):
            most = min(temperature_terms(w[TEMP + lane], c)[2], c.accept_taper * (ONE - w[SOC + lane]))
            fallen = drop if w[ACCEPT + lane] < NEARLY * most * capacity else ZERO
            w[RISE + lane] = max(w[RISE + lane] - fallen, ZERO)
    for lane in range(LANES):
        most = temperature_terms(w[TEMP + lane], c)[2]
        reached = min(most / max(c.accept_taper * (ONE - w[SOC + lane]), TINY), ONE)
        w[RISE + lane] *= reached if most > ZERO else ONE
    return True


@inlined
def windows(w, own, k, numbers):
    """Window of the flicker that meets the criteria in each lane; how many lanes reset surely, and perhaps."""
    _, _, _, full, tail, _, _, _, _, _, sd = numbers
    for lane in range(LANES):
        offered, accepted = w[OFFER + lane], w[ACCEPT + lane]
        ocv, rise = w[OPEN + lane], w[RISE + lane]
        least = accepted * max(full - ocv, ZERO) / max(rise, TINY)
        zero = own[OFFSET + lane] + own[DRIFT + lane] * (w[TEMP + lane] - REFERENCE)
        most = (tail - zero) / own[SCALE + lane] - (w[SEEN + lane] - w[CURRENT + lane])
        per = ONE / (max(offered, TINY) * sd)
        low = min(max((least - offered) * per, -BEYOND), BEYOND)
        high = BEYOND if accepted <= most else min(max((most - offered) * per, -BEYOND), BEYOND)
        own[FROM + lane] = low
        own[UPTO + lane] = high
        could = (offered > ZERO) & (ocv + rise >= full) & (low <= min(high, WIDEST)) & (high >= -WIDEST)
        could &= (k[TODAY + lane] == NEVER) | (own[DEFICIT + lane] > ZERO)
        case = SURELY if (low <= -WIDEST) & (high >= WIDEST) else PERHAPS
        k[CASE + lane] = case if could else NEVER
    sure, perhaps = NEVER, NEVER
    for lane in range(LANES):
        sure += k[CASE + lane] >> np.int32(1)
    for lane in range(LANES):
        perhaps += k[CASE + lane] & np.int32(1)
    return sure, perhaps


@inlined
def draw_runs(own, k, lanes, hour, dwell, flicker, noise, drawn):
    """Walk the steps of the lanes that perhaps reset; what one counter has drawn serves the next."""
    members, key, table = flicker
    for lane in range(lanes):
        if k[CASE + lane] == PERHAPS:
            for draw in range(DRAWS):
                some = noise[DRAWS * lane + draw]
                if drawn[lane] <= draw:
                    quick_normals(key, DRAWS * hour + draw, members[lane], table, some)
                    drawn[lane] = np.int32(draw + 1)
                k[RUN + lane] = steps_within(
                    some, own[FROM + lane], own[UPTO + lane], k[RUN + lane], np.int32(dwell)
                )
                if k[RUN + lane] >= dwell:
                    break


@inlined
def settle(own, k, soc, hour, lanes, dwell, numbers, w):
    """Reset the lanes that meet the criteria for long enough."""
    premature = numbers[5]
    for lane in range(lanes):
        w[LOW + lane] = soc[hour, lane]
    for lane in range(LANES):
        case = k[CASE + lane]
        run = k[RUN + lane]
        run = run + np.int32(STEPS) if case == SURELY else run
        run = run if case != NEVER else NEVER
        full = run >= dwell
        fresh = full & (k[TODAY + lane] == NEVER)
        own[DEFICIT + lane] *= ZERO if full else ONE
        k[RESETS + lane] += np.int32(1) if fresh else NEVER
        k[EARLY + lane] += np.int32(1) if fresh & (w[LOW + lane] < premature) else NEVER
        k[TODAY + lane] |= np.int32(1) if full else NEVER
        k[RUN + lane] = min(run, np.int32(dwell))


@inlined
def show(w, own, hour, lanes, lowest, reading, apart):
    """What is shown of all counters, and whether they stand apart."""
    many, first = own.shape[0], own[0]
    if many == 1:
        for lane in range(lanes):
            reading[hour, lane] = ONE - first[DEFICIT + lane]
        return
    for lane in range(LANES):
        one = ONE - first[DEFICIT + lane]
        w[LOW + lane] = one
        w[HIGH + lane] = one
        w[TOTAL + lane] = one
    for n in range(1, many):
        _join(w, own[n])
    share, shown = np.float32(1.0 / many), LOW if lowest else TOTAL
    share = ONE if lowest else share
    for lane in range(lanes):
        reading[hour, lane] = w[shown + lane] * share
    for lane in range(lanes):
        apart[lane] += np.int32(w[HIGH + lane] - w[LOW + lane] >= APART)


@inlined
def _join(w, own):
    """Take in one more counter, through spare rows: what is kept by a condition would become a masked store."""
    for lane in range(LANES):
        one = ONE - own[DEFICIT + lane]
        w[SPARE + lane] = min(w[LOW + lane], one)
        w[SPARE + LANES + lane] = max(w[HIGH + lane], one)
        w[SPARE + 2 * LANES + lane] = w[TOTAL + lane] + one
    for lane in range(LANES):
        w[LOW + lane] = w[SPARE + lane]
        w[HIGH + lane] = w[SPARE + LANES + lane]
        w[TOTAL + lane] = w[SPARE + 2 * LANES + lane]


@shared_part
def steps_within(noise, low, high, run, dwell):
    """Steps in a row, up to `dwell`, within the window, after an hour that began with `run` of them.

    Without a branch: whether a step of noise lies within is nothing that a processor could foresee.
    """
    most = NEVER
    for step in range(noise.size):
        run = (run + np.int32(1)) * np.int32((noise[step] >= low) & (noise[step] <= high))
        most = max(most, run)
    return dwell if most >= dwell else run
