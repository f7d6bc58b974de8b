"""The mean of the drawn years against the budget, for every shipped study."""

from pathlib import Path

import pytest

from darkspell.climate import site_climate
from darkspell.hand_check.load_draw_check import Drawn, drawn
from darkspell.study import load_study, study_from
from study.example import spoilt

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


def test_what_follows_the_temperature_follows_it_from_day_to_day(monkeypatch):
    """256 years of a fridge and a heater under way, people away for a week: within three standard errors of 0.13 %.

    With the months' means for every day of theirs the budget lay 1.6 % too low.
    """
    monkeypatch.setattr("darkspell.hand_check.load_draw_check.YEARS", 256)
    changes = {
        "climate.temp_air_c": [-6, -5, 0, 6, 12, 16, 18, 17, 12, 6, 0, -4],
        "loads.lamp": {
            "watts": 45, "hours_per_day": 10, "tier": "essential", "when": "home", "spread_pct": 0,
            "by_temperature": {"full_at_c": 25, "none_at_c": 4},
        },
        "loads.radio": {
            "watts": 30, "hours_per_day": 8, "tier": "essential", "spread_pct": 0,
            "by_temperature": {"full_at_c": -5, "none_at_c": 15},
        },
        "occupancy.absences": {"away": {"first": "07-10", "last": "07-16"}},
        "itinerary.south": {
            "name": "South", "first": "11-10", "last": "02-20", "latitude_deg": 40, "longitude_deg": 5,
            "climate": {"source": "monthly", "clearness_index": [0.5] * 12, "temp_air_c": [11.0] * 12},
        },
    }  # fmt: skip
    study = study_from(spoilt(changes))
    years = drawn(study, site_climate(study))
    assert abs(years.off) < 3 and years.error < 0.0013 * years.budget
