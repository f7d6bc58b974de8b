"""Intervals against published tables and against repeated experiments with a known mean."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from darkspell.statistics import intervals
from darkspell.statistics.resampling import resampling, weighted_sums

MEMBERS, WORLDS, REPEATS = 1000, 50, 300
WORLD = np.arange(MEMBERS) % WORLDS

# R. G. Newcombe, Stat. Med. 17 (1998) 857-872, table I; run again with scipy. Tolerance: half the last digit.
NEWCOMBE = [
    (81, 263, (0.2553, 0.3662), (0.2527, 0.3676)),
    (15, 148, (0.0624, 0.1605), (0.0578, 0.1617)),
    (0, 20, (0.0, 0.1611), (0.0, 0.1684)),
    (1, 29, (0.0061, 0.1718), (0.0009, 0.1776)),
]


@pytest.mark.parametrize(("k", "n", "score", "exact"), NEWCOMBE)
def test_shares_of_newcombe(k, n, score, exact):
    np.testing.assert_allclose(intervals.wilson(k, n), score, atol=5e-5)
    np.testing.assert_allclose(intervals.clopper_pearson(k, n), exact, atol=5e-5)


def test_shares_agree_with_scipy():
    from scipy.stats import binomtest

    k, n = np.array([0, 3, 17, 40]), 40
    for method, ours in (("wilson", intervals.wilson), ("exact", intervals.clopper_pearson)):
        theirs = [binomtest(i, n).proportion_ci(0.9, method) for i in k]
        np.testing.assert_allclose(np.transpose(ours(k, n, 0.9)), theirs, atol=1e-12)


@pytest.mark.parametrize("k", [0, 1, 7, 19])
def test_rare_events_of_one_size_in_independent_years_have_clopper_pearson_bounds(k):
    values = np.zeros(500)
    values[:k] = 3.0
    low, high, method = intervals.mean_interval(values, np.arange(500), unit_size=3.0)
    assert method == intervals.EXACT
    np.testing.assert_allclose((low, high), np.multiply(intervals.clopper_pearson(k, 500), 3.0), rtol=1e-9)


def test_no_event_seen_is_not_an_interval_of_zero_width():
    low, high, _ = intervals.mean_interval(np.zeros(MEMBERS), WORLD, unit_size=2.0)
    alone = intervals.mean_interval(np.zeros(MEMBERS), np.arange(MEMBERS), unit_size=2.0)[1]
    assert low == 0
    assert high > alone > 2 * 3 / MEMBERS


def test_events_that_share_a_world_count_as_fewer():
    scattered, together = np.zeros(MEMBERS), np.zeros(MEMBERS)
    scattered[:10] = 1
    together[np.flatnonzero(WORLD == 7)[:10]] = 1
    narrow = intervals.mean_interval(scattered, WORLD)
    wide = intervals.mean_interval(together, WORLD)
    assert wide[0] < narrow[0]
    assert wide[1] > narrow[1]


def _coverage(draw, mean, parameter_draw=WORLD, unit_size=1.0):
    """Share of repeats whose interval holds the mean that the draws were made with."""
    rng = np.random.default_rng(20)
    values = np.stack([draw(rng, parameter_draw) for _ in range(REPEATS)], axis=1)
    low, high, _ = intervals.mean_intervals(values, parameter_draw, unit_size=unit_size)
    return np.mean((low <= mean) & (mean <= high))


@pytest.mark.parametrize("spread_of_worlds", [0.0, 0.2, 1.0])
def test_coverage_of_the_bootstrap(spread_of_worlds):
    def draw(rng, parameter_draw):
        return (
            5
            + rng.normal(0, spread_of_worlds, WORLDS)[parameter_draw]
            + rng.normal(0, 1, parameter_draw.size)
        )

    assert 0.90 <= _coverage(draw, 5.0) <= 0.99


def test_coverage_of_the_bootstrap_where_every_member_is_its_own_world():
    def draw(rng, parameter_draw):
        return rng.exponential(1.0, parameter_draw.size)

    assert 0.90 <= _coverage(draw, 1.0, np.arange(400)) <= 0.99


@pytest.mark.parametrize("share", [0.0003, 0.001, 0.003, 0.01, 0.02])
@pytest.mark.parametrize("spread", [0.0, 1.0])
def test_coverage_of_rare_events(share, spread):
    """Exact bounds may cover more than they say, never much less; sizes differ and parameter draws matter."""

    def draw(rng, parameter_draw):
        chance = share * _lognormal(rng, spread, WORLDS)[parameter_draw]
        return (rng.random(parameter_draw.size) < chance) * _lognormal(rng, spread, parameter_draw.size)

    assert _coverage(draw, share) >= 0.90


def _lognormal(rng, variation, count):
    """Numbers of mean 1 and the given coefficient of variation."""
    variance = np.log1p(variation**2)
    return np.exp(rng.normal(-variance / 2, np.sqrt(variance), count))


def test_coverage_of_shares_in_worlds():
    rng = np.random.default_rng(3)
    # Beta(2, 18) has mean 0.1: the chance of each parameter_draw.
    shares = [rng.random(MEMBERS) < rng.beta(2, 18, WORLDS)[WORLD] for _ in range(REPEATS)]
    low, high = intervals.share_interval(np.stack(shares, axis=1), WORLD)
    assert 0.90 <= np.mean((low <= 0.1) & (0.1 <= high)) <= 0.99


def test_coverage_of_quantiles():
    from scipy.stats import norm

    rng = np.random.default_rng(4)
    truth, hits = np.sqrt(2) * norm.ppf(0.9), 0
    for _ in range(100):
        values = rng.normal(0, 1, WORLDS)[WORLD] + rng.normal(0, 1, MEMBERS)
        low, high = intervals.quantile_interval(values, WORLD, 0.9)
        hits += low <= truth <= high
    # 100 repeats: 95 +- 2 binomial standard errors of 2.2, and a bootstrap over 50 parameter draws is a
    # little narrow.
    assert hits >= 88


def test_difference_of_paired_designs_is_sharper_than_either_mean():
    rng = np.random.default_rng(5)
    a = rng.gamma(2, 5, MEMBERS)
    b = 0.95 * a
    low, high = intervals.difference_interval(a, b, WORLD)
    alone = intervals.mean_interval(a, WORLD)
    assert high - low < 0.2 * (alone[1] - alone[0])
    assert intervals.verdict(low, high) == "real"


def test_luck_is_not_told_apart():
    rng = np.random.default_rng(6)
    real = []
    for seed in range(5):
        change = rng.normal(0, 1, (MEMBERS, REPEATS))
        low, high, _ = intervals.mean_intervals(change, WORLD, seed=seed)
        real += [intervals.verdict(*pair) == "real" for pair in zip(low, high, strict=True)]
    # A 95 % interval calls 5 % of no-differences real; 3 standard errors of 1500 repeats are 1.7 %.
    assert 0.033 <= np.mean(real) <= 0.067


def test_few_changed_members_are_not_told_apart_until_there_are_enough():
    a = np.zeros(MEMBERS)
    few, more = a.copy(), a.copy()
    few[:2] = 1.0
    more[:15] = 1.0
    assert intervals.verdict(*intervals.difference_interval(a, few, WORLD)) == "not told apart"
    assert intervals.verdict(*intervals.difference_interval(a, more, WORLD)) == "real"
    low, high = intervals.difference_interval(a, a, WORLD)
    assert low < 0 < high


def test_year_interval_is_from_tenth_to_ninetieth_percentile():
    assert intervals.year_interval(np.arange(101)) == pytest.approx((10, 90))


def test_not_a_number_is_left_out_and_nothing_left_is_said():
    values = np.array([[1.0, np.nan], [2.0, np.nan], [np.nan, np.nan], [4.0, np.nan]])
    low, high, method = intervals.mean_intervals(values, np.arange(4))
    assert low[0] <= 7 / 3 <= high[0]
    assert np.isnan(low[1])
    assert np.isnan(high[1])
    assert method[1] == intervals.UNKNOWN


def test_weights_are_keyed_and_complete():
    draws = resampling(WORLD, seed=0, replicates=50)
    assert draws is resampling(WORLD, seed=0, replicates=50)
    assert (draws.chosen.sum(axis=1) == WORLDS).all()
    assert (draws.picked.sum(axis=1) == MEMBERS).all()
    assert (draws.picked != resampling(WORLD, seed=1, replicates=50).picked).any()


@settings(deadline=None)
@given(st.integers(0, 2**31), st.integers(1, 130))
def test_weighted_sums_are_a_matrix_product(seed, columns):
    rng = np.random.default_rng(seed)
    weights = rng.integers(0, 4, (5, 30)).astype(np.int16)
    values = rng.normal(size=(30, columns))
    np.testing.assert_allclose(weighted_sums(weights, values), weights @ values, atol=1e-12)


def test_a_statistic_has_the_same_interval_alone_and_among_others():
    rng = np.random.default_rng(8)
    values = rng.gamma(0.1, 1.0, (200, 300)) * (rng.random((200, 300)) < np.linspace(0, 1, 300))
    parameter_draw = np.arange(200) % 20
    low, high, method = intervals.mean_intervals(values, parameter_draw)
    assert set(method) == {intervals.EXACT, intervals.BOOTSTRAP}
    for k in range(0, 300, 37):
        alone = intervals.mean_interval(values[:, k], parameter_draw)
        np.testing.assert_allclose(alone[:2], (low[k], high[k]), rtol=1e-9)
        assert alone[2] == method[k]
