"""A moving home: the weather and the sun of each place on the days that are spent there."""

import numpy as np
import pytest

from darkspell.climate import site_climate
from darkspell.core.calendar import Calendar
from darkspell.simulation.input_series import stochastic_days
from darkspell.simulation.run import simulate
from darkspell.simulation.system import build_system
from darkspell.study import study_from
from darkspell.weather.site_sky import sky_of
from darkspell.weather.stored_sites import load_site, save_sites, site_key
from study.example import spoilt

MEMBERS = np.arange(32)
NORTH = {
    "name": "North", "first": "11-01", "last": "02-28", "latitude_deg": 60.0, "longitude_deg": 10.0,
    "climate": {"source": "monthly", "clearness_index": [0.25] * 12, "temp_air_c": [-5.0] * 12},
}  # fmt: skip


def study(**changes):
    """The example study on its way."""
    return study_from(spoilt({"itinerary": {"north": NORTH | changes}, "engine": {"members": 64, "seed": 1}}))


@pytest.fixture(scope="module")
def moving():
    """Winter in the north, the rest at the site."""
    return study()


def test_each_day_has_the_weather_of_its_place(moving):
    """Bit for bit that of a study that stays there, on the days of the stop and on the others."""
    calendar = Calendar(7)
    route = site_climate(moving)
    days = stochastic_days(route, calendar, MEMBERS, MEMBERS, 3)
    away = np.isin(calendar.month_of_day + 1, (11, 12, 1, 2))
    for climate, there in zip(route.climates, (~away, away), strict=True):
        alone = stochastic_days(climate, calendar, MEMBERS, MEMBERS, 3)
        for name in ("kt", "temp_air_mean", "temp_air_range"):
            np.testing.assert_array_equal(getattr(days, name)[:, there], getattr(alone, name)[:, there])
    assert days.kt[:, away].mean() == pytest.approx(0.25, abs=0.02)
    assert days.kt[:, ~away].mean() == pytest.approx(0.40, abs=0.02)


def test_each_hour_has_the_sun_of_its_place(moving):
    """At 60 N the December noon sun stands 6.6 degrees high; at 50 N in June 63.4 (arithmetic, 1 degree)."""
    sky, calendar = sky_of(moving), Calendar(7)
    height = np.degrees(np.arcsin(np.clip(sky.cos_zenith, -1, 1))).reshape(365, 24).max(axis=1)
    assert height[calendar.study_day(12, 21)] == pytest.approx(90 - 60 - 23.4, abs=1.0)
    assert height[calendar.study_day(6, 21)] == pytest.approx(90 - 50 + 23.4, abs=1.0)
    still = sky_of(moving.with_changes({"itinerary.north": None}))
    march = slice(24 * calendar.study_day(3, 1), 24 * calendar.study_day(10, 31))
    np.testing.assert_array_equal(sky.clear[march], still.clear[march])
    np.testing.assert_array_equal(sky.beam_share[:, march], still.beam_share[:, march])


def test_the_days_of_each_place_weigh_the_figures_by_month(moving):
    """Half of February in the north: half its cold (arithmetic)."""
    part = site_climate(study(last="02-14"))
    assert part.temp_air_mean[1] == pytest.approx(0.5 * -5.0 + 0.5 * 8.0)
    assert part.temp_air_mean[[0, 5]] == pytest.approx([-5.0, 8.0])
    kt = part.monthly_kt()
    # The site's light outside is the stronger, so its clearness counts for more than half.
    assert 0.325 < kt[1] < 0.40 and kt[[0, 5]] == pytest.approx([0.25, 0.40], abs=0.005)
    assert "28 days" not in part.source and "259 days" in part.source


def test_a_route_comes_back_from_its_file(moving, tmp_path):
    """Climates, days and sky, value for value."""
    key, route, sky = site_key(moving), site_climate(moving), sky_of(moving)
    save_sites(tmp_path / "sites.npz", {key: (route, sky)})
    again, same_sky = load_site(tmp_path / "sites.npz", key)
    np.testing.assert_array_equal(again.where, route.where)
    np.testing.assert_array_equal(again.climates[1].kt_quantiles, route.climates[1].kt_quantiles)
    np.testing.assert_array_equal(same_sky.clear, sky.clear)
    assert again.source == route.source
    assert site_key(moving.with_changes({"itinerary.north": None})) != key


def test_a_winter_in_the_north_costs_more(moving):
    """The same boat, members and loads; staying is the what-if."""
    parts = build_system(moving, site_climate(moving), sky_of(moving))
    still = moving.with_changes({"itinerary.north": None})
    home = build_system(still, site_climate(still), sky_of(still))
    away, stays = (simulate(one, autonomy=False, workers=2).members for one in (parts, home))
    np.testing.assert_array_equal(away["demand_kwh"], stays["demand_kwh"])
    assert away["array_kwh"].mean() < stays["array_kwh"].mean()
    assert away["eue_kwh"].mean() > stays["eue_kwh"].mean()
