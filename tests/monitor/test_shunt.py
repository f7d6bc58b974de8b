"""The shunt: closed-form drifts, clamps, resets, and what it does not see."""

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import kstest, norm

import darkspell.monitor.shunt as shunt_module
from darkspell.chemistry.numbers import chemistry_numbers
from darkspell.core.batches import LANES as WALKED
from darkspell.core.keyed_random import short_philox
from darkspell.monitor.full_detection import draw_places, flicker_table, place_of, steps_within
from darkspell.monitor.settings import ShuntSettings, instrument_errors, shunt_settings
from darkspell.monitor.shunt import seen_current, shunt_block
from darkspell.study.monitors import Shunt

F = np.float32
FLOODED, LFP = chemistry_numbers("flooded", 12.0), chemistry_numbers("lfp", 12.0)
LANES = 3
HOUR = np.arange(8760)


def cycling(efficiency=1.0, start=0.5, lanes=LANES):
    """A 100 Ah bank that gives 30 Ah by night and takes them back by day, balanced, and is never full."""
    # The cycle of checks on shunts: 100 Ah bank, 30 Ah a day through it
    night = HOUR % 24 < 12
    current = np.where(night, -2.5, 2.5 / efficiency)
    soc = start + np.cumsum(np.where(night, -0.025, 0.025))
    return hours(current=current, soc=soc, lanes=lanes)


def hours(lanes=LANES, capacity=100.0, **rows):
    """A bank block from rows of hours, the same in each lane; what is not given is zero."""
    names = ("current", "offer", "accept", "soc", "unserved_essential", "unserved_deferrable")
    filled = {name: rows.get(name, np.zeros(8760)) for name in names}
    filled["voltage"] = rows.get("voltage", np.full(8760, 12.5))
    blocks = {k: np.ascontiguousarray(np.repeat(v[:, None], lanes, 1), F) for k, v in filled.items()}
    return SimpleNamespace(**blocks, capacity=capacity)


def shunt(capacity=100.0, efficiency=1.0, full_voltage=14.4, full_current=2.0, dwell=3.0, **more):
    return ShuntSettings("panel", capacity, efficiency, full_voltage, full_current, dwell, **more)


def read(
    bank, settings, gain=0.0, offset=0.0, drift=0.0, warm_up=0, temp=25.0, chemistry=FLOODED, members=None, **more,
):  # fmt: skip
    lanes = bank.soc.shape[1]
    members = np.arange(lanes) if members is None else members
    errors = tuple(np.full(lanes, x, F) for x in (gain, offset, drift))
    temps = np.full((8760, lanes), temp, F)
    return shunt_block(
        bank, temps, chemistry, settings, members, 1, errors=errors, warm_up_hours=warm_up, **more
    )


def drift(block, days):
    """Change of the reading over whole days, points of percent a day; the true cycle is balanced."""
    return 100 * float(block.reading[24 * days - 1, 0] - 0.5) / days


@pytest.mark.parametrize("sign", [1, -1])
def test_ten_milliamperes_drift(sign):
    # Closed form: 0.010 A x 24 h = 0.24 Ah a day on 100 Ah: .24 %/day, 7.2 % in 30 days
    block = read(cycling(), shunt(), offset=sign * 0.010)
    assert drift(block, 1) == pytest.approx(sign * 0.24, rel=0.01)
    assert 30 * drift(block, 30) == pytest.approx(sign * 7.2, rel=0.01)


@pytest.mark.parametrize(
    ("true", "set_to", "expected"),
    # Closed form, 30 Ah a day on 100 Ah: 30 (set/true - 1) %/day; +-half the last printed digit
    [(0.90, 1.00, 3.33), (0.90, 0.95, 1.67), (0.90, 0.85, -1.67), (0.999, 0.99, -0.27), (0.90, 0.90, 0.0)],
)
def test_efficiency_set_wrong_drifts(true, set_to, expected):
    block = read(cycling(true), shunt(efficiency=set_to))
    assert drift(block, 5) == pytest.approx(expected, abs=0.005)


def test_gain_cancels_on_a_cycle_balanced_at_the_set_efficiency():
    # Closed form: both halves of the cycle are scaled alike
    block = read(cycling(0.9), shunt(efficiency=0.9), gain=0.01)
    assert drift(block, 100) == pytest.approx(0.0, abs=0.001)
    # ... though within the cycle 30 Ah are read as 30.3
    assert block.reading[11, 0] == pytest.approx(0.5 - 0.303, abs=1e-5)


@pytest.mark.parametrize("days", [7, 20])
def test_resets_make_a_sawtooth(days):
    # Closed form: height = days between resets x drift a day (.24 % at 10 mA on 100 Ah)
    bank = cycling(start=1.0)
    full = HOUR % (24 * days) == 24 * days - 1
    bank.offer[full], bank.accept[full] = 20.0, 1.0
    block = read(bank, shunt(), offset=-0.010)
    error = 100 * (block.reading - bank.soc)[:, 0]
    ends = np.flatnonzero(full)
    # Within 1 %; the last hour before the reset lacks its own 0.01 points
    np.testing.assert_allclose(error[ends - 1], -0.24 * days + 0.01, rtol=0.01)
    np.testing.assert_allclose(error[ends], 0.0, atol=1e-3)
    assert block.reset_days[0] == 365 // days


@pytest.mark.parametrize(("offset", "end"), [(0.010, 1.0), (-0.010, 0.0)])
def test_never_full_drifts_until_it_clamps(offset, end):
    idle = hours(soc=np.full(8760, 0.5))
    # 0.5 of 100 Ah at 0.24 Ah a day: 208.3 days (arithmetic)
    reading = read(idle, shunt(), offset=offset).reading[:, 0]
    assert reading[24 * 207] not in (0.0, 1.0)
    assert (reading[24 * 209 :] == end).all()


def test_clamping_at_full_is_a_hidden_reset():
    bank = cycling(start=1.0)
    block = read(bank, shunt(), offset=0.050)
    # The drift of .05 %/h (50 mA on 100 Ah) never builds up: after 23 h of it the day's last hour clamps
    error = 100 * (block.reading - bank.soc)[:, 0]
    assert error.max() == pytest.approx(1.15, rel=0.01)
    assert block.reset_days[0] == 0


def test_state_of_charge_and_counted_depth_add_up_to_a_hundred():
    rng = np.random.default_rng(5)
    amps = rng.normal(0, 4, 8760)
    settings = shunt(capacity=80.0, efficiency=0.9)
    reading = read(hours(current=amps, soc=np.full(8760, 0.6)), settings, gain=0.02, offset=0.1).reading[:, 0]
    # Before the first hour the bank lacked 40 Ah and what that hour brought, of 80 Ah set
    depth = 100 * (40 + amps[0]) / 80
    ledger = np.empty(8760)
    for hour, measured in enumerate(1.02 * amps + 0.1):
        depth -= 100 * measured / 80 * (0.9 if measured > 0 else 1.0)
        depth = min(max(depth, 0.0), 100.0)
        ledger[hour] = depth
    assert 0 < np.isin(ledger, (0.0, 100.0)).sum() < 8760
    # Single precision over a year of counting
    np.testing.assert_allclose(100 * reading + ledger, 100.0, atol=0.05)


def test_capacity_set_wrong_scales_the_depth():
    block = read(cycling(start=1.0), shunt(capacity=200.0))
    # 30 Ah of 200 Ah set (arithmetic)
    assert block.reading[11, 0] == pytest.approx(0.85, abs=1e-5)


def test_a_load_past_the_shunt_is_not_counted():
    bank = hours(current=np.full(8760, -1.0), soc=np.linspace(0.9, 0.1, 8760))
    load = np.full((8760, LANES), 12.5, F)
    seen = seen_current(bank, load, load)
    # 12.5 W at 12.5 V is the whole ampere
    np.testing.assert_allclose(seen, 0.0, atol=1e-6)
    reading = read(bank, shunt(), seen=seen).reading[:, 0]
    np.testing.assert_allclose(reading, reading[0], atol=1e-6)
    assert seen_current(bank, load, 0 * load) is None


def test_what_is_not_served_is_not_drawn_past_the_shunt():
    bank = hours(current=np.zeros(8760), unserved_essential=np.full(8760, 12.5))
    load = np.full((8760, LANES), 12.5, F)
    np.testing.assert_allclose(seen_current(bank, load + load, load), 0.5, atol=1e-6)


# At 25 C the set point is 6 x 2.45 = 14.70 V, and a full cell rests at 2.11 V, six of them at 12.66 V:
# 14.4 V is reached at (14.40 - 12.66) / (14.70 - 12.66) = .853 of the accepted current (arithmetic).
@pytest.mark.parametrize(
    ("offer", "accept", "resets"),
    [
        (20.0, 1.9, True),  # at the set point, tail current below 2 A
        (20.0, 2.1, False),  # at the set point, too much current
        (0.86 * 2.2, 2.2, True),  # above 14.4 V, held down by a weak sun to 1.89 A
        (0.84 * 2.2, 2.2, False),  # 14.37 V
        (1.5, 20.0, False),  # a small current because there is little sun, at 12.8 V
    ],
)
def test_reset_needs_voltage_and_tail_current(offer, accept, resets):
    assert steady(offer, accept).all() == resets


def steady(offer, accept, settings=None, soc=1.0, **how):
    """Whether the bank is called full in an hour of a steady sun each day, at mid-charge; bool [lanes]."""
    bank = weak_afternoon(soc, offer, accept, lanes=2)
    with pytest.MonkeyPatch.context() as patch:
        # All flicker in the middle of its distribution
        patch.setattr(
            shunt_module, "flicker_table", lambda: np.where(np.arange(513) < 256, 0, 1024).astype(F)
        )
        return read(bank, settings or shunt(), **how).reset_days > 0


def test_reset_must_last():
    good, bad = 512, 3
    kept = [good, good, bad, good, bad] + 5 * [bad] + [good, good]
    assert walked([(kept, 0), (12 * [bad], 2), (12 * [good], 0)]) == [2, 0, 3]
    # ... and the two at the end of this hour, with one more in the next, are enough
    assert walked([([good] + 11 * [bad], 2), ([good] + 11 * [bad], 1)]) == [3, 0]
    assert shunt(dwell=3).dwell_steps == 1 and shunt(dwell=15).dwell_steps == 3


def walked(hours, dwell=3):
    """Steps in a row of several lanes side by side, each (places, steps in a row before), in a middle window."""
    many = len(hours)
    places, runs = np.zeros((12, WALKED), np.int32), np.array([run for _, run in hours], np.int32)
    places[:, :many] = np.transpose([row for row, _ in hours])
    window = np.full(many, 256, np.int32), np.full(many, 768, np.int32)
    steps_within(places.ravel(), *window, runs, many, np.int32(dwell))
    return runs.tolist()


def places_of(key, hour, members):
    """Places of the steps of an hour, float64 [members, 12], and without the part that they share."""
    places, fine = np.zeros(12 * WALKED, np.int32), np.zeros(WALKED, F)
    draw_places(key, hour, members, members.size, places, fine)
    whole = places.reshape(12, WALKED)[:, : members.size].T
    return whole + fine[: members.size, None].astype(float), whole


def test_lanes_drawn_side_by_side_are_those_drawn_alone():
    """Against the words of each member's own draw, taken apart here bit by bit."""
    key, members = np.uint64(77), np.array([5, 2**40 + 3, 0, 63, 64, 7, 8, 9, 1000, 12345, 11], np.int64)
    for hour in (0, 8759):
        placed, whole = places_of(key, hour, members)
        for lane, member in enumerate(members):
            bits = [f"{int(word):032b}" for word in short_philox(key, hour, member)]
            steps = [int(word[22 - 10 * at : 32 - 10 * at], 2) for word in bits for at in range(3)]
            assert whole[lane].tolist() == steps
            shared = (int("".join(word[:2] for word in bits), 2) + 0.5) / 256
            assert (placed[lane] - whole[lane]).tolist() == [shared] * 12


def test_the_flicker_is_normal_and_a_window_holds_its_share_of_it():
    """Places of many hours against scipy's normal distribution, and windows put on the same scale."""
    table, key = flicker_table(), np.uint64(77)
    hours, member = 4000, np.array([5], np.int64)
    drawn = np.vstack([places_of(key, hour, member)[0] for hour in range(hours)]) / 1024
    assert kstest(drawn.ravel(), "uniform").pvalue > 1e-3
    # Steps of an hour do not hang together: three standard errors of 4000 hours
    assert np.abs(np.corrcoef(drawn.T) - np.eye(12)).max() < 4 / np.sqrt(hours)
    for deviations in (-2.5, -1.0, 0.013, 0.5, 3.0):
        # Straight lines between steps of 1/64: h^2/8 of the density's greatest slope, .24 (arithmetic)
        place = place_of(F((deviations + 4.0) * 64.0), table)
        assert place / 1024 == pytest.approx(norm.cdf(deviations), abs=0.24 / 64**2 / 8 + 1e-6)
    assert (place_of(F(0), table), place_of(F(512), table)) == (0.0, 1024.0)


def test_a_dwell_of_hours_needs_hours():
    bank = weak_afternoon(0.99, 20.0, 1.0, lanes=2)
    assert read(bank, shunt(dwell=60)).reset_days.tolist() == [365, 365]
    # One hour of charging a day never holds for 65 minutes; two do
    assert read(bank, shunt(dwell=65)).reset_days.tolist() == [0, 0]
    bank.offer[1:] = np.maximum(bank.offer[1:], bank.offer[:-1])
    assert read(bank, shunt(dwell=65)).reset_days.tolist() == [365, 365]


def test_the_shunt_judges_the_current_that_it_measures():
    assert not steady(20.0, 2.1).any()
    assert steady(20.0, 2.1, offset=-0.2).all()
    past = np.full((8760, 2), 0.2, F)
    bank = weak_afternoon(1.0, 20.0, 1.9, lanes=2)
    assert read(bank, shunt(), seen=bank.current + past).reset_days.tolist() == [0, 0]


def weak_afternoon(soc, offer, accept, lanes=400):
    """A bank that is charged by a weak sun in one hour a day."""
    noon = HOUR % 24 == 13
    rows = dict(soc=np.full(8760, soc), offer=noon * offer, accept=np.full(8760, accept))
    return hours(lanes=lanes, current=noon * min(offer, accept), **rows)


def test_flicker_resets_where_the_hourly_mean_would_not():
    # A cell at 90 % rests at 2.075 + .6 x .035 = 2.096 V, six at 12.576 V (table of rested voltages): 14.4 V
    # takes this share of the accepted current; the sun offers .75 of it, times a factor of SD .25
    share = (14.40 - 12.576) / (14.70 - 12.576)
    a_step = norm.sf((share / 0.75 - 1) / 0.25)
    assert not steady(0.75 * 2.2, 2.2, shunt(full_current=2.3), soc=0.90).any()
    block = read(weak_afternoon(0.90, 0.75 * 2.2, 2.2), shunt(full_current=2.3))
    # One step of twelve is enough. Standard error of 400 x 365 days: .0004; a millivolt of 14.4 V: .0005
    expected = 1 - (1 - a_step) ** 12
    assert (block.reset_days / 365).mean() == pytest.approx(expected, abs=0.002)
    assert (block.premature_days == block.reset_days).all()


def test_a_reset_of_a_full_bank_is_not_premature():
    block = read(weak_afternoon(0.99, 20.0, 1.0, lanes=2), shunt())
    assert block.reset_days.tolist() == [365, 365] and block.premature_days.tolist() == [0, 0]


def test_far_from_full_the_flicker_cannot_reset():
    block = read(weak_afternoon(0.6, 5.0, 12.0, lanes=2), shunt())
    assert block.reset_days.tolist() == [0, 0]


def test_a_cold_lock_out_looks_like_full():
    # LFP is not charged below 0 C (common practice): the charger stands at its set point and no current flows
    bank = weak_afternoon(0.5, 10.0, 0.0, lanes=2)
    block = read(bank, shunt(full_voltage=14.0, full_current=4.0), temp=-5.0, chemistry=LFP)
    assert block.premature_days.tolist() == [365, 365]


def test_a_voltage_that_the_charger_never_reaches_never_resets():
    block = read(weak_afternoon(1.0, 20.0, 0.0, lanes=1), shunt(full_voltage=16.0))
    assert block.reset_days[0] == 0


def test_the_warm_up_leaves_its_error_but_no_counts():
    bank = cycling(start=0.5)
    block = read(bank, shunt(), offset=-0.005, warm_up=1440)
    # 60 days x .12 %/day before the year begins, and 30 more by day 30 (closed form)
    error = 100 * (block.reading - bank.soc)[:, 0]
    assert error[0] == pytest.approx(-60.0 * 0.12, rel=0.01)
    assert error[30 * 24 - 1] == pytest.approx(-90 * 0.12, rel=0.01)
    counted = read(weak_afternoon(0.99, 20.0, 1.0, lanes=1), shunt(), warm_up=1440)
    assert counted.reset_days[0] == 365


def test_bits_do_not_depend_on_the_batch():
    rng = np.random.default_rng(3)
    members = np.arange(12)
    bank = weak_afternoon(0.93, 1.6, 2.2, lanes=12)
    bank.current[:] = rng.normal(0, 3, bank.current.shape)
    settings = shunt(full_current=2.3, offset_sd=0.01, gain_sd=0.003)
    temps = np.full((8760, 12), 20.0, F)
    whole = shunt_block(bank, temps, FLOODED, settings, members, 1)
    some = [7, 2, 9]
    parts = {k: np.ascontiguousarray(v[:, some]) for k, v in vars(bank).items() if k != "capacity"}
    part = shunt_block(
        SimpleNamespace(**parts, capacity=100.0), temps[:, :3].copy(), FLOODED, settings, members[some], 1
    )
    np.testing.assert_array_equal(whole.reading[:, some], part.reading)
    np.testing.assert_array_equal(whole.reset_days[some], part.reset_days)
    assert not np.array_equal(whole.reading, shunt_block(bank, temps, FLOODED, settings, members, 2).reading)


def test_instruments_are_as_good_as_their_tolerance():
    gain, offset, drift = instrument_errors(shunt(offset_sd=0.010, gain_sd=0.003), np.arange(5000), 1)
    assert not drift.any()
    # Four standard errors of a standard deviation from 5000 draws: 4 / sqrt(10,000) = 4 %
    assert gain.std() == pytest.approx(0.003, rel=0.04) and offset.std() == pytest.approx(0.010, rel=0.04)
    assert abs(np.corrcoef(gain, offset)[0, 1]) < 0.06
    assert abs(offset.mean()) < 4 * 0.010 / np.sqrt(5000)


def test_settings_of_a_study():
    row = Shunt(
        kind="shunt", offset_ma=20, capacity_set_ah=200, ah_efficiency_set_pct=95, rate_exponent_set=1,
        full_voltage_v=28.4, full_current_pct=4, full_dwell_min=12, gain_error_pct=0.3, offset_ma_per_k=0,
    )  # fmt: skip
    settings = shunt_settings("saloon", row)
    # 4 % of 200 Ah set = 8 A (arithmetic)
    assert (settings.full_current, settings.efficiency, settings.offset_sd) == (8.0, 0.95, 0.02)
    assert settings.gain_sd == pytest.approx(0.003) and settings.dwell_steps == 3


@pytest.mark.parametrize(("full_voltage", "resets"), [(14.4, 0), (13.4, 365)])
def test_chargers_that_have_fallen_to_float_reset_it_only_at_their_voltage(full_voltage, resets):
    """Flooded at 90 %: 4.9 A at the set point of 14.7 V, 2.0 A (the tail) at the float voltage of 13.5 V."""
    share, drop = (2.25 - 2.11) / (2.45 - 2.11), 6 * (2.45 - 2.25)
    noon = HOUR % 24 == 12
    soc = np.full(8760, 0.9)
    taken = 100.0 * (1.0 - np.exp(-1.0 / float(FLOODED.taper_h))) * 0.1 * share
    assert taken == pytest.approx(2.0, abs=0.05)
    bank = hours(soc=soc, accept=np.full(8760, taken), offer=np.where(noon, 30.0, 0.0))
    settings = shunt(full_voltage=full_voltage, full_current=2.1)
    assert read(bank, settings).reset_days[0] == 365  # as if the chargers still held their set point
    bank.float_drop = drop
    assert read(bank, settings).reset_days[0] == resets
    bank.accept /= F(share)  # before the absorption time is over: the set point, and too much current
    assert read(bank, settings).reset_days[0] == 0
    settings = shunt(full_voltage=full_voltage, full_current=5.0)
    assert read(bank, settings).reset_days[0] == 365
