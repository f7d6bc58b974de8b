"""The drivers: the same bits whichever runs, whatever the batch."""

import numpy as np
import pytest

from darkspell.bank.bank_results import run_block
from darkspell.bank.optional_features import Extras
from darkspell.bank.run_designs import TOTALS, run_designs
from darkspell.bank.run_years import FROM_FULL, NEVER, OUTPUTS, PER_AH, run_members, run_until
from darkspell.bank.step_values import Controls
from darkspell.chemistry.bank_draws import known_bank
from darkspell.chemistry.numbers import chemistry_numbers, trimmed
from darkspell.core.batches import LANES
from darkspell.core.constants import CHEMISTRIES

F = np.float32
FLOORS = (F(0.01), F(5.0), F(0.97))
CONTROLS = Controls(F(0.5), F(0.65))
NO_LEVELS = {"essential_shed": F(-1), "essential_resume": F(-1)}


@pytest.fixture(scope="module")
def year():
    """A made-up year for 64 members: mpp, pwm, temp, essential, deferrable, peak, aux, always, heat; known banks."""
    rng = np.random.default_rng(7)
    shape = (8760, LANES)
    sun = np.clip(np.sin((np.arange(8760) % 24 - 6) / 12 * np.pi), 0, None)[:, None]
    mpp = 500 * sun * rng.uniform(0, 0.9, (365, LANES)).repeat(24, 0)
    essential = rng.uniform(10, 70, shape)
    deferrable = rng.uniform(0, 40, shape)
    temp = 6 + 5 * rng.standard_normal(shape)
    aux = np.where(rng.uniform(size=(8760, 1)) < 0.03, rng.uniform(0, 200, shape), 0.0)
    heat = rng.uniform(0, 1, shape)
    always = rng.uniform(0, 2, shape) + heat
    peak = 2 * (essential + deferrable) + always
    arrays = (mpp, mpp / 14, temp, essential, deferrable, peak, aux, always, heat)
    return (*(np.ascontiguousarray(a, F) for a in arrays), known_bank(LANES))


def scales(ah, share=1.0, pwm=False):
    """Factors of one design."""
    values = (
        0.96 * share / ah,
        share / ah if pwm else 0,
        0 if pwm else 60 / ah,
        1 / ah,
        0.5 / ah,
        0.005 * ah,
    )
    return tuple(map(F, values))


@pytest.mark.parametrize("pwm", [False, True])
@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_both_drivers_give_the_same_bits(year, chemistry, pwm):
    """Counts of every design in the sizing driver equal those of the one-design driver."""
    c = chemistry_numbers(chemistry, 12.0)
    designs = [scales(ah, share, pwm) for ah in (80.0, 150.0, 320.0) for share in (0.6, 1.4)]
    lanes = np.array([designs[i % len(designs)] for i in range(LANES)], F).T.copy()
    totals = np.empty((len(TOTALS), LANES), F)
    member = 11
    run_designs(year, member, lanes, CONTROLS, trimmed(c), FLOORS, totals)
    out = np.empty((len(OUTPUTS), 8760, LANES), F)
    seen = 0
    for i, design in enumerate(designs):
        run_members(year, design, CONTROLS, c, PER_AH, out)
        short = out[OUTPUTS.index("unserved_essential"), :, member]
        both = short + out[OUTPUTS.index("unserved_deferrable"), :, member]
        assert totals[0, i] == np.sum(short > F(0.01) * design[3])
        assert totals[1, i] == _short_nights(short > F(5.0) * design[3])
        assert totals[2, i] == np.cumsum(short, dtype=F)[-1]
        assert totals[3, i] == np.cumsum(both, dtype=F)[-1]
        seen += totals[0, i]
    assert seen > 0


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_calm_hours_change_no_bit(year, chemistry):
    """A hopeless design beside others keeps all of them from the shorter way; each among its own kind takes it."""
    c = trimmed(chemistry_numbers(chemistry, 12.0))
    designs = np.array([scales(ah, share) for ah in (60.0, 400.0, 1500.0) for share in (0.3, 2.0)], F)
    apart = np.repeat(designs, LANES, axis=0).T.copy()
    mixed = np.resize(designs, (LANES, 6)).T.copy()
    for member in (3, 40):
        each, together = (np.empty((len(TOTALS), lanes.shape[1]), F) for lanes in (apart, mixed))
        run_designs(year, member, apart, CONTROLS, c, FLOORS, each)
        run_designs(year, member, mixed, CONTROLS, c, FLOORS, together)
        np.testing.assert_array_equal(each[:, ::LANES], together[:, : len(designs)])
        lost = each[TOTALS.index("lolh"), ::LANES]
        assert lost[0] > 1000 and lost[-1] == 0


def test_extras_give_the_same_bits_in_both_drivers_too(year):
    """A generator by day, float after three hours, reconnection at 12.9 V: counts, hours, energy and full charges."""
    c, lanes = chemistry_numbers("agm", 12.0), np.empty((6, LANES), F)
    controls = Controls(F(0.5), F(0.65), Extras(*map(F, (300, 0.35, 0.8, 8, 20, 3, 0.4, 0.8, 12.9))))
    lanes[:] = np.array(scales(120.0), F)[:, None]
    totals, out = np.empty((len(TOTALS), LANES), F), np.empty((len(OUTPUTS), 8760, LANES), F)
    run_designs(year, 7, lanes, controls, c, FLOORS, totals)
    run_members(year, scales(120.0), controls, c, PER_AH, out)
    by_name = dict(zip(OUTPUTS, out[:, :, 7], strict=True))
    counted = dict(zip(TOTALS, totals[:, 0], strict=True))
    assert counted["unserved_essential"] == np.cumsum(by_name["unserved_essential"], dtype=F)[-1]
    assert counted["engine_hours"] == by_name["running"].sum() > 50
    assert counted["engine_energy"] == np.cumsum(by_name["engine_used"], dtype=F)[-1]
    hours = np.arange(8760) % 24
    assert by_name["engine_used"][(hours < 8) | (hours >= 20)].max() == 0.0
    plain = np.empty_like(totals)
    run_designs(year, 7, lanes, CONTROLS, c, FLOORS, plain)
    assert counted["unserved_essential"] < 0.5 * plain[2, 0]


def test_an_inverters_cutoff_gives_the_same_bits_in_both_drivers_too(year):
    """Half of the loads hang on an inverter that switches off at 9, 12.2 or 16 V: counts and energy.

    One that it always meets leaves the other half of the loads.
    """
    c, rng = chemistry_numbers("agm", 12.0), np.random.default_rng(5)
    shares = [np.full((8760, LANES), value, F) for value in (0.5, 0.5, 0.4)]
    shares.append(rng.uniform(0.5, 2.0, (8760, LANES)).astype(F))
    lanes = np.repeat(np.array(scales(120.0), F)[:, None], LANES, axis=1)
    totals, out = np.empty((len(TOTALS), LANES), F), np.empty((len(OUTPUTS), 8760, LANES), F)
    lost = {}
    for off_at in (9.0, 12.2, 16.0):
        extras = Extras(*map(F, (0, -1, 0, 0, 24, 1e9, 1, 0, 1e9)), inverter_cut_off=F(off_at), **NO_LEVELS)
        controls = Controls(F(0.5), F(0.65), extras)
        run_designs((*year, *shares), 7, lanes, controls, c, FLOORS, totals)
        run_members((*year, *shares), scales(120.0), controls, c, PER_AH, out)
        by_name = dict(zip(OUTPUTS, out[:, :, 7], strict=True))
        counted = dict(zip(TOTALS, totals[:, 0], strict=True))
        short = by_name["unserved_essential"]
        assert counted["unserved_essential"] == np.cumsum(short, dtype=F)[-1]
        assert counted["lolh"] == np.sum(short > F(0.01) * F(1 / 120))
        assert counted["short_nights"] == _short_nights(short > F(5.0) * F(1 / 120))
        lost[off_at] = short.copy()
    half = 0.5 * year[3][:, 7] / 120
    assert np.all(lost[16.0] >= half * 0.9999)
    assert np.mean(lost[9.0] >= half * 0.9999) < np.mean(lost[12.2] >= half * 0.9999) < 1.0


def test_essential_loads_are_shed_between_two_levels_before_the_critical_ones(year):
    """A third of the essential load is critical: it goes on while the others are off, and both drivers agree.

    The switch is walked by itself from the state of charge: off below 0.4, on again above 0.55, else as it was.
    """
    c = chemistry_numbers("agm", 12.0)
    shares = [np.full((8760, LANES), value, F) for value in (2 / 3, 1.0, 1 / 3, 1.0)]
    lanes = np.repeat(np.array(scales(150.0), F)[:, None], LANES, axis=1)
    totals, out = np.empty((len(TOTALS), LANES), F), np.empty((len(OUTPUTS), 8760, LANES), F)
    levels = {"inverter_cut_off": F(0.0), "essential_shed": F(0.4), "essential_resume": F(0.55)}
    extras = Extras(*map(F, (0, -1, 0, 0, 24, 1e9, 1, 0, 1e9)), **levels)
    controls = Controls(F(0.6), F(0.7), extras)
    run_designs((*year, *shares), 7, lanes, controls, c, FLOORS, totals)
    run_members((*year, *shares), scales(150.0), controls, c, PER_AH, out)
    by_name = dict(zip(OUTPUTS, out[:, :, 7], strict=True))
    short, soc = by_name["unserved_essential"], by_name["soc"]
    assert totals[TOTALS.index("unserved_essential"), 0] == np.cumsum(short, dtype=F)[-1]
    on, walked = True, np.ones(8760, bool)
    for hour in range(2 * 8760):
        before = soc[(hour - 1) % 8760]
        on = before > F(0.55) or (on and before >= F(0.4))
        walked[hour % 8760] = on
    essential, deferrable = (year[row][:, 7] / 150 for row in (3, 4))
    assert 100 < np.sum(~walked) < 8000
    assert np.all(short[~walked] >= 2 / 3 * essential[~walked] * 0.9999)
    np.testing.assert_allclose(by_name["unserved_deferrable"][~walked], deferrable[~walked], rtol=1e-5)
    kept = short[~walked] < 2 / 3 * essential[~walked] * 1.0001  # nothing critical is lost
    assert kept.mean() > 0.5
    shed = by_name["cause"] == 7
    assert shed[~walked][kept].all() and not shed[walked].any()


def test_tiers_and_an_inverter_give_the_same_bits_in_both_drivers_too(year):
    """Half of the loads behind an inverter, a third critical; with an inverter that never trips, tiers alone."""
    c, rng = chemistry_numbers("agm", 12.0), np.random.default_rng(5)
    shares = [np.full((8760, LANES), value, F) for value in (0.5, 0.5, 0.4)]
    shares.append(rng.uniform(0.5, 2.0, (8760, LANES)).astype(F))
    shares += [np.full((8760, LANES), value, F) for value in (1 / 3, 0.6, 1 / 3, 0.4, 1.5)]
    lanes = np.repeat(np.array(scales(150.0), F)[:, None], LANES, axis=1)
    totals, out = np.empty((len(TOTALS), LANES), F), np.empty((len(OUTPUTS), 8760, LANES), F)
    lost, critical = {}, {}
    for off_at in (0.5, 12.2, 16.0):
        levels = {"inverter_cut_off": F(off_at), "essential_shed": F(0.4), "essential_resume": F(0.55)}
        extras = Extras(*map(F, (0, -1, 0, 0, 24, 1e9, 1, 0, 1e9)), **levels, both=F(1.0))
        controls = Controls(F(0.6), F(0.7), extras)
        run_designs((*year, *shares), 7, lanes, controls, c, FLOORS, totals)
        run_members((*year, *shares), scales(150.0), controls, c, PER_AH, out)
        by_name = dict(zip(OUTPUTS, out[:, :, 7], strict=True))
        short = lost[off_at] = by_name["unserved_essential"].copy()
        critical[off_at] = by_name["unserved_critical"].copy()
        assert totals[TOTALS.index("unserved_essential"), 0] == np.cumsum(short, dtype=F)[-1]
        assert np.all(critical[off_at] <= short + 1e-6)
    ac = 0.6 / 3 * year[3][:, 7] / 150
    assert np.all(critical[16.0] >= ac * 0.9999)  # it never runs: its critical loads are never served
    assert critical[0.5].sum() < critical[12.2].sum() < critical[16.0].sum()
    assert lost[0.5].sum() < lost[12.2].sum() < lost[16.0].sum()


def _short_nights(flags):
    """Nights with any flag, noon to noon, the first morning joined to the last evening."""
    return np.roll(flags, -12).reshape(365, 24).any(axis=1).sum()


def test_a_lane_does_not_know_its_neighbours(year):
    """Members in another order give the same years."""
    c = chemistry_numbers("agm", 12.0)
    out, turned = (np.empty((len(OUTPUTS), 8760, LANES), F) for _ in range(2))
    run_members(year, scales(150.0), CONTROLS, c, PER_AH, out)
    run_members(
        tuple(np.ascontiguousarray(a[:, ::-1]) for a in year), scales(150.0), CONTROLS, c, PER_AH, turned
    )
    np.testing.assert_array_equal(out, turned[:, :, ::-1])


def test_the_year_begins_with_its_own_last_sixty_days(year):
    """Starting full matters only within the warm-up: the state on the first day is that of the last night."""
    c = chemistry_numbers("flooded", 12.0)
    out = np.empty((len(OUTPUTS), 8760, LANES), F)
    run_members(year, scales(150.0), CONTROLS, c, PER_AH, out)
    first, last = out[0, 0], out[0, -1]
    change = first - last
    assert np.abs(change).max() < 0.2 and np.abs(last - 1.0).max() > 0.2


def test_autonomy_equals_a_walk_of_the_step(year):
    """In darkness a constant load empties the bank when the arithmetic says so."""
    traces = (*(np.zeros_like(a) for a in year[:9]), known_bank(LANES))
    temp, essential, peak = traces[2], traces[3], traces[5]
    temp += F(25.0)
    essential += F(12.0)
    peak += F(12.0)
    c = chemistry_numbers("lfp", 12.0)
    first = np.empty((2, LANES), np.int32)
    starts, ends = np.array([18, 8000]), (1440, F(1e-4), NEVER)
    run_until(traces, scales(100.0), CONTROLS, c, starts, FROM_FULL, ends, first)
    # 90 Ah at about 13.1 V feed 12 W and 0.5 W of standing draw for about 94 h; the voltage curve makes 2 %.
    assert np.all(first == first[0, 0]) and first[0, 0] == pytest.approx(90 * 13.1 / 12.5, rel=0.03)


def test_an_empty_bank_is_full_when_the_arithmetic_says_so(year):
    """2 A by day and night, nothing drawn: 100 Ah from empty to 97 % take 97 Ah over the efficiency."""
    traces = (*(np.zeros_like(a) for a in year[:9]), known_bank(LANES))
    traces[2][:] = F(25.0)
    traces[0][:] = F(1000.0)
    c = chemistry_numbers("lfp", 12.0)
    first = np.empty((2, LANES), np.int32)
    two_amps = (F(0.01), F(0.0), F(0.02), F(0.01), F(0.0), F(0.0))
    ends = (1440, NEVER, F(0.97))
    run_until(traces, two_amps, CONTROLS, c, np.array([0, 8750]), (F(0.0), F(0.0)), ends, first)
    wanted = 97.0 / 2.0 / float(c.efficiency_low)
    # One hour of counting, and self-discharge of some hundredths of an ampere-hour.
    assert np.all(first == first[0, 0]) and first[0, 0] + 1 == pytest.approx(wanted, abs=1.1)


def test_a_larger_plain_store_never_leaves_more_unserved(year):
    """Monotone in bank and array for the ideal store, under common draws."""
    from bank.ideal import ideal_chemistry

    c = ideal_chemistry()
    sizes = np.linspace(20, 400, LANES)
    totals = np.empty((len(TOTALS), LANES), F)
    for grow in ("bank", "array"):
        designs = [scales(ah) if grow == "bank" else scales(100.0, ah / 100) for ah in sizes]
        run_designs(year, 5, np.array(designs, F).T.copy(), CONTROLS, c, FLOORS, totals)
        ah = sizes if grow == "bank" else 100.0
        unserved = totals[3] * ah
        assert np.all(np.diff(unserved) <= 1e-4 * unserved.max())
        assert unserved[0] > 2 * unserved[-1]


@pytest.mark.parametrize("chemistry", ["flooded", "lfp"])
def test_a_drawn_bank_gives_both_drivers_the_same_year(year, chemistry):
    """Another capacity, resistance, self-discharge, loss to gas and loss in the cold in every lane."""
    c, member = chemistry_numbers(chemistry, 12.0), 11
    draws = np.random.default_rng(3).uniform(0.6, 1.4, (5, LANES)).astype(F)
    drawn = (*year[:9], draws)
    lanes = np.repeat(np.array(scales(120.0), F)[:, None], LANES, axis=1)
    totals, out = np.empty((len(TOTALS), LANES), F), np.empty((len(OUTPUTS), 8760, LANES), F)
    run_designs(drawn, member, lanes, CONTROLS, trimmed(c), FLOORS, totals)
    run_members(drawn, scales(120.0), CONTROLS, c, PER_AH, out)
    short = out[OUTPUTS.index("unserved_essential"), :, member] * draws[0, member]
    assert totals[0, 0] == np.sum(short > F(0.01) / F(120.0)) > 0
    assert totals[2, 0] == pytest.approx(short.sum(), rel=1e-4)


def test_another_capacity_is_another_label(year):
    """A bank of nine tenths of its label is the bank with that label: the same hours, energies of the same size."""
    c = chemistry_numbers("agm", 12.0)
    draws = known_bank(LANES)
    draws[0] = F(0.9)
    ours, theirs = (run_block((*year[:9], d), scales(ah), CONTROLS, c)
                    for d, ah in ((draws, 150.0), (known_bank(LANES), 135.0)))  # fmt: skip
    np.testing.assert_allclose(ours.soc, theirs.soc, atol=2e-3)
    for name in ("current", "unserved_essential", "spilled"):
        a, b = getattr(ours, name), getattr(theirs, name)
        assert np.mean(np.abs(a - b) > 1e-3 * np.abs(b).max()) < 1e-3
    assert ours.unserved_essential.max() > 1.0
