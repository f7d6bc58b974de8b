"""The interval of a site on repeated studies whose truth is known.

The loss of load of a plain daily store with a lognormal supply of SD .10 is no lognormal: the model that the interval
assumes is not the one that it is judged on.
"""

import numpy as np
import pytest
from scipy.special import ndtr

from darkspell.statistics.site_difference import MEAN, MEDIAN, site_difference
from darkspell.statistics.site_figures import site_figures
from darkspell.statistics.site_interval import ASSUMED, site_distribution

SD, DAYS, STUDIES, YEARS = 0.10, 150, 40, 1000
SCORES = np.linspace(-3.5, 3.5, 29)
FINE = np.linspace(-3.5, 3.5, 1401)
WEIGHTS = np.exp(-(FINE**2) / 2) / np.exp(-(FINE**2) / 2).sum()


def short_days(log_supply, rng, *stores):
    """Days of a winter on which each store falls short, in the same weather; float64 [stores, members].

    Daily supply over demand is lognormal with a lag-one correlation of .6. A store is (bank in days of demand,
    mean supply over demand).
    """
    weather, charges = np.zeros(log_supply.size), [np.full(log_supply.size, bank) for bank, _ in stores]
    short = np.zeros((len(stores), log_supply.size))
    for _ in range(DAYS):
        weather = 0.6 * weather + 0.8 * rng.normal(size=log_supply.size)
        supply = np.exp(log_supply + 0.9 * weather - 0.405)
        for row, charge, (bank, ratio) in zip(short, charges, stores, strict=True):
            charge += ratio * supply - 1.0
            row += charge < -0.05
            np.clip(charge, 0.0, bank, out=charge)
    return short


def truth_of(*stores, years=6000):
    """Long-run averages at each of `SCORES`; float64 [scores, stores]."""
    runs = (short_days(np.full(years, SD * z), np.random.default_rng(99), *stores) for z in SCORES)
    return np.array([run.mean(axis=1) for run in runs])


def studies(draws, *stores):
    """Years of repeated studies, each with its own parameter draws; (draw of each year, years by store)."""
    for study in range(STUDIES):
        rng, draw = np.random.default_rng(study), np.arange(YEARS) % draws
        yield draw, short_days(SD * rng.normal(size=draws)[draw], rng, *stores)


def share_inside(low, high, truth):
    """Share of sites whose long-run average is inside an interval."""
    values = np.interp(FINE, SCORES, truth)
    return WEIGHTS[(values >= low) & (values <= high)].sum()


@pytest.mark.parametrize(
    ("bank", "ratio", "draws", "points"),
    [
        (8.0, 1.5, 200, 0.04),
        (12.0, 1.5, 200, 0.04),
        (8.0, 1.15, 200, 0.04),
        (8.0, 1.5, 50, 0.04),
        (20.0, 1.5, 200, 0.05),  # short in one year of thirty: the chance is 4 points too high
    ],
)
def test_the_interval_covers_the_site_and_its_chance_is_right(bank, ratio, draws, points):
    """Coverage 95 +- 3 %; the probability of meeting a limit within some points of the truth on average."""
    truth = truth_of((bank, ratio))[:, 0]
    limit, chance = truth[10], ndtr(-SCORES[10])
    covered, chances = [], []
    for draw, values in studies(draws, (bank, ratio)):
        site = site_distribution(values.T, draw, True)
        covered.append(share_inside(site.low[0], site.high[0], truth))
        chances.append(site.probability(limit)[0])
    assert np.mean(covered) == pytest.approx(0.95, abs=0.03)
    assert np.mean(chances) == pytest.approx(chance, abs=points)


@pytest.mark.parametrize(
    ("old", "new", "most"),
    [
        ((8.0, 1.5), (12.0, 1.5), 0.98),
        ((8.0, 1.5), (8.0, 1.8), 0.98),
        ((12.0, 1.5), (20.0, 1.5), 0.98),
        ((8.0, 1.5), (8.0, 1.52), 0.98),  # a difference of a twelfth of the loss
        ((8.0, 1.5), (6.0, 1.8), 0.99),  # better in dull years, worse in others
        ((8.0, 1.5), (9.0, 1.42), 1.0),  # as good as the old one: gains and losses cancel
    ],
)
def test_the_interval_of_a_difference_covers_the_site(old, new, most):
    """Coverage 95 +- 3 % where a change works one way; where gains and losses mix, rather too wide."""
    truth = truth_of(old, new, years=12_000)
    truth = truth[:, 1] - truth[:, 0]
    covered, values = [], []
    for draw, (a, b) in studies(200, old, new):
        found = site_difference(a, b, draw, "lolh", 1000.0)
        covered.append(share_inside(found.low, found.high, truth))
        values.append(found.value)
        assert found.low <= found.simulation_low <= found.simulation_high <= found.high
        assert found.low <= found.value <= found.high
    assert 0.92 <= np.mean(covered) <= most
    assert np.mean(values) == pytest.approx(truth[14], rel=0.2)


def test_a_difference_of_equal_systems_is_none_and_a_sum_takes_the_mean():
    """A known shift of an energy by 3 kWh, whose mean over draws it is; equal losses differ by nothing."""
    rng, draw = np.random.default_rng(7), np.arange(1000) % 200
    shift = 3.0 + rng.normal(0.0, 1.0, 200)[draw]
    energy = rng.normal(500.0, 20.0, 1000)
    found = site_difference(energy, energy + shift, draw, "spilled_kwh", 1000.0)
    assert found.point == MEAN and found.value == pytest.approx(shift.mean())
    assert found.high - found.low == pytest.approx(2 * 1.96, rel=0.15)
    assert found.simulation_high - found.simulation_low < 0.2 * (found.high - found.low)
    lost = rng.poisson(0.3, 1000).astype(float)
    same = site_difference(lost, lost, draw, "short_nights", 1000.0)
    assert same.value == same.mean == 0.0 and same.low <= 0.0 <= same.high
    assert same.point == MEDIAN and 0.0 < same.study_value < same.study_mean


def test_plain_averages_keep_only_what_the_draws_differ_by():
    """Between draws SD 2, within SD 6 over 5 years: the interval is 1.96 times 2, not that of the means."""
    rng = np.random.default_rng(4)
    draw = np.arange(20_000) % 4000
    values = (50.0 + rng.normal(0, 2, 4000)[draw] + rng.normal(0, 6, draw.size))[:, None]
    site = site_distribution(values, draw, False)
    assert site.high[0] - site.low[0] == pytest.approx(2 * 1.96 * 2.0, rel=0.08)
    assert site.probability(50.0)[0] == pytest.approx(0.5, abs=0.03)


def test_losses_without_an_event_assume_a_spread():
    """The best guess is none, the interval reaches above it, and a generous limit is kept almost surely."""
    site = site_distribution(np.zeros((1000, 1)), np.arange(1000) % 200, True)
    assert site.median[0] == site.low[0] == 0.0 < site.high[0]
    assert site.method == [ASSUMED]
    assert 0.99 < site.probability(1.0)[0] <= 1.0


def test_losses_that_hardly_a_draw_saw_are_covered_too():
    """A store short in one year of a hundred, that no constant was set on: coverage 95 +- 4 % of those studies."""
    truth = truth_of((16.0, 2.2))[:, 0]
    covered = []
    for draw, values in studies(200, (16.0, 2.2)):
        site = site_distribution(values.T, draw, True)
        if site.method == [ASSUMED]:
            covered.append(share_inside(site.low[0], site.high[0], truth))
    assert len(covered) > 20
    assert np.mean(covered) == pytest.approx(0.95, abs=0.04)


def test_too_few_draws_or_years_give_no_number():
    for draw in (np.arange(20), np.zeros(20, int)):
        assert np.isnan(site_distribution(np.ones((20, 1)), draw, True).high[0])


def test_a_mean_without_spread_between_draws_is_not_known_without_error():
    """Years that do not depend on the draw: the interval is no narrower than the sampling error of the mean."""
    rng, draws = np.random.default_rng(4), np.arange(100) % 20
    for seed in range(5):
        days = rng.uniform(60.0, 180.0, 100)
        found = site_figures(days[:, None], draws, ["longest_full_charge_interval_days"], 400.0, seed)
        half = 1.96 * days.std(ddof=1) / 10.0
        assert found.place_low[0] <= found.simulation_low[0] < days.mean() - 0.5 * half
        assert found.place_high[0] >= found.simulation_high[0] > days.mean() + 0.5 * half


def test_a_year_has_no_more_nights_than_days():
    """Nearly every night in some draws, half of them in others: the interval ends at 365."""
    draws = np.arange(100) % 20
    nights = np.where(draws % 4 == 0, 360.0, 180.0)
    found = site_figures(nights[:, None], draws, ["short_nights"], 400.0)
    assert found.place_high[0] <= 365.0


def test_losses_that_remain_are_not_lost_in_the_difference():
    """A quarter of all nights remains; best guesses of nights and of nights spared, fitted apart, left none."""
    rng = np.random.default_rng(3)
    draw = np.arange(1000) % 200
    nights = rng.poisson(0.05 * np.exp(2.2 * rng.standard_normal(200))[draw])
    spared = [
        site_difference(nights, rng.binomial(nights, share), draw, "short_nights", 300.0)
        for share in (0.25, 0.1, 0.05)
    ]
    assert all(0.0 < one.study_value + one.value < one.study_value for one in spared)
    assert all(one.low <= one.value <= one.high for one in spared)
