"""Decomposition and transposition, equal to pvlib's functions, as scalars for compiled loops."""

import numpy as np

from darkspell.core.jit import inlined

COS_87 = np.float32(0.05233595624294383)
LEAST_COS, LEAST_RATIO = np.float32(0.065), np.float32(0.01745)
ZERO, ONE = np.float32(0.0), np.float32(1.0)
FOURTH = tuple(np.float32(value) for value in (0.9511, -0.1604, 4.388, -16.638, 12.336))
DULL, DULL_SLOPE, CLEAR, CLEAR_SHARE = (np.float32(value) for value in (0.22, 0.09, 0.8, 0.165))


@inlined
def erbs(ghi, cos_zenith, dni_extra):
    """Diffuse and direct components of global irradiance.

    Erbs, Klein & Duffie, Solar Energy 28 (1982) 293-302, with the limits of `pvlib.irradiance.erbs`.

    Parameters
    ----------
    ghi : float
        Global horizontal irradiance [W/m2].
    cos_zenith : float
        Cosine of the solar zenith angle.
    dni_extra : float
        Extraterrestrial normal irradiance [W/m2].

    Returns
    -------
    dhi, dni : float
        Diffuse horizontal and direct normal irradiance [W/m2]; all diffuse below 3 degrees of solar elevation.
    """
    high = cos_zenith if cos_zenith > LEAST_COS else LEAST_COS
    kt = ghi / (dni_extra * high)
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
    ghi, dhi, dni, cos_zenith, cos_incidence, dni_extra, beam_share, diffuse_share, ground_share, albedo
):
    """Irradiance in the plane of an array.

    Hay & Davies (1980) for the sky, isotropic ground reflection; equals `pvlib.irradiance.haydavies` plus
    `pvlib.irradiance.get_ground_diffuse` where nothing shades the plane.

    Parameters
    ----------
    ghi, dhi, dni : float
        Global and diffuse horizontal, direct normal irradiance [W/m2].
    cos_zenith : float
        Cosine of the solar zenith angle.
    cos_incidence : float
        Cosine of the angle of incidence; 0 when the sun is behind the plane.
    dni_extra : float
        Extraterrestrial normal irradiance [W/m2].
    beam_share, diffuse_share, ground_share : float
        As in `darkspell.weather.solar_geometry.SiteSky` [-].
    albedo : float
        [-].

    Returns
    -------
    float
        Plane-of-array irradiance [W/m2].
    """
    anisotropy = dni / dni_extra
    ratio = cos_incidence * beam_share / max(cos_zenith, LEAST_RATIO)
    sky = dhi * (anisotropy * ratio + (ONE - anisotropy) * diffuse_share)
    return dni * cos_incidence * beam_share + sky + ghi * albedo * ground_share
