"""The interval of a site on repeated studies whose truth is known.

The loss of load of a plain daily store with a lognormal supply of SD .10 is no lognormal: the model that the interval
assumes is not the one that it is judged on.
"""

import numpy as np
import pytest
from scipy.special import ndtr

from darkspell.statistics.site_interval import ASSUMED, site_distribution

SD, DAYS, STUDIES, YEARS = 0.10, 150, 60, 1000
SCORES = np.linspace(-3.5, 3.5, 29)


def short_days(log_supply, rng, bank, ratio):
    """Days of a winter on which a store falls short, for each log supply scale; float64 [members].

    Daily supply over demand is lognormal with a lag-one correlation of .6; the bank holds `bank` days of demand.
    """
    weather, charge = np.zeros(log_supply.size), np.full(log_supply.size, bank)
    short = np.zeros(log_supply.size)
    for _ in range(DAYS):
        weather = 0.6 * weather + 0.8 * rng.normal(size=log_supply.size)
        charge += ratio * np.exp(log_supply + 0.9 * weather - 0.405) - 1.0
        short += charge < -0.05
        charge = np.clip(charge, 0.0, bank)
    return short


@pytest.mark.parametrize(
    ("bank", "ratio", "draws"), [(8.0, 1.5, 200), (12.0, 1.5, 200), (8.0, 1.15, 200), (8.0, 1.5, 50)]
)
def test_the_interval_covers_the_site_and_its_chance_is_right(bank, ratio, draws):
    """Coverage 95 +- 3 %; the probability of meeting a limit within 4 points of the truth on average."""
    rng = np.random.default_rng(99)
    truth = np.array([short_days(np.full(6000, SD * z), rng, bank, ratio).mean() for z in SCORES])
    limit, chance = truth[10], ndtr(-SCORES[10])
    covered, chances = [], []
    for study in range(STUDIES):
        rng = np.random.default_rng(study)
        draw = np.arange(YEARS) % draws
        values = short_days(SD * rng.normal(size=draws)[draw], rng, bank, ratio)[:, None]
        site = site_distribution(values, draw, True)
        ends = [np.interp(-end, -truth, SCORES) for end in (site.high[0], site.low[0])]
        covered.append(ndtr(ends[1]) - ndtr(ends[0]))
        chances.append(site.probability(limit)[0])
    assert np.mean(covered) == pytest.approx(0.95, abs=0.03)
    assert np.mean(chances) == pytest.approx(chance, abs=0.04)


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


def test_too_few_draws_or_years_give_no_number():
    for draw in (np.arange(20), np.zeros(20, int)):
        assert np.isnan(site_distribution(np.ones((20, 1)), draw, True).high[0])
