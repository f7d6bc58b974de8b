"""Decomposition and transposition, equal to pvlib's functions, as scalars for compiled loops."""

from numba import njit

scalar = njit(nogil=True, error_model="numpy", forceinline=True)
COS_87 = 0.05233595624294383


@scalar
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
    kt = min(max(ghi / (extra_normal * max(cos_zenith, 0.065)), 0.0), 1.0)
    middle = 0.9511 + kt * (-0.1604 + kt * (4.388 + kt * (-16.638 + kt * 12.336)))
    fraction = 1.0 - 0.09 * kt if kt <= 0.22 else (middle if kt <= 0.8 else 0.165)
    if cos_zenith < COS_87:
        return ghi, 0.0
    return fraction * ghi, (1.0 - fraction) * ghi / cos_zenith


@scalar
def haydavies(
    ghi, dhi, dni, cos_zenith, cos_incidence, extra_normal, beam_share, diffuse_share, ground_share, albedo
):
    """Irradiance in the plane of an array [W/m2].

    Hay & Davies (1980) for the sky, isotropic ground; as `pvlib.irradiance.haydavies` and
    `pvlib.irradiance.get_ground_diffuse` where nothing stands in the light. `cos_incidence` is 0 when the
    sun is behind the plane; the shares are those of `darkspell.sky.geometry.SiteSky`.
    """
    anisotropy = dni / extra_normal
    ratio = cos_incidence * beam_share / max(cos_zenith, 0.01745)
    sky = dhi * (anisotropy * ratio + (1.0 - anisotropy) * diffuse_share)
    return dni * cos_incidence * beam_share + sky + ghi * albedo * ground_share
