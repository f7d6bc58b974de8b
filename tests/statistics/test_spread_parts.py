"""Parts of what is not known of a loss, on draws of known truth.

No outside table has such parts. Log losses are the sum of a climate and of loads of known variance; the losses of a
year are a Poisson count of outages of random length, which the fit (Tweedie) does not assume.
"""

import numpy as np
import pytest

from darkspell.report.tables.uncertainty import uncertainty_table
from darkspell.statistics.spread_parts import ALIKE, CLIMATE, LOADS, spread_parts
from darkspell.statistics.summary import MEANS

DRAWS, YEARS = 200, 5
DRAW = np.arange(DRAWS * YEARS) % DRAWS


def drawn(rng, climate_sd, loads_sd, demand_sd=0.1):
    """A loss of each year, and the demand."""
    climate, loads = rng.standard_normal((2, DRAWS))
    rate = 0.3 * np.exp(climate_sd * climate + loads_sd * loads)
    values = rng.poisson(rate[DRAW]) * rng.integers(1, 5, DRAW.size).astype(float)
    return values, (1.0 + demand_sd * loads)[DRAW]


@pytest.mark.parametrize(("climate_sd", "loads_sd"), [(0.7, 0.7), (1.5, 1.5), (1.5, 1.0), (0.5, 0.9)])
def test_parts_are_those_put_in(climate_sd, loads_sd):
    """Mean of ten studies, within .1. On the plain scale equal parts of 1.5 came out as .9 and .1."""
    rng = np.random.default_rng(7)
    found = [
        spread_parts(values, DRAW, demand)
        for values, demand in (drawn(rng, climate_sd, loads_sd) for _ in range(10))
    ]
    true = loads_sd**2 / (climate_sd**2 + loads_sd**2)
    assert np.mean([one.loads for one in found]) == pytest.approx(true, abs=0.1)
    assert all(one.climate + one.loads + one.bank == pytest.approx(1.0) for one in found)


def test_the_larger_part_is_named_only_where_the_draws_tell():
    """Equal parts: at most 3 of 20 studies name one (at 5 %, 3 or fewer in 98 % of trials). Unlike: most do."""
    rng = np.random.default_rng(8)
    named = [
        spread_parts(*(values, DRAW, demand)).larger
        for values, demand in (drawn(rng, 0.7, 0.7) for _ in range(20))
    ]
    assert sum(one != ALIKE for one in named) <= 3
    clear = [
        spread_parts(values, DRAW, demand).larger
        for values, demand in (drawn(rng, 1.2, 0.3) for _ in range(5))
    ]
    assert clear.count(CLIMATE) >= 4
    clear = [
        spread_parts(values, DRAW, demand).larger
        for values, demand in (drawn(rng, 0.3, 1.2) for _ in range(5))
    ]
    assert clear.count(LOADS) >= 4


def test_few_draws_rank_nothing():
    """Forty draws, parts of sixteen to one: the advice must not turn with another seed."""
    values, demand = drawn(np.random.default_rng(11), 0.3, 1.2)
    few = DRAW < 40
    found = spread_parts(values[few], DRAW[few], demand[few])
    assert found.larger == ALIKE and found.loads > 0.5


def test_a_part_of_the_bank_is_found():
    rng = np.random.default_rng(9)
    bank = np.exp(0.1 * rng.standard_normal((2, DRAWS)))
    climate = rng.standard_normal(DRAWS)
    rate = np.exp(0.5 * climate - 8.0 * (bank[0] - 1.0))
    found = spread_parts(rng.poisson(rate[DRAW]).astype(float), DRAW, np.ones(DRAW.size), bank[:, DRAW])
    assert found.loads == 0.0 and found.bank == pytest.approx(0.64 / 0.89, abs=0.12)


def test_loads_without_uncertainty_have_no_part_and_leave_no_blank():
    """Every draw with the same demand, and draws that differ by no more than their years do."""
    rng = np.random.default_rng(10)
    values = rng.poisson(0.3, DRAW.size).astype(float)
    found = spread_parts(values, DRAW, np.ones(DRAW.size))
    assert found.loads == 0.0 and found.climate == 1.0
    members = {column: values for column, _ in MEANS.values()} | {"demand_kwh": np.ones(DRAW.size)}
    table = uncertainty_table(members, DRAW, "atlas")
    table = table[table["figure"] != "demand_kwh"]  # does not vary at all
    assert np.isfinite(table.filter(like="_share_").to_numpy(float)).all()


@pytest.mark.parametrize("draws", [4, 200])
def test_too_little_says_nothing(draws):
    """Four draws; losses in two draws of two hundred."""
    draw = np.arange(1000) % draws
    found = spread_parts((draw < 2).astype(float), draw, np.ones(1000))
    assert np.isnan(found.climate) and found.larger == ""
