"""The driver of sizing: many designs over one member, of which only counts are kept.

It advances its lanes by the same hour as `darkspell.bank.run_years`; in hours in which no design of a block can run
short by a shorter way, which gives the same bits.
"""

import numpy as np

from darkspell.bank import vector_step as lanes
from darkspell.bank.optional_features import generator_power
from darkspell.bank.run_years import WARM_UP, YEAR
from darkspell.bank.step import HALF, ONE, TWO, ZERO, safe, temperature_terms
from darkspell.bank.vector_step import LANES, advance, advance_calm, start_full
from darkspell.core.jit import inlined, kernel

TOTALS = (
    "lolh", "short_nights", "unserved_essential", "unserved", "engine_hours", "engine_energy",
    "longest_full_charge_interval_h",
)  # fmt: skip
SCALES = 6
# Rows of the sizing driver beside those of `lanes`: what is counted.
SAFE, NIGHT, FIRST, SINCE, LOST, NIGHTS, ESSENTIAL, ALL, RUN, ENERGY, LONGEST = (
    i * LANES for i in range(lanes.SHARED + SCALES, lanes.SHARED + SCALES + 11)
)
DESIGN_ROWS = lanes.SHARED + SCALES + 11
SERIES, TERMS = 8, 5  # columns of a member's own hours: all traces but the temperature, and its terms


@kernel
def run_designs(traces, member, scales, controls, c, floors, totals):
    """Run many designs over one member of a block; only what sizing asks for is kept.

    Parameters
    ----------
    traces, controls, c
        As in `darkspell.bank.run_years.run_members`.
    member : int
        Column of the block.
    scales : float32 array [6, designs]
        As `scales` there, a column a design; a multiple of 64 designs. More of them in one call cost less
        apiece: the member's hours are gathered once.
    floors : tuple of float32
        Unserved essential energy of an hour that counts as lost, and that makes a night short [Wh]; state
        of charge from which the bank counts as full [-].
    totals : float32 array [len(TOTALS), designs], written
        `TOTALS`; energies per Ah [Wh/Ah].
    """
    own = np.empty((YEAR, SERIES + TERMS), np.float32)
    _gather(traces, member, c, own)
    w = np.empty(DESIGN_ROWS * LANES, np.float32)
    for first in range(0, scales.shape[1], LANES):
        _design_block(own, first, scales, controls, c, floors, w, totals)


@inlined
def _gather(traces, member, c, own):
    """A member's hours side by side: one cache line an hour in place of nine."""
    mpp, pwm, temp, essential, deferrable, peak, aux, always, heat = traces
    for hour in range(YEAR):
        own[hour, 0] = mpp[hour, member]
        own[hour, 1] = pwm[hour, member]
        own[hour, 2] = aux[hour, member]
        own[hour, 3] = essential[hour, member]
        own[hour, 4] = deferrable[hour, member]
        own[hour, 5] = always[hour, member]
        own[hour, 6] = heat[hour, member]
        own[hour, 7] = peak[hour, member]
        terms = temperature_terms(temp[hour, member], c)
        for place in range(TERMS):
            own[hour, SERIES + place] = terms[place]


@inlined
def _design_block(own, first, scales, controls, c, floors, w, totals):
    """Run 64 designs, from the column `first` on."""
    w[:] = ZERO
    start_full(w)
    for row in range(SCALES):
        for lane in range(LANES):
            w[(lanes.SHARED + row) * LANES + lane] = scales[row, first + lane]
    _find_safe(w, own, controls, c)
    for count in range(WARM_UP + YEAR):
        hour = (count - WARM_UP) % YEAR
        if count == WARM_UP:
            w[NIGHT:] = ZERO
        if hour % 24 == 12 and count > WARM_UP:
            _close_night(w, hour == 12)
        power, amps, other = own[hour, 0], own[hour, 1], own[hour, 2]
        draws = own[hour, 3], own[hour, 4], own[hour, 5], own[hour, 6], own[hour, 7]
        terms = own[hour, 8], own[hour, 9], own[hour, 10], own[hour, 11], own[hour, 12]
        if controls.extras is None and _all_safe(w):
            if power + other == ZERO:
                advance_calm(w, None, draws, terms, c)
            else:
                advance_calm(w, (power, amps, other, ZERO), draws, terms, c)
            for lane in range(LANES):
                _count_full(w, lane, floors[2])
            continue
        if controls.extras is None and power + other == ZERO:
            advance(w, None, draws, terms, None, controls, c)
        else:
            given = power, amps, other, generator_power(controls.extras, hour % 24)
            advance(w, given, draws, terms, None, controls, c)
        for lane in range(LANES):
            _count(w, lane, floors)
        for lane in range(LANES):
            _count_full(w, lane, floors[2])
        if controls.extras is not None:
            for lane in range(LANES):
                w[RUN + lane] += w[lanes.RUNNING + lane]
                engine = w[lanes.ENGINE + lane]
                w[ENERGY + lane] += engine - min(w[lanes.LEFT + lane], engine)
    for lane in range(LANES):
        at = first + lane
        totals[0, at] = w[LOST + lane]
        totals[1, at] = w[NIGHTS + lane] + min(w[NIGHT + lane] + w[FIRST + lane], ONE)
        totals[2, at] = w[ESSENTIAL + lane]
        totals[3, at] = w[ALL + lane]
        totals[4, at] = w[RUN + lane]
        totals[5, at] = w[ENERGY + lane]
        totals[6, at] = w[LONGEST + lane]


@inlined
def _find_safe(w, own, controls, c):
    """State of charge from which nothing in the member's year can run short, by design; 2 where there is none."""
    load, peak, always, resistance, letting = ZERO, ZERO, ZERO, ZERO, ONE
    for hour in range(YEAR):
        load = max(load, own[hour, 3] + own[hour, 4])
        peak = max(peak, own[hour, 7])
        always = max(always, own[hour, 5])
        resistance = max(resistance, own[hour, SERIES + 1])
        letting = min(letting, own[hour, SERIES + 3])
    for lane in range(LANES):
        per_ah = w[lanes.D_LOAD + lane]
        draw = always * per_ah + w[lanes.D_STANDING + lane]
        heaviest = load * per_ah, peak * per_ah, draw, resistance, w[lanes.D_CABLE + lane]
        low, high = ZERO, TWO
        for _ in range(8):
            middle = HALF * (low + high)
            good = safe(middle, heaviest, (letting, controls.shed), c)
            low, high = (low if good else middle), (middle if good else high)
        w[SAFE + lane] = high


@inlined
def _all_safe(w):
    """Whether no design can run short in this hour; the sign bits tell."""
    signs = np.int32(0)
    for lane in range(LANES):
        connected = w[lanes.ON + lane] * w[lanes.FREE + lane]
        signs = np.int32(signs | np.float32(w[lanes.SOC + lane] * connected - w[SAFE + lane]).view(np.int32))
    return signs >= 0


@inlined
def _count(w, lane, floors):
    """What one hour adds to a design's totals."""
    loss_wh, night_wh, _ = floors
    short, per_ah = w[lanes.SHORT_ESSENTIAL + lane], w[lanes.D_LOAD + lane]
    w[LOST + lane] += ONE if short > loss_wh * per_ah else ZERO
    w[NIGHT + lane] += ONE if short > night_wh * per_ah else ZERO
    w[ESSENTIAL + lane] += short
    w[ALL + lane] += short + w[lanes.SHORT_DEFERRABLE + lane]


@inlined
def _count_full(w, lane, full):
    """Hours since the bank was full, and the longest time between."""
    since, longest = w[SINCE + lane] + ONE, w[LONGEST + lane]
    since = since if w[lanes.SOC + lane] < full else ZERO
    w[SINCE + lane] = since
    w[LONGEST + lane] = max(since, longest)


@inlined
def _close_night(w, first_morning):
    """Count the night that ends at noon; the first morning belongs to the year's last night."""
    for lane in range(LANES):
        flag = min(w[NIGHT + lane], ONE)
        w[FIRST + lane] = flag if first_morning else w[FIRST + lane]
        w[NIGHTS + lane] += ZERO if first_morning else flag
        w[NIGHT + lane] = ZERO
