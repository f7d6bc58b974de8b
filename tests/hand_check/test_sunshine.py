from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest

from darkspell.climate import monthly_extraterrestrial
from darkspell.hand_check.mean_day_irradiance import (
    STEP_H,
    MeanDays,
    cos_incidence,
    declination,
    diffuse_share,
    mean_days,
    plane_irradiance,
    sun_azimuth,
)
from darkspell.weather.surfaces import Plane, Shadow

DATA = Path(pvlib.__file__).parent / "data"
FREE = (0.0,)


def facing(tilt, azimuth):
    return Plane(((1, 1, tilt),), azimuth)


def day_sum(irradiance):
    return irradiance.sum(axis=1) * STEP_H / 1000.0


def test_declination_of_the_book():
    # Duffie & Beckman, example 1.6.1: 13 February is day 44, declination -14 degrees.
    assert np.degrees(declination(44)) == pytest.approx(-14, abs=0.5)


def test_incidence_of_the_book():
    # Duffie & Beckman, example 1.6.1: 13 February, 43 N, slope 45, 15 degrees west of south, 10:30 solar:
    # 35 degrees.
    instant = MeanDays(
        hour_angle=np.radians([[-22.5]]),
        declination=np.array([[declination(44)]]),
        latitude=np.radians(43.0),
        cos_zenith=None,
        ghi=None,
        dhi=None,
        anisotropy=None,
    )
    incidence = np.degrees(np.arccos(cos_incidence(instant, np.radians(45.0), np.radians(15.0))))
    assert incidence[0, 0] == pytest.approx(35, abs=0.5)


@pytest.mark.parametrize("latitude", [0.0, 36.1, 52.0, -44.6, 68.0])
def test_the_mean_day_holds_the_months_irradiation(latitude):
    clearness = np.linspace(0.3, 0.6, 12)
    days = mean_days(latitude, clearness)
    expected = clearness * monthly_extraterrestrial(latitude)
    lit = days.cos_zenith.sum(axis=1) > 0
    np.testing.assert_allclose(day_sum(days.ghi)[lit], expected[lit], rtol=1e-12)
    np.testing.assert_allclose(
        day_sum(plane_irradiance(days, facing(0.0, 180.0), FREE, 0.2))[lit], expected[lit], rtol=2e-2
    )
    assert np.all(days.dhi <= days.ghi)


def test_the_polar_night_gives_nothing_and_no_fault():
    days = mean_days(75.0, np.full(12, 0.4))
    assert day_sum(plane_irradiance(days, facing(60.0, 180.0), FREE, 0.2))[[0, 11]] == pytest.approx([0, 0])
    assert np.all(np.isfinite(plane_irradiance(days, facing(60.0, 180.0), FREE, 0.2)))


def test_noon_share_of_the_day():
    # Collares-Pereira & Rabl 1979: r_t = pi/24 (a + b cos w) cos w-ish shape; at the equinox (sunset 90
    # degrees)
    # a = .409 + .5016 sin 30 = .6598, b = .6609 - .4767 sin 30 = .42255, so noon has
    # pi/24 x 1.08235 / (sin 90 - 0) = .14168 of the day an hour.
    days = mean_days(0.0, np.full(12, 0.5))
    share = days.ghi.max(axis=1) / 1000.0 / day_sum(days.ghi)
    # The tolerance is the curves' own: the day integrates to .992 to 1.002 before it is normalised.
    np.testing.assert_allclose(share, 0.14168, rtol=1e-2)


def test_planes_agree_with_pvlib_on_the_same_light():
    days = mean_days(47.0, np.full(12, 0.5))
    high = days.cos_zenith > np.cos(np.radians(80.0))
    month, step = np.nonzero(high)
    zenith = np.degrees(np.arccos(days.cos_zenith))[high]
    # Solar azimuth in pvlib's sense, from Duffie & Beckman eq. 1.6.6.
    delta = days.declination[month, 0]
    cosine = (np.cos(np.radians(zenith)) * np.sin(days.latitude) - np.sin(delta)) / (
        np.sin(np.radians(zenith)) * np.cos(days.latitude)
    )
    azimuth = 180.0 + np.degrees(np.sign(days.hour_angle[0, step]) * np.arccos(np.clip(cosine, -1.0, 1.0)))
    ghi, dhi = days.ghi[high], days.dhi[high]
    dni = (ghi - dhi) / days.cos_zenith[high]
    extra = dni / days.anisotropy[month]  # so that pvlib's sky has the anisotropy of the mean day
    for tilt, direction in ((45.0, 180.0), (90.0, 135.0), (30.0, 270.0)):
        ours = plane_irradiance(days, facing(tilt, direction), FREE, 0.3)[high]
        theirs = pvlib.irradiance.get_total_irradiance(
            tilt, direction, zenith, azimuth, dni, ghi, dhi, dni_extra=extra, model="haydavies", albedo=0.3
        )
        np.testing.assert_allclose(ours, theirs["poa_global"], rtol=1e-6, atol=1e-6)


def typical_year(name):
    if name.endswith(".tm2"):
        frame, meta = pvlib.iotools.read_tmy2(DATA / name)
        frame = frame.rename(columns={"GHI": "ghi", "DNI": "dni", "DHI": "dhi"})
        middle = pd.Timedelta("30min")
    else:
        frame, meta = pvlib.iotools.read_tmy3(DATA / name, coerce_year=1999, map_variables=True)
        middle = -pd.Timedelta("30min")
    frame.index = frame.index.map(lambda time: time.replace(year=1999)) + middle
    return frame[["ghi", "dni", "dhi"]].astype(float), meta


@pytest.mark.parametrize("name", ["12839.tm2", "723170TYA.CSV"])
def test_monthly_means_stand_for_a_measured_year(name):
    year, meta = typical_year(name)
    month, latitude = year.index.month, meta["latitude"]
    length = np.bincount(month)[1:] / 24.0
    measured = year.groupby(month).sum().to_numpy() / 1000.0 / length[:, None]
    clearness = measured[:, 0] / monthly_extraterrestrial(latitude)
    days = mean_days(latitude, clearness)
    # Memory: single months scatter by about .1 about such correlations; two humid summers need .15.
    share = measured[:, 2] / measured[:, 0]
    np.testing.assert_allclose(day_sum(days.dhi) / day_sum(days.ghi), share, atol=0.15)
    position = pvlib.solarposition.get_solarposition(year.index, latitude, meta["longitude"])
    extra = pvlib.irradiance.get_extra_radiation(year.index)
    for tilt, azimuth in ((30, 180), (60, 180), (45, 90)):
        plane = pvlib.irradiance.get_total_irradiance(
            tilt, azimuth, position.zenith, position.azimuth, year.dni, year.ghi, year.dhi,
            dni_extra=extra, model="haydavies", albedo=0.2,
        ).poa_global.fillna(0.0)  # fmt: skip
        expected = plane.groupby(month).sum().to_numpy() / 1000.0 / length
        ours = day_sum(plane_irradiance(days, facing(tilt, azimuth), FREE, 0.2))
        # A diffuse share off by .07 moves a steep plane in a low winter sun by an eighth, the year by a
        # twentieth.
        np.testing.assert_allclose(ours, expected, rtol=0.13)
        assert ours.mean() == pytest.approx(expected.mean(), rel=0.05)


def test_the_two_branches_of_the_diffuse_share_meet_the_clear_and_the_dull_sky():
    dull, clear = diffuse_share(np.array([0.3, 0.75]), np.radians([90.0, 90.0]))
    assert 0.6 < dull < 0.75 and 0.15 < clear < 0.25


def test_the_sun_stands_where_pvlib_has_it():
    days = mean_days(47.0, np.full(12, 0.5))
    theirs = pvlib.solarposition.solar_azimuth_analytical(
        np.radians(47.0), days.hour_angle, days.declination, np.arccos(np.maximum(days.cos_zenith, 1e-9))
    )
    up = days.cos_zenith > 0.0
    np.testing.assert_allclose(sun_azimuth(days)[up], np.degrees(theirs)[up], atol=1e-6)


def test_a_skyline_and_a_shadow_take_light_by_hand_too():
    # 47 N: the December sun culminates at 20 degrees, below a skyline of 25: beam and the light about it go,
    # the even sky keeps cos(25)**2 of itself on the flat (closed form; cells of 3 degrees).
    days, flat = mean_days(47.0, np.full(12, 0.5)), facing(0.0, 180.0)
    free, walled = (plane_irradiance(days, flat, h, 0.2) for h in (FREE, (25.0,)))
    even = (days.dhi * (1.0 - days.anisotropy[:, None]))[11]
    assert walled[11].sum() / even.sum() == pytest.approx(np.cos(np.radians(25.0)) ** 2, rel=0.04)
    assert free[11].sum() > 2 * walled[11].sum()
    tree = Plane(((1, 1, 0.0),), 180.0, shadows=(Shadow(0.0, 360.0, 90.0, months=(6,)),))
    shaded = plane_irradiance(days, tree, FREE, 0.2)
    assert shaded[5].max() == 0.0
    np.testing.assert_allclose(shaded[6], free[6])


def test_the_glass_reflects_as_in_pvlib():
    """Beam alone on a plane tilted 60 degrees: `pvlib.iam.physical` of the angle of incidence, hour by hour."""
    days = replace(mean_days(55.0, np.full(12, 0.5)), anisotropy=np.ones(12))
    bare, covered = (
        plane_irradiance(days, replace(facing(60.0, 180.0), glass=glass), FREE, 0.0)
        for glass in ("none", "anti_reflective")
    )
    angle = np.degrees(np.arccos(cos_incidence(days, np.radians(60.0), 0.0)))
    lit = (bare > 1.0) & (days.cos_zenith > np.cos(np.radians(80.0)))
    expected = pvlib.iam.physical(angle, n_ar=1.29)
    assert (covered[lit] / bare[lit]) == pytest.approx(expected[lit], abs=1e-6)
    assert 0.9 < covered.sum() / bare.sum() < 0.995
