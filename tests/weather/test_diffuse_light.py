"""Decomposition, transposition and reflection against pvlib and the printed equations."""

import numpy as np
import pvlib
import pytest
from numba import njit

from darkspell.weather.diffuse_light import (
    brightness_terms,
    perez_shares,
    plane_irradiance,
    skartveit_olseth,
    sun_terms,
    ten,
)
from darkspell.weather.reflection import COATING, beam_transmission, diffuse_transmission

F = np.float32


@njit
def split(ghi, t):
    """Our decomposition over arrays."""
    dhi, dni = np.empty(ghi.size, np.float32), np.empty(ghi.size, np.float32)
    for i in range(ghi.size):
        dhi[i], dni[i] = skartveit_olseth(
            ghi[i], t.cos_zenith[i], t.dni_extra[i], t.per_extra[i], t.per_clear[i], t.top[i], t.beam[i]
        )
    return dhi, dni


@njit
def tilt_all(ghi, dhi, dni, t, bright, cos_incidence, shares, albedo):
    """Our transposition over arrays."""
    out = np.empty(ghi.size, np.float32)
    for i in range(ghi.size):
        f1, f2 = perez_shares(
            dhi[i], dni[i], t.kappa[i], t.brightness[i], ten(t.around, i), ten(t.horizon, i), bright
        )
        out[i] = plane_irradiance(
            ghi[i], dhi[i], dni[i], f1, f2, t.per_cos[i], cos_incidence[i], *shares, albedo
        )
    return out


@pytest.fixture(scope="module")
def sun():
    """Random suns and skies."""
    rng = np.random.default_rng(3)
    n = 20_000
    zenith, azimuth = rng.uniform(0, 89.5, n), rng.uniform(0, 360, n)
    extra = rng.uniform(1320, 1415, n)
    ghi = rng.uniform(0, 1.05, n) * extra * np.cos(np.radians(zenith))
    return zenith, azimuth, extra, ghi.astype(F), sun_terms(np.cos(np.radians(zenith)), extra)


def diffuse_fraction(k, height):
    """Skartveit & Olseth 1987, eqs. 2 to 6, as two public implementations transcribe them (read)."""
    k0, a, alpha = 0.2, 0.27, 1.09
    k1, d1 = 0.87 - 0.56 * np.exp(-0.06 * height), 0.15 + 0.43 * np.exp(-0.06 * height)

    def curve(k):
        kk = 0.5 * (1 + np.sin(np.pi * ((k - k0) / (k1 - k0) - 0.5)))
        return 1 - (1 - d1) * (a * np.sqrt(kk) + (1 - a) * kk**2)

    beyond = 1 - alpha * k1 * (1 - curve(alpha * k1)) / np.maximum(k, 1e-9)
    return np.where(k < k0, 1.0, np.where(k <= alpha * k1, curve(k), beyond))


def test_decomposition_is_the_published_curve(sun):
    """Float32 polynomial for the sine; W/m2."""
    zenith, _, extra, ghi, t = sun
    height, cosine = 90 - zenith, np.cos(np.radians(zenith))
    high = cosine > 0.03
    fraction = diffuse_fraction(ghi / (extra * cosine), height)
    dhi, dni = split(ghi, t)
    np.testing.assert_allclose(dhi[high], (fraction * ghi)[high], atol=0.02, rtol=1e-4)
    np.testing.assert_allclose(dni[high], ((1 - fraction) * ghi / cosine)[high], atol=0.05, rtol=1e-3)


def test_the_parts_make_up_the_whole(sun):
    """DHI + DNI cos z = GHI."""
    zenith, _, _, ghi, t = sun
    dhi, dni = split(ghi, t)
    np.testing.assert_allclose(dhi + dni * np.cos(np.radians(zenith)), ghi, atol=2e-3, rtol=1e-5)


@pytest.mark.parametrize("plane", [(0, 180), (35, 180), (60, 140), (90, 250)])
def test_transposition_equals_pvlib(sun, plane):
    """pvlib.irradiance.perez_driesse and ground diffuse on the same inputs; 32 against 64 bits, W/m2."""
    zenith, azimuth, extra, ghi, t = sun
    tilt, facing = plane
    incidence = np.maximum(pvlib.irradiance.aoi_projection(tilt, facing, zenith, azimuth), 0)
    dhi, dni = split(ghi, t)
    airmass = pvlib.atmosphere.get_relative_airmass(zenith, "kastenyoung1989")
    theirs = (
        dni * incidence
        + pvlib.irradiance.perez_driesse(tilt, facing, dhi, dni, extra, zenith, azimuth, airmass)
        + pvlib.irradiance.get_ground_diffuse(tilt, ghi, 0.2)
    )
    cos_tilt = np.cos(np.radians(tilt))
    shares = (1.0, 0.5 * (1.0 + cos_tilt), 0.5 * (1.0 - cos_tilt), np.sin(np.radians(tilt)))
    ours = tilt_all(ghi, dhi, dni, t, brightness_terms(), incidence.astype(F), tuple(map(F, shares)), F(0.2))
    np.testing.assert_allclose(ours, theirs, rtol=1e-4, atol=0.01)


@pytest.mark.parametrize("cover", COATING)
@pytest.mark.parametrize("tilt", [0.0, 40.0, 90.0])
def test_reflection_equals_pvlib(cover, tilt):
    """pvlib.iam.physical for the beam and pvlib.iam.marion_diffuse for sky, horizon and ground."""
    angles = np.linspace(0, 89.9, 50)
    theirs = pvlib.iam.physical(angles, **COATING[cover])
    np.testing.assert_allclose(beam_transmission(cover, np.cos(np.radians(angles))), theirs, atol=1e-6)
    parts = pvlib.iam.marion_diffuse("physical", tilt, **COATING[cover])
    sky, horizon, ground = diffuse_transmission(cover, np.array([tilt, tilt]))
    assert sky.tolist() == [parts["sky"]] * 2 and horizon[0] == parts["horizon"]
    assert ground[0] == parts["ground"]


def test_a_study_whose_losses_hold_reflection_takes_none():
    assert beam_transmission("none", np.array([0.0, 0.5, 1.0])).tolist() == [1.0] * 3
    assert diffuse_transmission("none", np.array([30.0])) == (1.0, 1.0, 1.0)
