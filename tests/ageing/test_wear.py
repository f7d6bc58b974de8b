"""Wear of a bank against hand calculations."""

import numpy as np
import pytest

from darkspell.ageing.course import _crossing
from darkspell.ageing.wear import calendar_wear, cycle_wear, life_factors, years_at
from darkspell.constants import constant


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


def test_years_under_even_and_growing_wear():
    """Constant wear w: 1/w years; wear from w to 2w linearly: ln 2 / w (integral of dx/(w (1+x)))."""
    assert years_at([0.0, 0.5, 1.0], [0.1, 0.1, 0.1]) == pytest.approx([0.0, 5.0, 10.0])
    assert years_at([0.0, 1.0], [0.1, 0.2])[-1] == pytest.approx(10 * np.log(2.0))


def test_the_target_is_crossed_where_a_straight_line_says():
    """Between the stages the mean runs straight."""
    assert _crossing([0.0, 0.5, 1.0], [0.0, 1.0, 3.0], 2.0) == pytest.approx(0.75)
    assert _crossing([0.0, 0.5, 1.0], [0.0, 1.0, 1.5], 2.0) is None
    assert _crossing([0.0, 0.5, 1.0], [2.5, 3.0, 4.0], 2.0) == 0.0


def test_lives_spread_as_stated():
    """Keyed by member: the same whatever the number of members; logarithm with the table's deviation."""
    factors = life_factors(range(2000), 3)
    assert factors[:5] == pytest.approx(life_factors(range(5), 3))
    # 2,000 draws know a standard deviation to 1.6 %: three times that.
    assert np.log(factors).std() == pytest.approx(constant("bank", "common", "life_spread"), rel=0.05)
