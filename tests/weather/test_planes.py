"""What reaches a plane, against closed forms and pvlib."""

from dataclasses import replace

import numpy as np
import pvlib
import pytest

from darkspell.core.calendar import Calendar
from darkspell.weather.solar_geometry import site_sky
from darkspell.weather.surfaces import (
    Plane,
    Shadow,
    beam_lost,
    beam_share,
    cos_incidence,
    plane_light,
    sky_share,
    skyline,
    tilt_by_day,
    within,
)

FLAT = Plane(((1, 1, 0.0),), 180.0)
FREE = (0.0,)


@pytest.mark.parametrize("height", [10.0, 25.0, 40.0])
def test_an_even_skyline_leaves_the_flat_the_square_of_its_cosine(height):
    """Integral of sin(e) cos(e) from the skyline to the zenith (closed form); cells of 3 degrees."""
    assert sky_share(FLAT, (height,), 0.0, 0) == pytest.approx(np.cos(np.radians(height)) ** 2, abs=0.03)


@pytest.mark.parametrize("height", [10.0, 25.0, 40.0])
def test_a_long_wall_takes_what_passias_and_kallback_say(height):
    """Passias & Källbäck, Solar Cells 11 (1984) 281-291, as `pvlib.shading.sky_diffuse_passias`."""
    azimuth = np.arange(0.0, 360.0, 5.0)
    ahead = np.maximum(np.cos(np.radians(azimuth - 180.0)), 0.0)
    wall = np.degrees(np.arctan(np.tan(np.radians(height)) * ahead))
    lost = pvlib.shading.sky_diffuse_passias(height)
    assert 1.0 - sky_share(FLAT, wall, 0.0, 0) == pytest.approx(lost, abs=0.015)


@pytest.mark.parametrize("tilt", [0.0, 30.0, 90.0])
def test_a_free_view_is_the_isotropic_sky(tilt):
    """Liu & Jordan's factor, and the sum over the dome that stands in for it where something is in the way."""
    plain = sky_share(FLAT, FREE, tilt, 0)
    assert plain == 0.5 * (1.0 + np.cos(np.radians(tilt)))
    weed = replace(FLAT, shadows=(Shadow(0.0, 1.0, 0.1),))
    assert sky_share(weed, FREE, tilt, 0) == pytest.approx(plain, abs=0.002)


def test_a_wall_of_modules_that_turns_sees_the_mean_of_all_headings():
    """Upright: mean over headings of max(sin z cos g, 0) is sin(z) / pi (closed form)."""
    zenith = np.array([20.0, 50.0, 80.0])
    suns = [(zenith, np.full(3, 140.0))]
    upright = Plane(((1, 1, 90.0),), 0.0, turning=True)
    light = plane_light(upright, FREE, np.full(3, 90.0), suns, np.zeros(3, int))
    np.testing.assert_allclose(light[0], np.sin(np.radians(zenith)) / np.pi, rtol=0.003)
    np.testing.assert_array_equal(light[1], 1.0)


def test_flat_modules_do_not_mind_turning():
    """A level plane has no heading."""
    suns = [(np.array([30.0, 70.0]), np.array([100.0, 250.0]))]
    fixed, turning = (
        plane_light(replace(FLAT, turning=turns), FREE, np.zeros(2), suns, np.zeros(2, int))
        for turns in (False, True)
    )
    np.testing.assert_allclose(fixed, turning, rtol=1e-12)


def test_a_mast_on_a_turning_boat_shades_its_share_of_all_headings():
    """A sector of 30 degrees up to the zenith stands before the sun in 30 of 360 headings (arithmetic)."""
    mast = Shadow(345.0, 15.0, 90.0)
    deck = replace(FLAT, turning=True, shadows=(mast,))
    light = plane_light(deck, FREE, np.zeros(1), [(np.array([45.0]), np.array([200.0]))], np.zeros(1, int))
    # Headings of 10 degrees: 3 or 4 of 36 meet it.
    assert 1.0 - light[1][0] == pytest.approx(30 / 360, abs=1 / 36)


def test_a_sector_may_pass_north():
    """Clockwise from 350 to 20 degrees."""
    assert within(np.array([350.0, 0.0, 20.0, 21.0, 349.0]), Shadow(350.0, 20.0, 10.0)).tolist() == [
        True, True, True, False, False,
    ]  # fmt: skip


def test_the_skyline_is_straight_between_its_points():
    """Four points: 0, 10, 20, 0 degrees at north, east, south, west; wraps round north."""
    assert skyline((0.0, 10.0, 20.0, 0.0), [45.0, 135.0, 225.0, 315.0, 360.0]).tolist() == [5, 15, 10, 0, 0]


def test_how_the_groups_are_wired_decides_what_a_shadow_costs():
    """A mast over one group of three: a third in series; in parallel that third less what still comes."""
    vent = Shadow(0.0, 90.0, 45.0, touched=0.2, stops=0.5)
    assert beam_lost(vent, 3, series=True) == pytest.approx(1 / 3)
    assert beam_lost(vent, 3, series=False) == pytest.approx(1 / 6)
    # One group in all: a thin tree that lets half through holds back half, no more.
    assert beam_lost(vent, 1, series=True) == 0.5
    assert beam_lost(Shadow(0.0, 90.0, 45.0), 3, series=True) == 1.0


def test_shadows_fall_where_and_when_they_stand():
    """Behind the tree and below its top, in its months; behind the skyline nothing."""
    tree = replace(FLAT, shadows=(Shadow(90.0, 120.0, 30.0, months=(6,)),), groups=1)
    zenith = np.array([65.0, 55.0, 65.0, 65.0, 89.0])
    azimuth = np.array([100.0, 100.0, 130.0, 100.0, 300.0])
    month = np.array([5, 5, 5, 0, 5])
    assert beam_share(tree, (3.0,), zenith, azimuth, month).tolist() == [0, 1, 1, 1, 0]


def test_dirt_takes_its_share_of_all_light():
    """8 % in January, none in February."""
    dirty = replace(FLAT, soiling=(0.08, *[0.0] * 11))
    suns = [(np.full(2, 40.0), np.full(2, 180.0))]
    clean = plane_light(FLAT, FREE, np.full(2, 30.0), suns, np.array([0, 1]))
    light = plane_light(dirty, FREE, np.full(2, 30.0), suns, np.array([0, 1]))
    np.testing.assert_array_equal(light[0], clean[0])
    for ours, free in zip(light[1:], clean[1:], strict=True):
        np.testing.assert_allclose(ours / free, [0.92, 1.0], rtol=1e-12)


@pytest.mark.parametrize("start", [1, 7])
def test_slopes_change_on_their_dates(start):
    """Flat from 1 April, steep from 1 October, whichever month begins the year."""
    calendar = Calendar(start)
    tilt = tilt_by_day(Plane(((4, 1, 15.0), (10, 1, 60.0)), 180.0), calendar)
    days = {(3, 31): 60, (4, 1): 15, (9, 30): 15, (10, 1): 60, (12, 31): 60, (1, 1): 60}
    assert {date: tilt[calendar.study_day(*date)] for date in days} == days


def test_a_site_with_a_mountain_loses_its_low_sun():
    """The sky of a place with and without a ridge of 25 degrees in the south."""
    plane, calendar = Plane(((1, 1, 60.0),), 180.0), Calendar(7)
    free, ridge = (site_sky(47, 11, 900, 1, [plane], calendar, h) for h in (FREE, (0.0, 0.0, 25.0, 0.0)))
    december = calendar.month_of_hour == 11
    noon = december & (calendar.hour_of_day == 12)
    # 47 N in December: the sun culminates at 20 degrees, so no beam comes over the ridge at noon.
    assert free.beam_share[0, noon].min() == 1.0 and ridge.beam_share[0, noon].max() == 0.0
    june = (calendar.month_of_hour == 5) & (calendar.hour_of_day == 12)
    assert ridge.beam_share[0, june].min() == 1.0
    everywhere = sky_share(plane, (25.0,), 60.0, 0)
    assert everywhere < ridge.diffuse_share[0, 0] < free.diffuse_share[0, 0] == 0.75
    np.testing.assert_array_equal(ridge.ground_share, free.ground_share)


def test_incidence_is_pvlibs():
    """`pvlib.irradiance.aoi_projection`, cut at the plane's back."""
    rng = np.random.default_rng(1)
    tilt, facing, zenith, azimuth = rng.uniform(0, 90, (4, 500)) * np.array([[1], [4], [1], [4]])
    theirs = np.maximum(pvlib.irradiance.aoi_projection(tilt, facing, zenith, azimuth), 0.0)
    np.testing.assert_array_equal(cos_incidence(tilt, facing, zenith, azimuth), theirs)
