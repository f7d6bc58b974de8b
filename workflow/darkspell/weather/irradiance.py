"""Decomposition and transposition, equal to pvlib's functions, as scalars for compiled loops."""

import numpy as np

from darkspell.core.jit import inlined

COS_87 = np.float32(0.05233595624294383)
LEAST_COS, LEAST_RATIO = np.float32(0.065), np.float32(0.01745)
ZERO, ONE = np.float32(0.0), np.float32(1.0)
FOURTH = tuple(np.float32(value) for value in (0.9511, -0.1604, 4.388, -16.638, 12.336))
DULL, DULL_SLOPE, CLEAR, CLEAR_SHARE = (np.float32(value) for value in (0.22, 0.09, 0.8, 0.165))


@inlined
def erbs(ghi, cos_zenith, extra_normal):
    """Diffuse and direct parts of global irradiance.

    Erbs, Klein & Duffie, Solar Energy 28 (1982) 293-302, with the limits of `pvlib.irradiance.erbs`.

    Parameters
    ----------
    ghi : float
        Global horizontal irradiance [W/m2].
    cos_zenith : float
    extra_normal : float
        Extraterrestrial normal irradiance [W/m2].

    Returns
    -------
    dhi, dni : float
        Diffuse horizontal and direct normal irradiance [W/m2]; below 3 degrees of sun all is diffuse.
    """
    high = cos_zenith if cos_zenith > LEAST_COS else LEAST_COS
    kt = ghi / (extra_normal * high)
    kt = kt if kt < ONE else ONE
    c0, c1, c2, c3, c4 = FOURTH
    middle = c0 + kt * (c1 + kt * (c2 + kt * (c3 + kt * c4)))
    fraction = middle if kt <= CLEAR else CLEAR_SHARE
    fraction = ONE - DULL_SLOPE * kt if kt <= DULL else fraction
    low = cos_zenith < COS_87
    dni = ZERO if low else (ONE - fraction) * ghi / (COS_87 if low else cos_zenith)
    return ghi if low else fraction * ghi, dni


@inlined
def haydavies(
    ghi, dhi, dni, cos_zenith, cos_incidence, extra_normal, beam_share, diffuse_share, ground_share, albedo
):
    """Irradiance in the plane of an array [W/m2].

    Hay & Davies (1980) for the sky, isotropic ground; as `pvlib.irradiance.haydavies` and
    `pvlib.irradiance.get_ground_diffuse` where nothing stands in the light. `cos_incidence` is 0 when the
    sun is behind the plane; the shares are those of `darkspell.weather.solar_geometry.SiteSky`.
    """
    anisotropy = dni / extra_normal
    ratio = cos_incidence * beam_share / max(cos_zenith, LEAST_RATIO)
    sky = dhi * (anisotropy * ratio + (ONE - anisotropy) * diffuse_share)
    return dni * cos_incidence * beam_share + sky + ghi * albedo * ground_share
