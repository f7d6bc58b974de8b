"""The driver of sizing: many designs over one member, of which only counts are kept.

It advances its lanes by the same hour as `darkspell.bank.run_years`; in hours in which no design of a block can run
short by a shorter way, which gives the same bits.
"""

import numpy as np

from darkspell.bank.cell_laws import drawn_terms
from darkspell.bank.optional_features import generator_power
from darkspell.bank.part_series import DRAWS, gather_shares, own_columns, own_shares
from darkspell.bank.rows import DESIGN, DESIGN_ROWS, MEMBER, SHARED_ROWS
from darkspell.bank.run_years import WARM_UP, YEAR
from darkspell.bank.step import HALF, ONE, TWO, ZERO, above_shortfall
from darkspell.bank.step_values import PerAhFactors
from darkspell.bank.vector_step import advance, advance_no_shortfall, start_full
from darkspell.core.batches import LANES
from darkspell.core.jit import inlined, kernel

TOTALS = (
    "lolh", "short_nights", "unserved_essential", "unserved", "engine_hours", "engine_energy",
    "longest_full_charge_interval_h",
)  # fmt: skip
FACTORS = len(PerAhFactors._fields)
SERIES, TERMS = 8, 8  # columns of a member's own hours: all traces but the temperature, and its terms


@kernel
def run_designs(traces, member, factors, controls, c, floors, totals):
    """Run many designs over one member of a block; only what sizing asks for is kept.

    Parameters
    ----------
    traces, controls, c
        As `darkspell.bank.run_years.run_members` takes them.
    member : int
        Column of the block.
    factors : float32 array [6, designs]
        `darkspell.bank.step_values.PerAhFactors`, a column for each design; a multiple of 64 designs. More of them in
        one call cost less each: the member's hours are gathered once.
    floors : tuple of float32
        Unserved essential energy of an hour that counts as lost, and that makes a night short [Wh]; state of charge
        from which the bank counts as full [-].
    totals : float32 array [len(TOTALS), designs], written
        `TOTALS`; energies per Ah of the design's bank, not of the member's own [Wh/Ah].
    """
    own = np.empty((YEAR, own_columns(controls.extras, SERIES + TERMS)), np.float32)
    _gather(traces, member, controls.extras, c, own)
    capacity = traces[DRAWS][0, member]
    per_capacity = ONE / capacity
    loss, night, full = floors
    own_floors = loss * per_capacity, night * per_capacity, full
    w = np.empty(DESIGN_ROWS * LANES, np.float32)
    for first in range(0, factors.shape[1], LANES):
        _design_block(own, first, factors, capacity, controls, c, own_floors, w, totals)


@inlined
def _gather(traces, member, extras, c, own):
    """Put a member's hours together: one cache line an hour in place of nine."""
    mpp, pwm, temp, essential, deferrable, peak, chargers, uninterruptible, heater = traces[:DRAWS]
    draws = traces[DRAWS]
    draw = draws[1, member], draws[2, member], draws[3, member], draws[4, member]
    per_capacity = ONE / draws[0, member]
    for hour in range(YEAR):
        own[hour, 0] = mpp[hour, member] * per_capacity
        own[hour, 1] = pwm[hour, member] * per_capacity
        own[hour, 2] = chargers[hour, member] * per_capacity
        own[hour, 3] = essential[hour, member] * per_capacity
        own[hour, 4] = deferrable[hour, member] * per_capacity
        own[hour, 5] = uninterruptible[hour, member] * per_capacity
        own[hour, 6] = heater[hour, member] * per_capacity
        own[hour, 7] = peak[hour, member] * per_capacity
        terms = drawn_terms(temp[hour, member], draw, c)
        for term in range(TERMS):
            own[hour, SERIES + term] = terms[term]
        gather_shares(extras, traces, hour, member, own, SERIES + TERMS)


@inlined
def _design_block(own, first, factors, capacity, controls, c, floors, w, totals):
    """Run 64 designs, from the column `first` on, on a bank of so many times their capacity."""
    per_capacity = ONE / capacity
    w[:] = ZERO
    start_full(w)
    for row in range(FACTORS):
        for lane in range(LANES):
            w[(SHARED_ROWS + row) * LANES + lane] = factors[row, first + lane]
    for lane in range(LANES):
        w[DESIGN.limit + lane] *= per_capacity
        w[DESIGN.self_consumption + lane] *= per_capacity
        w[DESIGN.cable + lane] *= capacity
    _find_safe(w, own, controls, c)
    for count in range(WARM_UP + YEAR):
        hour = (count - WARM_UP) % YEAR
        if count == WARM_UP:
            w[DESIGN.night :] = ZERO
        if hour % 24 == 12 and count > WARM_UP:
            _close_night(w, hour == 12)
        power, amps, other = own[hour, 0], own[hour, 1], own[hour, 2]
        loads = own[hour, 3], own[hour, 4], own[hour, 5], own[hour, 6], own[hour, 7]
        terms = (
            own[hour, 8], own[hour, 9], own[hour, 10], own[hour, 11], own[hour, 12], own[hour, 13], own[hour, 14],
            own[hour, 15],
        )  # fmt: skip
        shares = own_shares(controls.extras, own, hour, SERIES + TERMS)
        if controls.extras is None and _all_safe(w):
            if power + other == ZERO:
                advance_no_shortfall(w, None, loads, terms, c)
            else:
                advance_no_shortfall(w, (power, amps, other, ZERO), loads, terms, c)
            for lane in range(LANES):
                _count_full(w, lane, floors[2])
            continue
        if controls.extras is None and power + other == ZERO:
            advance(w, None, loads, terms, None, controls, c, shares)
        else:
            sources = power, amps, other, generator_power(controls.extras, hour % 24) * per_capacity
            advance(w, sources, loads, terms, None, controls, c, shares)
        for lane in range(LANES):
            _count(w, lane, floors)
        for lane in range(LANES):
            _count_full(w, lane, floors[2])
        if controls.extras is not None:
            for lane in range(LANES):
                w[DESIGN.generator_h + lane] += w[MEMBER.running + lane]
                generator = w[MEMBER.generator + lane]
                w[DESIGN.generator_energy + lane] += generator - min(w[MEMBER.left_over + lane], generator)
    for lane in range(LANES):
        at = first + lane
        totals[0, at] = w[DESIGN.lost + lane]
        totals[1, at] = w[DESIGN.nights + lane] + min(
            w[DESIGN.night + lane] + w[DESIGN.first_night + lane], ONE
        )
        totals[2, at] = w[DESIGN.unserved_essential + lane] * capacity
        totals[3, at] = w[DESIGN.unserved + lane] * capacity
        totals[4, at] = w[DESIGN.generator_h + lane]
        totals[5, at] = w[DESIGN.generator_energy + lane] * capacity
        totals[6, at] = w[DESIGN.longest + lane]


@inlined
def _find_safe(w, own, controls, c):
    """State of charge from which nothing in the member's year can run short, by design; 2 where there is none."""
    load, peak, uninterruptible, resistance, deliverable_fraction = ZERO, ZERO, ZERO, ZERO, ONE
    for hour in range(YEAR):
        load = max(load, own[hour, 3] + own[hour, 4])
        peak = max(peak, own[hour, 7])
        uninterruptible = max(uninterruptible, own[hour, 5])
        resistance = max(resistance, own[hour, SERIES + 1])
        deliverable_fraction = min(deliverable_fraction, own[hour, SERIES + 3])
    for lane in range(LANES):
        per_ah = w[DESIGN.load + lane]
        draw = uninterruptible * per_ah + w[DESIGN.self_consumption + lane]
        heaviest = load * per_ah, peak * per_ah, draw, resistance, w[DESIGN.cable + lane]
        low, high = ZERO, TWO
        for _ in range(8):
            middle = HALF * (low + high)
            good = above_shortfall(middle, heaviest, (deliverable_fraction, controls.shed), c)
            low, high = (low if good else middle), (middle if good else high)
        w[DESIGN.safe_soc + lane] = high


@inlined
def _all_safe(w):
    """Whether no design can run short in this hour, read from the sign bits."""
    signs = np.int32(0)
    for lane in range(LANES):
        on = w[MEMBER.connected + lane] * w[MEMBER.deferrable_on + lane]
        spare = np.float32(w[MEMBER.soc + lane] * on - w[DESIGN.safe_soc + lane])
        signs = np.int32(signs | spare.view(np.int32))
    return signs >= 0


@inlined
def _count(w, lane, floors):
    """What one hour adds to a design's totals."""
    loss_wh, night_wh, _ = floors
    short, per_ah = w[MEMBER.short_essential + lane], w[DESIGN.load + lane]
    w[DESIGN.lost + lane] += ONE if short > loss_wh * per_ah else ZERO
    w[DESIGN.night + lane] += ONE if short > night_wh * per_ah else ZERO
    w[DESIGN.unserved_essential + lane] += short
    w[DESIGN.unserved + lane] += short + w[MEMBER.short_deferrable + lane]


@inlined
def _count_full(w, lane, full):
    """Hours since the bank was full, and the longest time between."""
    since, longest = w[DESIGN.since_full + lane] + ONE, w[DESIGN.longest + lane]
    since = since if w[MEMBER.soc + lane] < full else ZERO
    w[DESIGN.since_full + lane] = since
    w[DESIGN.longest + lane] = max(since, longest)


@inlined
def _close_night(w, first_morning):
    """Count the night that ends at noon; the first morning belongs to the year's last night."""
    for lane in range(LANES):
        flag = min(w[DESIGN.night + lane], ONE)
        w[DESIGN.first_night + lane] = flag if first_morning else w[DESIGN.first_night + lane]
        w[DESIGN.nights + lane] += ZERO if first_morning else flag
        w[DESIGN.night + lane] = ZERO
