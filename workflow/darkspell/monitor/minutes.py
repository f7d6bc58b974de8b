"""Within the hour: when voltage and tail current meet a counter's criteria of full, in five-minute steps.

In an hour of charging the charger's offer flickers about its mean as under broken cloud. The terminal voltage of a
step is the set point if the offer reaches what the bank accepts, and below that lies on the straight line from the
open-circuit voltage, at no current, to the set point, at the accepted one (less where the bank's greatest current
ends the line sooner). Both criteria together therefore hold for a window of the flicker. The window is found for all
lanes at once; only where it neither holds all flicker nor none are the steps drawn.

A step's place in the flicker's distribution has ten bits of its own and eight finer ones that it shares with its
hour: so one draw serves all twelve. The window is put on the same scale, two look-ups in place of twelve.
"""

import numpy as np

from darkspell.bank.drive import LANES
from darkspell.bank.step import open_circuit, temperature_terms
from darkspell.draws import short_philox
from darkspell.kernels import inlined, shared_part
from darkspell.monitor.settings import STEP_MINUTES

STEPS = 60 // STEP_MINUTES
ZERO, ONE, TINY = np.float32(0.0), np.float32(1.0), np.float32(1e-9)
PLACES = 1024  # of a step in the distribution
BITS, MASK, PER_WORD, FINE = np.uint64(10), np.uint64(PLACES - 1), 3, np.uint64(30)
WIDEST = np.float32(3.8)  # standard deviations; a window that reaches so far holds all flicker on its side
BEYOND = np.float32(100.0)
EDGE, PER_SD = np.float32(4.0), np.float32(64.0)  # of `flicker_table`
LAST = np.float32(2 * 4 * 64 - 1)
NEARLY = np.float32(0.999)
REFERENCE = np.float32(25.0)
NEVER, PERHAPS, SURELY = np.int32(0), np.int32(1), np.int32(2)
# Rows that all counters of one walk share, those of each counter, and its whole numbers.
TEMP, OFFER, ACCEPT, SOC, OPEN, SLOPE, PER, TOP, LOW, HIGH, TOTAL, FACTOR = (n * LANES for n in range(12))
SPARE = 12 * LANES
SHARED = 15
DEFICIT, SCALE, OFFSET, DRIFT, OUT, FROM, UPTO, INVERSE = (n * LANES for n in range(8))
OWN = 8
CASE, RUN, TODAY, RESETS, EARLY = (n * LANES for n in range(5))
COUNTS = 5


def flicker_table():
    """Places below each standard deviation from -4 to 4 in steps of 1/64, of `PLACES`; float32 [513], for `runs`.

    The two ends are nought and all, so that nothing lies beyond them; rounded to 2**-10.
    """
    from scipy.special import ndtr

    share = ndtr(np.arange(-4 * 64, 4 * 64 + 1) / 64.0)
    share[[0, -1]] = 0.0, 1.0
    return (np.round(share * PLACES * 1024.0) / 1024.0).astype(np.float32)


@inlined
def charge_hour(w, lanes, offer, accept, soc, hour, floating, sd, c):
    """What all counters see of an hour's charging; whether there is any.

    After the absorption time the bank accepts less than its charge and warmth would let it: there the chargers'
    voltage has fallen.
    """
    capacity, drop = floating
    charging = NEVER
    for lane in range(lanes):
        w[OFFER + lane] = offer[hour, lane]
    for lane in range(lanes):
        charging |= np.float32(w[OFFER + lane]).view(
            np.int32
        )  # never negative: a sum of float32 would not be packed
    if charging == 0:
        return False
    for lane in range(lanes):
        w[ACCEPT + lane] = accept[hour, lane]
    for lane in range(lanes):
        w[SOC + lane] = soc[hour - 1, lane]
    for lane in range(lanes):
        w[TOP + lane] = temperature_terms(w[TEMP + lane], c)[0]
    if drop > ZERO:
        for lane in range(lanes):
            most = min(temperature_terms(w[TEMP + lane], c)[2], c.accept_taper * (ONE - w[SOC + lane]))
            fallen = drop if w[ACCEPT + lane] < NEARLY * most * capacity else ZERO
            w[TOP + lane] -= fallen
    for lane in range(lanes):
        ocv = open_circuit(w[SOC + lane], c)
        most = temperature_terms(w[TEMP + lane], c)[2]
        reached = min(most / max(c.accept_taper * (ONE - w[SOC + lane]), TINY), ONE)
        rise = max(w[TOP + lane] - ocv, ZERO) * (reached if most > ZERO else ONE)
        w[OPEN + lane] = ocv
        w[TOP + lane] = ocv + rise
        w[SLOPE + lane] = w[ACCEPT + lane] / max(rise, TINY)
        w[PER + lane] = ONE / (max(w[OFFER + lane], TINY) * sd)
    return True


@inlined
def windows(w, own, k, n, lanes, through, row, numbers):
    """Window of the flicker that meets a counter's criteria in each lane; how many reset surely, and perhaps.

    Its own current is a row of `through`, the bank's the first.
    """
    full, tail = numbers[n, 3], numbers[n, 4]
    for lane in range(lanes):
        offered, accepted, per = w[OFFER + lane], w[ACCEPT + lane], w[PER + lane]
        least = w[SLOPE + lane] * max(full - w[OPEN + lane], ZERO)
        zero = own[n, OFFSET + lane] + own[n, DRIFT + lane] * (w[TEMP + lane] - REFERENCE)
        most = (tail - zero) * own[n, INVERSE + lane] - (through[row, lane] - through[0, lane])
        low = min(max((least - offered) * per, -BEYOND), BEYOND)
        high = BEYOND if accepted <= most else min(max((most - offered) * per, -BEYOND), BEYOND)
        own[n, FROM + lane] = low
        own[n, UPTO + lane] = high
        could = (offered > ZERO) & (w[TOP + lane] >= full) & (low <= min(high, WIDEST)) & (high >= -WIDEST)
        could &= (k[n, TODAY + lane] == NEVER) | (own[n, DEFICIT + lane] > ZERO)
        case = SURELY if (low <= -WIDEST) & (high >= WIDEST) else PERHAPS
        k[n, CASE + lane] = case if could else NEVER
    sure, perhaps = NEVER, NEVER
    for lane in range(lanes):
        sure += k[n, CASE + lane] >> np.int32(1)
    for lane in range(lanes):
        perhaps += k[n, CASE + lane] & np.int32(1)
    return sure, perhaps


@inlined
def draw_runs(own, k, n, lanes, hour, dwell, members, key, table, room):
    """Walk the steps of the lanes that perhaps reset; what one counter has drawn serves the next."""
    some, drawn, places, fine = room
    count = np.uint32(0)
    for lane in range(lanes):  # a list first: a branch a lane would be foreseen wrongly each time
        some[count] = lane
        count += np.uint32(k[n, CASE + lane] & np.int32(1))
    for at in range(count):
        lane = some[at]
        if drawn[lane] == NEVER:
            fine[lane] = draw_places(key, hour, members[lane], places, STEPS * lane)
            drawn[lane] = PERHAPS
        first = np.int32(np.ceil(place_of(own[n, FROM + lane], table) - fine[lane]))
        last = np.int32(np.floor(place_of(own[n, UPTO + lane], table) - fine[lane]))
        k[n, RUN + lane] = steps_within(places, STEPS * lane, first, last, k[n, RUN + lane], np.int32(dwell))


@shared_part
def draw_places(key, hour, member, places, at):
    """Places of an hour's steps, `STEPS` whole numbers from `at` on; returns the part of one that all share."""
    words = short_philox(key, hour, member)
    shared = np.uint64(0)
    for word in range(4):
        for step in range(PER_WORD):
            places[at + PER_WORD * word + step] = np.int32((words[word] >> (BITS * np.uint64(step))) & MASK)
        shared = (shared << np.uint64(2)) | (words[word] >> FINE)
    return (np.float32(shared) + np.float32(0.5)) * np.float32(1.0 / 256.0)


@shared_part
def place_of(deviations, table):
    """Place of a number of standard deviations in the flicker's distribution, 0 to `PLACES`."""
    along = (min(max(deviations, -EDGE), EDGE) + EDGE) * PER_SD
    left = min(np.floor(along), LAST)
    at = np.uint32(left)
    below, above = table[at], table[at + 1]
    return below + (along - left) * (above - below)


@shared_part
def steps_within(places, at, first, last, run, dwell):
    """Steps in a row, up to `dwell`, within the window, after an hour that began with `run` of them.

    By the sign of whole numbers, without a branch: whether a step lies within is nothing that a processor could
    foresee.
    """
    most = NEVER
    for step in range(STEPS):
        place = places[at + step]
        outside = np.int32(np.int32(place - first) | np.int32(last - place)) >> np.int32(31)
        run = np.int32(np.int32(run + np.int32(1)) & ~outside)
        most = max(most, run)
    return dwell if most >= dwell else run
