"""Within the hour: when voltage and tail current meet a counter's criteria of full, in five-minute steps.

In an hour of charging the charger's offer flickers about its mean as under broken cloud. The terminal voltage of a
step is the set point if the offer reaches what the bank accepts, and below that is on the straight line from the
open-circuit voltage, at no current, to the set point, at the accepted one (less where the bank's greatest current
ends the line sooner). Both criteria together therefore hold for a window of the flicker. The window is found for all
lanes at once; only where it neither holds all flicker nor none are the steps drawn. These lanes are listed first, as
bits of one number, and then drawn and walked side by side.

A step's place in the flicker's distribution has ten bits of its own and eight finer ones that it shares with its
hour: so one draw serves all twelve. The window is put on the same scale, two look-ups in place of twelve.
"""

import numpy as np

from darkspell.bank.cell_laws import open_circuit, temperature_terms
from darkspell.core.batches import LANES
from darkspell.core.jit import inlined, lowest_bit, shared_part
from darkspell.core.keyed_random import short_philox
from darkspell.monitor.settings import STEP_MINUTES

STEPS = 60 // STEP_MINUTES
ZERO, ONE, TINY = np.float32(0.0), np.float32(1.0), np.float32(1e-9)
PLACES = 1024  # of a step in the distribution
BITS, MASK, PER_WORD, FINE = np.uint64(10), np.uint64(PLACES - 1), 3, np.uint64(30)
WIDEST = np.float32(3.8)  # standard deviations; a window that reaches so far holds all flicker on its side
EDGE, PER_SD = np.float32(4.0), np.float32(64.0)  # of `flicker_table`
LAST = np.float32(2 * 4 * 64 - 1)
NEARLY = np.float32(0.999)
REFERENCE = np.float32(25.0)
NONE, ONE_BIT = np.uint64(0), np.uint64(1)  # of the lanes listed, a bit each
SIDE_BY_SIDE = 8  # lanes drawn at once: of 64-bit numbers in the widest register
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
    """Places below each standard deviation from -4 to 4 in steps of 1/64, of `PLACES`; float32 [513], for `place_of`.

    The two ends are zero and all, so that nothing is beyond them; rounded to 2**-10.
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

    Parameters
    ----------
    w : float32 array [SHARED * LANES]
        Rows that all counters of a walk share (`TEMP` to `SPARE`).
    lanes : int
    offer, accept, soc : float32 arrays [hours, LANES]
        Current on offer and accepted [A], charge at the end of the hour [-].
    hour : int
    floating : tuple
        Capacity [Ah], fall of the charging voltage after the absorption time [V], and float32 [LANES] with the factor
        of each member's bank on that capacity [-].
    sd : float32
        Standard deviation of the flicker [-].
    c : darkspell.chemistry.numbers.ChemistryNumbers

    Returns
    -------
    bool
        Whether any lane has current on offer.
    """
    capacity, drop, factor = floating
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
            terms = temperature_terms(w[TEMP + lane], c)
            most = min(terms.accept_max, terms.taper * (ONE - w[SOC + lane]))
            fallen = drop if w[ACCEPT + lane] < NEARLY * most * (capacity * factor[lane]) else ZERO
            w[TOP + lane] -= fallen
    for lane in range(lanes):
        ocv = open_circuit(w[SOC + lane], c)
        terms = temperature_terms(w[TEMP + lane], c)
        most = terms.accept_max
        reached = min(most / max(terms.taper * (ONE - w[SOC + lane]), TINY), ONE)
        rise = max(w[TOP + lane] - ocv, ZERO) * (reached if most > ZERO else ONE)
        w[OPEN + lane] = ocv
        w[TOP + lane] = ocv + rise
        w[SLOPE + lane] = w[ACCEPT + lane] / max(rise, TINY)
        w[PER + lane] = ONE / (max(w[OFFER + lane], TINY) * sd)
    return True


@inlined
def windows(w, own, k, n, lanes, through, row, numbers):
    """Window of the flicker that meets a counter's criteria in each lane, on the scale of `place_of`.

    Its own current is a row of `through`, the bank's the first. Returned are all lanes' cases, put together, and a
    list of the lanes that perhaps reset.

    Parameters
    ----------
    w : float32 array [SHARED * LANES]
        Rows that all counters of a walk share (`TEMP` to `SPARE`).
    own : float32 array [counters, OWN * LANES]
        Rows of each counter (`DEFICIT` to `INVERSE`): deficit [-], scale [-] and its inverse, offset [A], drift
        [A/K], charge counted as leaving today [Ah], window of the flicker [1/64 standard deviations].
    k : int32 array [counters, COUNTS * LANES]
        Rows of each counter (`CASE` to `EARLY`): case of the hour, steps in a row, whether reset today, days with a
        reset, and those whose first came too soon.
    n, lanes : int
        Counter, and number of members.
    through, row, numbers
        As `darkspell.monitor.coulomb_counter.count_hour`.

    Returns
    -------
    cases : int32
    perhaps : uint64
        A bit for each lane that perhaps resets.

    Notes
    -----
    Equation 3 of `darkspell.monitor.reference`.
    """
    full, tail = numbers[n, 3], numbers[n, 4]
    for lane in range(lanes):
        offered, accepted, per = w[OFFER + lane], w[ACCEPT + lane], w[PER + lane]
        least = w[SLOPE + lane] * max(full - w[OPEN + lane], ZERO)
        zero = own[n, OFFSET + lane] + own[n, DRIFT + lane] * (w[TEMP + lane] - REFERENCE)
        most = (tail - zero) * own[n, INVERSE + lane] - (through[row, lane] - through[0, lane])
        low = min(max((least - offered) * per, -EDGE), EDGE)
        high = EDGE if accepted <= most else min(max((most - offered) * per, -EDGE), EDGE)
        own[n, FROM + lane] = (low + EDGE) * PER_SD
        own[n, UPTO + lane] = (high + EDGE) * PER_SD
        could = (offered > ZERO) & (w[TOP + lane] >= full) & (low <= min(high, WIDEST)) & (high >= -WIDEST)
        could &= (k[n, TODAY + lane] == NEVER) | (own[n, DEFICIT + lane] > ZERO)
        case = SURELY if (low <= -WIDEST) & (high >= WIDEST) else PERHAPS
        k[n, CASE + lane] = case if could else NEVER
    cases, perhaps = NEVER, NONE
    for lane in range(lanes):
        cases |= k[n, CASE + lane]
    if cases & PERHAPS:
        for lane in range(lanes):
            perhaps |= np.uint64(k[n, CASE + lane] & PERHAPS) << np.uint64(lane)
    return cases, perhaps


@inlined
def draw_listed(listed, hour, members, key, room):
    """Draw an hour's steps for the lanes listed; how many columns of `room` they take, in whole registers.

    Parameters
    ----------
    listed : uint64
        A bit for each lane that needs a draw.
    hour : int
    members : int64 array [LANES]
    key : uint64
        Of the stream ``monitor/flicker``.
    room : tuple of arrays
        Work space: column of each lane, members drawn, their steps and finer part, first and last step of the window,
        steps in a row.

    Returns
    -------
    int
        Columns drawn.
    """
    columns, drawn, places, fine = room[:4]
    count = np.uint32(0)
    while listed > NONE:
        lane = lowest_bit(listed)
        listed &= listed - ONE_BIT
        columns[lane] = count
        drawn[count] = members[lane]
        count += np.uint32(1)
    whole = -(-np.int64(count) // SIDE_BY_SIDE) * SIDE_BY_SIDE  # those to spare hold members of hours before
    draw_places(key, hour, drawn, whole, places, fine)
    return whole


@shared_part
def draw_places(key, hour, members, count, places, fine):
    """Places of an hour's steps of the first `count` members, a row of `LANES` whole numbers a step.

    The part of a place that all steps of a member share goes to `fine`.

    Parameters
    ----------
    key : uint64
    hour : int
    members : int64 array
    count : int
        How many of them.
    places : int32 array [12 * LANES], written
        Place of each step among `PLACES`.
    fine : float32 array [LANES], written
        Part of a place that all steps of a member share [0 to 1].
    """
    for at in range(count):
        words = short_philox(key, hour, members[at])
        shared = NONE
        for word in range(4):
            for step in range(PER_WORD):
                place = (words[word] >> (BITS * np.uint64(step))) & MASK
                places[(PER_WORD * word + step) * LANES + at] = np.int32(place)
            shared = (shared << np.uint64(2)) | (words[word] >> FINE)
        fine[at] = (np.float32(np.int32(shared)) + np.float32(0.5)) * np.float32(1.0 / 256.0)


@inlined
def walk_listed(own, k, n, listed, count, dwell, table, room):
    """Walk the steps of the lanes in which one counter perhaps resets, among `count` columns drawn.

    Parameters
    ----------
    own : float32 array [counters, OWN * LANES]
        Rows of each counter (`DEFICIT` to `INVERSE`): deficit [-], scale [-] and its inverse, offset [A], drift
        [A/K], charge counted as leaving today [Ah], window of the flicker [1/64 standard deviations].
    k : int32 array [counters, COUNTS * LANES]
        Rows of each counter (`CASE` to `EARLY`): case of the hour, steps in a row, whether reset today, days with a
        reset, and those whose first came too soon.
    n : int
    listed : uint64
    count, dwell : int
        Columns drawn, and steps in a row that must meet the criteria.
    table : float32 array [513]
        From `flicker_table`.
    room : tuple of arrays
        Work space: column of each lane, members drawn, their steps and finer part, first and last step of the window,
        steps in a row.
    """
    columns, _, places, fine, first, last, runs = room
    left = listed
    while left > NONE:
        lane = lowest_bit(left)
        left &= left - ONE_BIT
        at = columns[lane]
        first[at] = np.int32(np.ceil(place_of(own[n, FROM + lane], table) - fine[at]))
        last[at] = np.int32(np.floor(place_of(own[n, UPTO + lane], table) - fine[at]))
        runs[at] = k[n, RUN + lane]
    steps_within(places, first, last, runs, count, np.int32(dwell))
    left = listed
    while left > NONE:
        lane = lowest_bit(left)
        left &= left - ONE_BIT
        k[n, RUN + lane] = runs[columns[lane]]


@shared_part
def place_of(along, table):
    """Place in the flicker's distribution, 0 to `PLACES`, of a point along its table, which counts its steps.

    Parameters
    ----------
    along : float32
        Point along the table, in its steps.
    table : float32 array [513]
        From `flicker_table`.

    Returns
    -------
    float32
        0 to `PLACES`.
    """
    left = min(np.floor(along), LAST)
    at = np.uint32(left)
    below, above = table[at], table[at + 1]
    return below + (along - left) * (above - below)


@shared_part
def steps_within(places, first, last, runs, count, dwell):
    """Steps in a row, up to `dwell`, within each column's window, after an hour that began with `runs` of them.

    By the sign of whole numbers, without a branch, so that columns are walked side by side.

    Parameters
    ----------
    places : int32 array [12 * LANES]
    first, last : int32 arrays [LANES]
        First and last place of each column's window.
    runs : int32 array [LANES], changed
        Steps in a row before the hour, then after it; `dwell` where so many were met.
    count, dwell : int
    """
    for at in range(count):
        low, high, run, most = first[at], last[at], runs[at], NEVER
        for step in range(STEPS):
            place = places[step * LANES + at]
            outside = np.int32(np.int32(place - low) | np.int32(high - place)) >> np.int32(31)
            run = np.int32(np.int32(run + np.int32(1)) & ~outside)
            most = max(most, run)
        runs[at] = dwell if most >= dwell else run
