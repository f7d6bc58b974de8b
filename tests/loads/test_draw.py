from dataclasses import replace

import numpy as np
import pytest

from darkspell.core.calendar import MONTH_LENGTHS, Calendar
from darkspell.loads.budget import Appliance, daily_budget
from darkspell.loads.hourly_loads import is_even, load_block
from darkspell.loads.random_factors import day_factors, uncertainty_factors
from darkspell.loads.temperature_dependence import Warmth

CALENDAR = Calendar(7)
FRIDGE = Appliance("fridge", 60, 8, peak_watts=180)
LIGHTS = Appliance("lights", 8, 5, count=4, window_start_h=17, window_end_h=23.5)
PUMP = Appliance("pump", 120, 0.5, tier="deferrable", window_start_h=8, window_end_h=18, peak_watts=400)
HEATER = Appliance(
    "heater",
    40,
    6,
    window_start_h=20,
    window_end_h=7,
    months=(1, 2, 12),
    chance_of_use=0.6,
    past_monitor=True,
)
HOUSE = [FRIDGE, LIGHTS, PUMP, HEATER]


def draw(appliances, members=range(64), parameter_draws=None, uncertainty_pct=0.0, seed=3):
    members = np.array(members)
    parameter_draws = members if parameter_draws is None else parameter_draws
    return load_block(appliances, CALENDAR, members, parameter_draws, seed, uncertainty_pct)


def by_day(block):
    return block.reshape(365, 24, -1).sum(1, dtype=float)


@pytest.mark.parametrize("appliance", HOUSE, ids=lambda a: a.name)
def test_mean_over_members_is_the_budget(appliance):
    essential, deferrable, _, _, _ = draw([appliance], range(256))
    years = (essential + deferrable).sum(0, dtype=float)
    # The budget is plain arithmetic, tests/loads/test_budget.py
    budget = daily_budget([appliance])[0] @ MONTH_LENGTHS
    # Four standard errors of the mean of 256 years, plus single precision
    assert abs(years.mean() - budget) < 4 * years.std() / 16 + 1e-5 * budget


def test_spread_of_a_day_is_the_one_asked_for():
    days = by_day(draw([replace(LIGHTS, spread=0.15, window_start_h=10)])[0]).ravel()
    # 160 Wh x 15 %; 23,360 days know a standard deviation within 1.5 %, and slicing costs up to 0.5 %
    assert days.std() == pytest.approx(160 * 0.15, rel=0.02)


def test_chance_of_use_is_the_share_of_days():
    days = by_day(draw([replace(LIGHTS, chance_of_use=0.3)])[0])
    # Binomial, 23,360 days: one standard error is 0.003
    assert (days > 0).mean() == pytest.approx(0.3, abs=0.012)


def test_energy_of_a_run_is_power_times_hours():
    essential, _, _, _, _ = draw([replace(LIGHTS, spread=0.0)])
    # 8 W x 4 x 5 h = 160 Wh (arithmetic); tolerance: single precision over seven hours
    np.testing.assert_allclose(by_day(essential), 160.0, rtol=1e-5)


def test_never_more_than_the_units_can_draw():
    essential, deferrable, _, _, _ = draw([LIGHTS, PUMP])
    assert 31.9 < essential.max() <= 32.0
    assert deferrable.max() <= 120.0


def test_runs_keep_to_their_window():
    essential, _, _, _, _ = draw([LIGHTS])
    hours = essential.reshape(365, 24, 64)
    assert hours[:, :17].max() == 0.0
    # Half of the last hour lies in the window
    assert 15.5 < hours[:, 23].max() <= 16.0


def test_a_run_is_contiguous():
    running = draw([LIGHTS])[0].reshape(365, 24, 64) > 0
    starts = (running[:, 1:] & ~running[:, :-1]).sum(1)
    assert (starts == 1).all()


def test_a_night_run_belongs_to_the_day_it_starts():
    heater = replace(HEATER, chance_of_use=1.0, spread=0.0)
    essential = draw([heater])[0]
    nights = np.roll(essential, -12, axis=0).reshape(365, 24, 64).sum(1, dtype=float)
    winter = np.isin(CALENDAR.month_of_day + 1, (1, 2, 12))
    # 40 W x 6 h (arithmetic)
    np.testing.assert_allclose(nights[winter], 240.0, rtol=1e-5)
    assert nights[~winter].max() == 0.0


def test_the_last_night_runs_into_the_first_morning():
    lamp = Appliance("lamp", 10, 7.9, window_start_h=22, window_end_h=6, spread=0.0)
    essential = draw([lamp])[0]
    # 7.9 of 8 h: spread evenly, 79 Wh / 8 h in each hour from 22:00 to 06:00 (arithmetic)
    np.testing.assert_allclose(essential[:6], 79 / 8, rtol=1e-5)
    np.testing.assert_allclose(essential.sum(0, dtype=float), 79 * 365, rtol=1e-5)


def test_what_cycles_all_day_is_spread_evenly():
    essential = draw([FRIDGE])[0].reshape(365, 24, 64)
    assert is_even(FRIDGE) and not is_even(LIGHTS) and not is_even(replace(FRIDGE, hours_per_day=2))
    # Single precision
    np.testing.assert_allclose(essential, np.broadcast_to(essential[:, :1], essential.shape), rtol=1e-6)


def test_what_is_always_on_has_no_spread():
    essential = draw([Appliance("router", 6, 24, spread=0.5)])[0]
    np.testing.assert_array_equal(essential, np.float32(6.0))


def test_peak_is_everything_running_and_the_biggest_surge():
    _, _, peak, _, _ = draw([replace(FRIDGE, count=2), replace(PUMP, hours_per_day=10)])
    noon, night = peak[12::24], peak[2::24]
    # By day 2 x 60 + 120 W and the pump's 280 W on top, by night 2 x 60 W and one start of 120 W (arithmetic)
    np.testing.assert_allclose(noon, 520.0)
    np.testing.assert_allclose(night, 240.0)


def test_peak_is_never_below_the_mean():
    essential, deferrable, peak, _, _ = draw(HOUSE, uncertainty_pct=20)
    assert (peak >= (essential + deferrable) * (1 - 1e-6)).all()


def test_past_the_monitor_is_the_part_wired_so():
    essential, _, _, past, _ = draw(HOUSE)
    np.testing.assert_allclose(past, draw([HEATER])[0], rtol=1e-6)
    assert (past <= essential + 1e-3).all() and past.max() > 0


def test_bits_do_not_depend_on_the_batch():
    whole = draw(HOUSE, range(20), uncertainty_pct=10)
    part = draw(HOUSE, [17, 4, 11], uncertainty_pct=10)
    for a, b in zip(whole, part, strict=True):
        np.testing.assert_array_equal(a[:, [17, 4, 11]], b)


def test_another_appliance_leaves_the_draws_of_the_rest():
    np.testing.assert_array_equal(draw([LIGHTS, PUMP])[0], draw([LIGHTS])[0])
    assert not np.array_equal(draw([replace(LIGHTS, name="lamps")])[0], draw([LIGHTS])[0])
    assert not np.array_equal(draw([LIGHTS], seed=0)[0], draw([LIGHTS])[0])


def test_a_given_array_is_filled():
    out = np.full((5, 8760, 64), np.nan, np.float32)
    essential = load_block(HOUSE, CALENDAR, np.arange(64), np.arange(64), 3, 0.0, out=out)[0]
    assert np.shares_memory(essential, out)
    np.testing.assert_array_equal(out, np.stack(draw(HOUSE)))


def test_doubt_is_shared_within_a_world_and_has_mean_one():
    factors = uncertainty_factors(np.arange(20_000), 1, 10.0).astype(float)
    # Four standard errors: 4 x 0.1 / sqrt(20,000), and 4 x 0.1 / sqrt(2 x 20,000)
    assert factors.mean() == pytest.approx(1.0, abs=0.0029)
    assert factors.std() == pytest.approx(0.1, abs=0.0021)
    assert uncertainty_factors([7, 3, 7], 1, 10.0).tolist() == factors[[7, 3, 7]].tolist()
    assert uncertainty_factors([0, 1], 1, 0.0).tolist() == [1.0, 1.0]


@pytest.mark.parametrize("spread", [0.0, 0.2, 0.5, 1.0])
@pytest.mark.parametrize("largest", [np.inf, 1.5, 1.02, 1.0])
def test_day_factors_keep_the_mean_whatever_the_window_holds(spread, largest):
    factors = day_factors(spread, largest).astype(float)
    # Single precision of the table
    assert factors.mean() == pytest.approx(1.0, abs=2e-6)
    assert factors.max() <= largest * (1 + 1e-6)
    assert factors.min() > 0.0


@pytest.mark.parametrize("spread", [0.1, 0.3, 0.6])
def test_day_factors_are_lognormal(spread):
    # scipy.stats.lognorm, the reference: quantiles at the middle of the slices
    from scipy.stats import lognorm

    sigma = np.sqrt(np.log1p(spread**2))
    quantiles = lognorm(sigma, scale=np.exp(-(sigma**2) / 2)).ppf((np.arange(1024) + 0.5) / 1024)
    # A slice's mean and its middle differ most where the curve bends: leave the outer 1 %
    np.testing.assert_allclose(day_factors(spread)[10:-10], quantiles[10:-10], rtol=2e-3)


def test_what_follows_the_temperature_runs_its_share_of_the_hour():
    # A compressor of 60 W that runs 8 of 24 h at 25 degC and not at all at 5: at 15 degC half of it (arithmetic)
    fridge = replace(FRIDGE, spread=0.0, warmth=Warmth(25.0, 5.0, driven=True))
    temp = np.full((8760, 64), 15.0, np.float32)
    temp[:24] = 0.0
    temp[24:48] = 300.0
    essential, _, peak, _, _ = load_block(
        [fridge], CALENDAR, np.arange(64), np.arange(64), 3, 0.0, temp_air=temp
    )
    assert essential[:24].max() == 0.0 and peak[:24].max() == 0.0
    np.testing.assert_allclose(essential[24:48], 60.0)  # never more than all the time
    np.testing.assert_allclose(essential[48:], 10.0, rtol=1e-5)
    np.testing.assert_allclose(peak[48:], 180.0)


def test_a_heater_works_in_the_cold_of_its_window():
    # 40 W, 4 of 8 h at -5 degC, none at 15; at 5 degC two hours: 80 Wh a night (arithmetic)
    heater = replace(
        HEATER, hours_per_day=4.0, window_end_h=4, months=tuple(range(1, 13)), chance_of_use=1.0, spread=0.0,
        warmth=Warmth(-5.0, 15.0, driven=True),
    )  # fmt: skip
    temp = np.full((8760, 64), 5.0, np.float32)
    essential = load_block([heater], CALENDAR, np.arange(64), np.arange(64), 3, 0.0, temp_air=temp)[0]
    nights = np.roll(essential, -12, axis=0).reshape(365, 24, 64)
    np.testing.assert_allclose(nights.sum(1), 80.0, rtol=1e-5)
    assert nights[:, :8].max() == 0.0 and nights[:, 16:].max() == 0.0


def test_the_expected_share_of_the_temperature_is_what_is_drawn():
    from types import SimpleNamespace

    fridge = replace(FRIDGE, spread=0.3, warmth=Warmth(25.0, 5.0, 8.0, 28.0, driven=True))
    climate = SimpleNamespace(
        temp_air_mean=np.full(12, 12.0), temp_air_sd=np.full(12, 4.0), temp_air_range=np.full(12, 8.0)
    )
    from darkspell.weather.temperature import daily_swing

    days = 12.0 + 4.0 * np.random.default_rng(2).standard_normal((365, 1, 64))
    temp = (days + 4.0 * daily_swing()[None, :, None]).reshape(8760, 64).astype(np.float32)
    essential = load_block([fridge], CALENDAR, np.arange(64), np.arange(64), 3, 0.0, temp_air=temp)[0]
    expected = daily_budget([fridge], climate) @ np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    years = essential.sum(0, dtype=float)
    assert years.mean() == pytest.approx(expected[0], abs=4 * years.std() / 8)


def test_what_is_never_disconnected_has_a_row_of_its_own():
    pump = replace(FRIDGE, tier="uninterruptible")
    essential, deferrable, peak, _, always = draw([LIGHTS, pump])
    np.testing.assert_array_equal(essential, draw([LIGHTS])[0])
    np.testing.assert_array_equal(always, draw([FRIDGE])[0])
    assert deferrable.max() == 0.0 and (peak >= always).all()


def test_use_by_date_scales_the_power():
    dates = np.ones(365, np.float32)
    dates[:31], dates[31:59] = 1.5, 0.0  # January with guests, February without people
    lamp = replace(LIGHTS, use=dates, spread=0.0)
    day = by_day(draw([lamp])[0])
    month = CALENDAR.month_of_day
    # 8 W x 4 x 5 h = 160 Wh (arithmetic)
    np.testing.assert_allclose(day[month == 0], 240.0, rtol=1e-5)
    assert day[month == 1].max() == 0.0
    np.testing.assert_allclose(day[month == 2], 160.0, rtol=1e-5)


def test_a_measured_year_keeps_its_energy_and_its_weekdays():
    series = np.random.default_rng(1).uniform(0, 50, (365, 24)).astype(np.float32)
    log = Appliance("log", 0.0, 0.0, series=series)
    essential = draw([log])[0]
    np.testing.assert_allclose(essential.sum(0, dtype=float), series.sum(dtype=float), rtol=1e-5)
    # 1 July, shifted by whole weeks
    found = {tuple(essential[:24, lane]) for lane in range(64)}
    assert found == {tuple(series[181 + 7 * weeks]) for weeks in range(-2, 3)}


def test_a_few_measured_days_come_in_a_drawn_order():
    series = np.repeat(np.array([[1.0], [3.0]], np.float32), 24, axis=1)
    day = by_day(draw([Appliance("log", 0.0, 0.0, series=series)])[0]) / 24
    assert set(np.unique(day)) == {1.0, 3.0}
    # Four standard errors of 365 x 64 draws of 1 or 3
    assert day.mean() == pytest.approx(2.0, abs=4 / np.sqrt(365 * 64))


def test_a_run_lies_in_its_window_as_an_independent_library_lays_it():
    """Mean and spread by the hour of 40 W for 3 h between 17:00 and 23:00, against rampdemand 0.5.2.

    Its figures were recorded from 1,827 days (one appliance, func_time 180, time variability 0.2, random and
    numpy seeds 3); it keeps whole minutes and runs 1.1 % long, so the means may be off by that much of the
    hour and by four standard errors. Its day varies by 2.4 %: our day of use is kept from varying at all.
    """
    theirs = np.array([6.77, 19.85, 32.90, 33.71, 20.60, 7.53])
    spread = np.array([11.75, 17.70, 11.97, 11.25, 17.68, 12.40])
    lamp = Appliance("lamps", 40, 3, window_start_h=17, window_end_h=23, spread=0.0)
    hours = draw([lamp])[0].reshape(365, 24, 64)[:, 17:23]
    error = 4 * spread / np.sqrt(1827)
    assert (np.abs(hours.mean((0, 2), dtype=float) - theirs) < error + 0.011 * theirs).all()
    # An hour at the window's edge (a third of the days, evenly from 0 to 40 W) has a kurtosis of 3.9: four
    # standard errors of its spread over 1,827 days are 4 sqrt(2.9 / 4 / 1827) = 8 % (arithmetic).
    np.testing.assert_allclose(hours.std((0, 2), dtype=float), spread, rtol=0.08)
