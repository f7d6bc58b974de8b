"""The mean of the drawn years against the budget, for every shipped study."""

from pathlib import Path

import pytest

from darkspell.check.drawn import Drawn, drawn
from darkspell.climate import site_climate
from darkspell.study import load_study

CONFIG = Path(__file__).parents[2] / "config"


@pytest.mark.parametrize("name", ["tarn_hut", "sloop", "ridge_relay", "cruise"])
def test_drawn_years_have_the_energy_of_the_budget(name):
    """Within four standard errors of 64 years, though appliances follow people, guests and temperature."""
    study = load_study(CONFIG / f"{name}.yaml")
    years = drawn(study, site_climate(study, study.folder))
    assert abs(years.off) < 4
    assert years.error < 0.005 * years.budget


def test_how_far_off_is_counted_in_standard_errors():
    """Two errors below; nothing where both agree to single precision."""
    assert Drawn(100.0, 99.0, 0.5, 64).off == -2.0
    assert Drawn(100.0, 100.0005, 0.0, 64).off == 0.0
