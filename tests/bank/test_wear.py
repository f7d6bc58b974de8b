"""Wear of a bank against hand calculations."""

from types import SimpleNamespace

import numpy as np
import pytest

from darkspell.bank.life_spread import life_factors
from darkspell.bank.wear import calendar_wear, cycle_wear, partial_wear, years_at
from darkspell.core.constants import constant
from darkspell.simulation.lifetime import FIRST_YEAR, Age, _chosen, _crossing, chance_at, course


@pytest.mark.parametrize(("depth", "name"), [(0.8, "cycle_life_80"), (0.3, "cycle_life_30")])
def test_as_many_cycles_as_the_table_says_are_one_life(depth, name):
    """N cycles of the table's own depth wear 1.0, here as the 365 of a year do."""
    day = np.where(np.arange(24) < 12, 1.0, 1.0 - depth)
    soc = np.tile(day, 365)[:, None].astype(np.float32)
    life = constant("bank", "lfp", name)
    # The first and the last half cycle of the year are halves: 364.5 of 365.
    assert cycle_wear(soc, 1.0, "lfp")[0] == pytest.approx(364.5 / life, rel=2e-3)


def test_calendar_life_halves_every_ten_kelvin():
    """Common practice, no source: about half per 10 K, from the table's life at 25 degC."""
    temp = np.tile(np.float32([25.0, 35.0, 45.0]), (8760, 1))
    wear = calendar_wear(temp, "agm")
    assert wear * constant("bank", "agm", "calendar_life_y") == pytest.approx([1.0, 2.0, 4.0])


def test_a_cool_bank_is_credited_down_to_20_degrees_only():
    """2^(-0.5) = 0.707 of the wear at 25 degC; without the stop 0.5 at 15 degC and 0.18 at 0."""
    temp = np.tile(np.float32([20.0, 15.0, 0.0]), (8760, 1))
    wear = calendar_wear(temp, "flooded") * constant("bank", "flooded", "calendar_life_y")
    assert wear == pytest.approx([0.7071] * 3, abs=1e-4)


def test_years_under_even_and_growing_wear():
    """Constant wear w: 1/w years; wear from w to 2w linearly: ln 2 / w (integral of dx/(w (1+x)))."""
    assert years_at([0.0, 0.5, 1.0], [0.1, 0.1, 0.1]) == pytest.approx([0.0, 5.0, 10.0])
    assert years_at([0.0, 1.0], [0.1, 0.2])[-1] == pytest.approx(10 * np.log(2.0))


def test_the_target_is_crossed_where_a_straight_line_says():
    """Between the stages mean and spread run straight; without a spread the mean alone decides."""

    def crossed(means, spreads=(0.0, 0.0, 0.0), asked=0.8):
        sites = list(zip(means, spreads, strict=True))
        return _crossing(lambda at: chance_at(at, [0.0, 0.5, 1.0], sites, 2.0), asked)

    assert crossed([0.0, 1.0, 3.0]) == pytest.approx(0.75, abs=1e-3)
    assert crossed([0.0, 1.0, 1.5]) is None
    assert crossed([2.5, 3.0, 4.0]) == 0.0
    # A lognormal whose median is the limit keeps it with 50 %: mean 2 exp(1/8) at a spread of log of 1/2.
    mean = 2.0 * np.exp(0.125)
    spread = mean * np.sqrt(np.expm1(0.25))
    assert chance_at(0.0, [0.0, 1.0], [(mean, spread)] * 2, 2.0) == pytest.approx(0.5)
    assert crossed([0.5, mean, mean], [0.0, spread, spread]) < crossed(
        [0.5, mean, mean], [0.0, 0.0, 0.0], 0.5
    )


def test_few_members_keep_five_years_to_a_draw():
    """128 of 1,000 members in 200 draws: 25 draws of 5 years, so that years and draws can be told apart."""
    draws = np.arange(1000) % 200
    years = np.bincount(draws[_chosen(draws, 128)])
    assert years.sum() == 125 and (years == 5).all()
    assert (_chosen(draws, 1000) == np.arange(1000)).all()


def test_lives_spread_as_stated():
    """Keyed by member: the same whatever the number of members; logarithm with the table's deviation."""
    factors = life_factors(range(2000), 3)
    assert factors[:5] == pytest.approx(life_factors(range(5), 3))
    # 2,000 draws know a standard deviation to 1.6 %: three times that.
    assert np.log(factors).std() == pytest.approx(constant("bank", "common", "life_spread"), rel=0.05)


def test_time_below_full_takes_its_part_of_the_wear():
    """Half the year too late after a full charge, toll 1: a third of the wear is its doing; lithium has none."""
    toll = constant("bank", "flooded", "partial_charge_toll")
    assert partial_wear(0.15, 50.0, "flooded") == pytest.approx(0.15 * 0.5 * toll / (1 + 0.5 * toll))
    assert partial_wear(0.15, 50.0, "lfp") == 0.0


def test_a_year_takes_its_share_of_the_way_to_the_end():
    """A wear of 0.1 a year on the way from 100 to 80 % takes 2 points, a quarter of it by partial charge."""
    ageing = SimpleNamespace(end_of_life_pct=80.0)
    study = SimpleNamespace(
        bank=SimpleNamespace(state_of_health_pct=100.0), ageing=ageing, engine=SimpleNamespace(seed=1),
        target=SimpleNamespace(statistic="short_nights", at_most=1.0, chance_pct=80.0),
    )  # fmt: skip
    wear = np.tile([0.09, 0.11], 20)
    runs = [Age(np.full(40, nights), wear, wear / 4) for nights in (0.5, 1.5, 2.5)]
    table = course(study, runs, np.arange(40) % 10, runs[0]).set_index("stage")
    first = table.loc["commissioning"]
    assert (first["loss_pct"], first["loss_partial_pct"]) == (pytest.approx(2.0), pytest.approx(0.5))
    assert first["loss_low"] < 2.0 < first["loss_high"]
    assert table.loc[FIRST_YEAR, "capacity_pct"] == pytest.approx(98.0)
    # Straight between 0.5 and 1.5 nights: half way to mid-life, at 95 %.
    assert table.loc["target missed", "capacity_pct"] == pytest.approx(95.0)
