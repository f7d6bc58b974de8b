"""The stochastic sky, judged by distribution, and the bits of its draws."""

import numpy as np
import pytest
from scipy.special import ndtri

from darkspell.climate import SiteClimate
from darkspell.core.calendar import Calendar
from darkspell.core.keyed_random import stream_key
from darkspell.pv.dc_power import array_numbers, dc_power, dim_light
from darkspell.simulation.input_series import BankPlace, fill_hours, stochastic_days
from darkspell.study.arrays import Array, Controller
from darkspell.weather.daily_clearness import daily_clearness, daily_latent_and_clearness
from darkspell.weather.hourly_clearness import near_normals, noise_numbers, noise_of_day, spread_day
from darkspell.weather.monthly_interpolation import SCORE_END, SCORE_STEP, expit, interpolated_months
from darkspell.weather.solar_geometry import site_sky
from darkspell.weather.surfaces import Plane

CALENDAR = Calendar(7)
MEMBERS = np.arange(256)


def climate(**changes):
    """A made-up climate: the same bell of clearness in all months."""
    probability = (np.arange(201) + 0.5) / 201
    values = dict(
        probabilities=probability,
        kt_quantiles=np.tile(np.clip(0.42 + 0.17 * ndtri(probability), 0.03, 0.78), (12, 1)),
        kt_ceiling=np.full(12, 0.82),
        temp_air_mean=np.array([-6, -5, -2, 2, 7, 10, 12, 12, 9, 5, 0, -4.0]),
        temp_air_range=np.full(12, 8.0),
        temp_air_sd=np.full(12, 3.5),
        temp_air_with_sun=0.4 * np.array([-1, -0.9, -0.6, -0.1, 0.4, 0.8, 1, 1, 0.7, 0.2, -0.3, -0.8]),
        relief=0.0,
        precipitation=np.full(12, 75.0),
        fast_phi=np.full(12, 0.28),
        slow_phi=np.full(12, 0.93),
        slow_weight=np.full(12, 0.1),
        annual_weight=0.0,
        annual_mean_sd=0.0,
        monthly_mean_sd=0.0,
        width_sd=0.0,
        lag_one_sd=0.0,
        slow_sd=0.0,
        interannual_sd=0.0,
        source="made up",
    )
    values |= changes
    return SiteClimate(**values)


def weather_block(
    sky, climate, calendar, arrays, amps_per_watt, place, albedo, members, parameter_draw, seed
):
    """Drawn days and their hours."""
    days = stochastic_days(climate, calendar, members, parameter_draw, seed)
    return fill_hours(sky, days, arrays, amps_per_watt, place, albedo, members, seed)


def test_the_latent_series_has_the_stated_persistence():
    """Autocorrelation is the weighted sum of the two parts' powers (theory of the sum of two AR(1))."""
    z, _ = daily_latent_and_clearness(climate(), CALENDAR, MEMBERS, MEMBERS, 4)
    assert z.std() == pytest.approx(1.0, abs=0.01)
    for lag in (1, 2, 3, 7, 20):
        expected = 0.9 * 0.28**lag + 0.1 * 0.93**lag
        measured = np.mean(z[:, lag:] * z[:, :-lag])
        assert measured == pytest.approx(expected, abs=0.015)  # about 4 standard errors


def test_daily_clearness_follows_the_quantiles():
    """Without doubt or year-to-year spread the pooled days reproduce the given distribution."""
    c = climate()
    kt = daily_clearness(c, CALENDAR, MEMBERS, MEMBERS % 50, 4)
    for p in (0.05, 0.25, 0.5, 0.75, 0.95):
        given = np.interp(p, c.probabilities, c.kt_quantiles[0])
        assert np.quantile(kt, p) == pytest.approx(given, abs=0.006)


def test_worlds_share_their_doubt():
    """The doubt about the source moves all years of a parameter draw together, by its stated spread."""
    group = MEMBERS % 32

    def by_world(spread):
        kt = daily_clearness(climate(annual_mean_sd=spread), CALENDAR, MEMBERS, group, 4).mean(axis=1)
        parts = [kt[group == w] for w in range(32)]
        return np.log([part.mean() for part in parts]).std(), np.mean([part.std() for part in parts])

    (between, within), (_, within_certain) = by_world(0.1), by_world(0.0)
    assert between == pytest.approx(0.1, rel=0.35)  # 32 parameter draws know a spread to 13 %
    assert within == pytest.approx(within_certain, rel=0.15)


def test_a_member_has_the_same_bits_in_any_batch():
    """Order and company of members do not matter."""
    sky = site_sky(47.2, 13.6, 1350.0, 1.0, [Plane(((1, 1, 40.0),), 170.0)], CALENDAR)
    numbers = array_numbers([array()], Controller(kind="mppt"), 13.0)
    args = (
        sky,
        climate(annual_mean_sd=0.1, interannual_sd=0.05),
        CALENDAR,
        numbers,
        0.05,
        BankPlace(18.0),
        0.2,
    )
    one = weather_block(*args, np.arange(8), np.arange(8) % 5, 11)
    other = weather_block(*args, np.array([6, 2]), np.array([1, 2]), 11)
    for a, b in zip(one[:4], other[:4], strict=True):
        np.testing.assert_array_equal(a[:, [6, 2]], b)


def array(**changes):
    """An array as the study gives it."""
    values = dict(power_wp=100.0, loss_pct=0.0, tilt_deg=40.0, azimuth_deg=170.0)
    return Array(**(values | changes))


def test_the_hours_keep_the_energy_of_the_day():
    """Hourly irradiance sums to the day's, to the digits of single precision; none above the sky outside."""
    sky = site_sky(47.2, 13.6, 1350.0, 1.0, [Plane(((1, 1, 0.0),), 180.0)], CALENDAR)
    rng = np.random.default_rng(5)
    clear, extra = (a.reshape(365, 24) for a in (sky.clear, sky.extra_horizontal))
    ghi, state = np.zeros((24, 8), np.float32), np.zeros(8, np.float32)
    for day in range(0, 365, 3):
        kt = rng.uniform(0.02, 0.8, 8)
        energy = (kt * sky.daily_extra[day]).astype(np.float32)
        noise = rng.standard_normal((24, 8)).astype(np.float32)
        spread_day(energy, clear[day], extra[day], noise, state, noise_numbers(), ghi)
        lit = extra[day] > 0
        np.testing.assert_allclose(ghi[lit].sum(axis=0, dtype=float), energy, rtol=2e-6)
        assert np.all(ghi[lit] <= extra[day][lit, None] * (1 + 2e-6)) and np.all(ghi >= 0)


def test_the_hourly_noise_is_largest_on_partly_cloudy_days():
    """By the constants: calm under clear and overcast skies; the clear sky's shape only on clear days."""
    amplitude, _, clear_share = noise_of_day(np.array([0.1, 0.7, 1.05]))
    assert amplitude[1] > 2.0 * amplitude[2]
    assert 0.7 * amplitude[1] == pytest.approx(0.32) and 1.05 * amplitude[2] == pytest.approx(0.05)
    assert clear_share == pytest.approx([0.0, 5.0 / 6.0, 1.0])


def test_the_noise_is_standard_and_independent():
    """Mean 0, SD 1, kurtosis of the sum of four even numbers (3 - 1.2 / 4), no correlation between hours."""
    out = np.empty((24, 4096), np.float32)
    near_normals(stream_key(1, "test"), 0, np.arange(4096), np.ones(24, bool), out)
    assert out.mean() == pytest.approx(0.0, abs=0.013)  # four standard errors
    assert out.std() == pytest.approx(1.0, abs=0.01)
    assert (out.astype(float) ** 4).mean() == pytest.approx(2.7, abs=0.06)
    between = np.corrcoef(out)[np.triu_indices(24, 1)]
    assert np.abs(between).max() < 0.07  # 276 pairs, SD of each 1/64


def test_dc_power_equals_pvlib():
    """Cell temperature, power and efficiency in dim light against pvlib's Faiman, PVWatts and Huld functions."""
    import pvlib

    # pvlib.pvarray.huld at 25 degC is G' + k1 G' ln G' + k2 G' ln^2 G'; 0.001 is the stated error of the polynomial.
    for poa, air in ((20.0, 5.0), (50.0, -10.0), (200.0, 10.0), (800.0, 20.0), (1000.0, 35.0)):
        cell = pvlib.temperature.faiman(poa, air, wind_speed=1.0)
        dim = pvlib.pvarray.huld(poa, 25.0, 1000.0, cell_type="cSi", k_version="pvgis6") / poa
        theirs = pvlib.pvsystem.pvwatts_dc(poa, cell, 100.0, -0.0035)
        single = [np.float32(value) for value in (poa, air, 100.0, 1.0 / (25.0 + 6.84), -0.0035, 1.0)]
        ours = dc_power(*single, dim_light())
        assert ours / theirs == pytest.approx(dim, abs=0.001)


def test_outdoor_bank_follows_the_air_slowly():
    """Same mean, smaller swing."""
    sky = site_sky(47.2, 13.6, 1350.0, 1.0, [Plane(((1, 1, 40.0),), 170.0)], CALENDAR)
    numbers = array_numbers([array()], Controller(kind="mppt"), 13.0)
    args = (sky, climate(), CALENDAR, numbers, 0.05)
    _, _, bank, air, _ = weather_block(*args, BankPlace(18.0), 0.2, np.arange(4), np.arange(4), 1)
    assert bank.mean() == pytest.approx(air.mean(), abs=0.05)
    assert bank.std() < 0.95 * air.std()
    _, _, room, _, _ = weather_block(*args, BankPlace(18.0, 10.0, 20.0), 0.2, np.arange(4), np.arange(4), 1)
    assert room.min() == 10.0 and room.max() == 20.0


def test_no_step_at_the_end_of_a_month_and_its_mean_kept():
    """A year with a swing: months keep their means, and neighbouring days differ no more across a month's end."""
    probability = (np.arange(201) + 0.5) / 201
    swing = 0.42 - 0.12 * np.cos(2 * np.pi * (np.arange(12) + 0.5) / 12)
    c = climate(
        kt_quantiles=np.clip(swing[:, None] + 0.15 * ndtri(probability), 0.03, 0.78), slow_weight=np.zeros(12)
    )
    table = interpolated_months(c, CALENDAR).scores
    weights = np.exp(-0.5 * np.arange(-SCORE_END, SCORE_END + SCORE_STEP / 2, SCORE_STEP) ** 2)
    by_day = expit(table, 0.82) @ (weights / weights.sum())
    means = np.bincount(CALENDAR.month_of_day, by_day) / np.bincount(CALENDAR.month_of_day)
    np.testing.assert_allclose(means, c.monthly_kt(), atol=1e-3)  # the score grid against the quantiles
    assert np.abs(np.diff(by_day)).max() < 0.0025  # the steepest slope of the swing is 0.0021 a day


def test_the_annual_component_spreads_the_years_and_keeps_the_days():
    """Annual means of the latent series get the variance of the annual component; its total stays one."""
    members = np.arange(2000)
    z, _ = daily_latent_and_clearness(climate(annual_weight=0.05), CALENDAR, members, members, 4)
    plain, _ = daily_latent_and_clearness(climate(), CALENDAR, members, members, 4)
    assert z.std() == pytest.approx(1.0, abs=0.01)
    more = z.mean(axis=1).var() - 0.95 * plain.mean(axis=1).var()
    assert more == pytest.approx(0.05, abs=0.008)  # five standard errors of a variance of 2000 years


def test_days_are_duller_than_the_lowest_quantile_as_often_as_its_tail_says():
    """Below the lowest of 50 quantiles lies 1 % of the days, spread along the slope of the tail."""
    probability = (np.arange(50) + 0.5) / 50
    quantiles = np.tile(np.clip(0.42 + 0.17 * ndtri(probability), 0.03, 0.78), (12, 1))
    c = climate(probabilities=probability, kt_quantiles=quantiles)
    kt = daily_clearness(c, CALENDAR, MEMBERS, MEMBERS, 4)
    below = kt[kt < quantiles[0, 0]]
    assert below.size / kt.size == pytest.approx(0.01, abs=0.002)
    assert np.median(below) < 0.93 * quantiles[0, 0] and below.min() > 0.0


def test_parameter_draws_differ_in_the_slow_component():
    """The mean autocorrelation at five to ten days scatters between draws only where the slow part is uncertain."""

    def later(**changes):
        members = np.arange(40 * 30)
        z, _ = daily_latent_and_clearness(climate(**changes), CALENDAR, members, members // 30, 4)
        z = z.reshape(40, 30, -1)
        return np.array([np.mean(z[..., lag:] * z[..., :-lag], axis=(1, 2)) for lag in range(5, 11)]).mean(
            axis=0
        )

    assert later(slow_sd=0.8).std() > 2.0 * later().std()


def test_no_day_passes_the_ceiling_of_its_month():
    ceiling = np.linspace(0.79, 0.85, 12)
    kt = daily_clearness(climate(kt_ceiling=ceiling), Calendar(1), MEMBERS, MEMBERS, 4)
    assert kt.max() < 0.85 and kt[:, :10].max() < 0.82
