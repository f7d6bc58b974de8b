"""Direct and diffuse light of an hour, and what of both reaches a plane; scalars for compiled loops.

Decomposition after A. Skartveit & J. A. Olseth, "A model for the diffuse fraction of hourly global radiation", Solar
Energy 38 (1987) 271-274: like Erbs, Klein & Duffie (1982) a curve over the clearness index, but one that depends on
the height of the sun, so that low sun through clear air keeps its beam.

Transposition after A. Driesse, A. R. Jensen & R. Perez, "A continuous form of the Perez diffuse sky model for forward
and reverse transposition", Solar Energy 267 (2024) 112093, equal to `pvlib.irradiance.perez_driesse` where nothing
stands in the light: an even sky, light about the sun, and a band at the horizon.
"""

from functools import cache
from typing import NamedTuple

import numpy as np

from darkspell.core.jit import fma, inlined

ZERO, ONE, TINY = np.float32(0.0), np.float32(1.0), np.float32(1e-6)
# Skartveit & Olseth 1987: k0, a, alpha, and the coefficients of k1 and d1 over the height of the sun.
K0, A, ALPHA = 0.2, 0.27, 1.09
K1, D1, PER_DEGREE = (0.87, -0.56), (0.15, 0.43), -0.06
LOWEST = 0.02  # cosine of the zenith angle, 1.1 degrees of sun: lower hours take the clearness of that height
# sin(pi x / 2) on [0, 1.3] within 2e-7: odd powers, least squares.
S1, S3, S5, S7, S9 = (
    np.float32(v) for v in (1.57079596, -0.645959444, 0.0796760339, -0.00465773312, 0.000145210693)
)
SHARE, REST = np.float32(A), np.float32(1.0 - A)
# Perez & Driesse: knots of the quadratic splines, and the greatest share of light about the sun.
KNOTS = tuple(np.float32(v) for v in (0.061, 0.187, 0.333, 0.487, 0.643, 0.778, 0.839))
MOST_AROUND, COS_85, KAPPA = np.float32(0.9), 0.08715574, 1.041
# Coefficients of the splines f11, f12, f13, f21, f22, f23; as Driesse et al. 2024, table 2, in pvlib.
SPLINES = (
    (-0.053, -0.008, 0.131, 0.328, 0.557, 0.861, 1.212, 1.099, 0.544, 0.544),
    (0.529, 0.588, 0.770, 0.471, 0.241, -0.323, -1.239, -1.847, 0.157, 0.157),
    (-0.028, -0.062, -0.167, -0.216, -0.300, -0.355, -0.444, -0.365, -0.213, -0.213),
    (-0.071, -0.060, -0.026, 0.069, 0.086, 0.240, 0.305, 0.275, 0.118, 0.118),
    (0.061, 0.072, 0.106, -0.105, -0.085, -0.467, -0.797, -1.132, -1.455, -1.455),
    (-0.019, -0.022, -0.032, -0.028, -0.012, -0.008, 0.047, 0.124, 0.292, 0.292),
)


class SunTerms(NamedTuple):
    """What the height of the sun settles in each hour; every field a float32 array [hours], or [hours, 10].

    Attributes
    ----------
    cos_zenith : cosine of the zenith angle [-]
    dni_extra : extraterrestrial normal irradiance [W/m2]
    per_extra : one over the extraterrestrial horizontal irradiance [m2/W]
    per_clear : one over the span of clearness from an overcast to a clear sky, 1 / (k1 - k0) [-]
    top : clearness beyond which the beam grows no more [-]
    beam : greatest share of the beam, 1 - d1 [-]
    kappa : 1 + 1.041 z^3, z the zenith angle [-]
    brightness : air mass over extraterrestrial irradiance [m2/W]
    per_cos : one over the cosine of the zenith angle, of 85 degrees at most [-]
    around, horizon : coefficients of F1 and F2 over the sky's clearness, at no brightness [-]
    """

    cos_zenith: np.ndarray
    dni_extra: np.ndarray
    per_extra: np.ndarray
    per_clear: np.ndarray
    top: np.ndarray
    beam: np.ndarray
    kappa: np.ndarray
    brightness: np.ndarray
    per_cos: np.ndarray
    around: np.ndarray
    horizon: np.ndarray


def sun_terms(cos_zenith, dni_extra):
    """Terms of the hours from the positions of the sun.

    Parameters
    ----------
    cos_zenith, dni_extra : float arrays [hours]
        As `SunTerms`; hours without sun get those of the horizon.

    Returns
    -------
    SunTerms
        Rounded to seven digits: transcendental functions differ in their last bits between machines.
    """
    cosine, extra = np.asarray(cos_zenith, float), np.asarray(dni_extra, float)
    sine = np.clip(cosine, 0.0, 1.0)
    height, zenith = np.degrees(np.arcsin(sine)), np.arccos(sine)
    fall = np.exp(PER_DEGREE * height)
    clear = K1[0] + K1[1] * fall
    # Kasten & Young, Applied Optics 28 (1989) 4735-4738, as pvlib's kastenyoung1989.
    airmass = 1.0 / (sine + 0.50572 * (6.07995 + height) ** -1.6364)
    at_zero, bright = _coefficients()
    around, horizon = (at_zero[k] + zenith[:, None] * bright[k] for k in (0, 1))
    terms = (
        1.0 / (extra * np.maximum(cosine, LOWEST)), 1.0 / (clear - K0), ALPHA * clear, 1.0 - D1[0] - D1[1] * fall,
        1.0 + KAPPA * zenith**3, airmass / extra, 1.0 / np.maximum(cosine, COS_85), around, horizon,
    )  # fmt: skip
    return SunTerms(*(np.asarray(part, np.float32) for part in (cosine, extra)), *map(_rounded, terms))


@cache
def brightness_terms():
    """Coefficients of F1 and F2 per unit of the sky's brightness; two tuples of ten float32, for `perez_shares`."""
    return tuple(tuple(_rounded(row)) for row in (_powers(SPLINES[1]), _powers(SPLINES[4])))


def _coefficients():
    """Truncated-power coefficients of f11, f21, and of f13, f23: what the zenith angle multiplies; [2][10]."""
    return [_powers(SPLINES[0]), _powers(SPLINES[3])], [_powers(SPLINES[2]), _powers(SPLINES[5])]


def _powers(coefficients):
    """A quadratic spline as ``p0 + p1 x + p2 x^2 + sum(p_i max(x - knot_i, 0)^2)``; float64 [10]."""
    from scipy.interpolate import BSpline, PPoly  # noqa: PLC0415  (start-up time)

    knots = np.array([0.0] * 3 + [float(f"{k:.3f}") for k in KNOTS] + [1.0] * 3)
    pieces = PPoly.from_spline(BSpline(knots, np.array(coefficients), 2))
    square = pieces.c[0, 2:-2]
    return np.concatenate([pieces.c[::-1, 2][:2], square[:1], np.diff(square)])


def _rounded(values):
    values = np.asarray(values, float)
    digits = 10.0 ** (6.0 - np.floor(np.log10(np.maximum(np.abs(values), 1e-30))))
    return np.where(values == 0.0, 0.0, np.round(values * digits) / digits).astype(np.float32)


@inlined
def skartveit_olseth(ghi, cos_zenith, dni_extra, per_extra, per_clear, top, beam):
    """Split global irradiance into its diffuse and direct parts.

    With k = GHI / (E_0 cos z) and x = (k - k0) / (k1 - k0) the share of the beam in the global light is
    (1 - d1) (a s + (1 - a) s^4), s = sin(pi x / 2); none below k0, and no more beam beyond 1.09 k1.

    Parameters
    ----------
    ghi : float32
        Global horizontal irradiance [W/m2].
    cos_zenith, dni_extra, per_extra, per_clear, top, beam : float32
        Of the hour, as `SunTerms`.

    Returns
    -------
    dhi, dni : float32
        Diffuse horizontal and direct normal irradiance [W/m2].
    """
    k = ghi * per_extra
    k = k if k < top else top
    x = (k - np.float32(K0)) * per_clear
    x = x if x > ZERO else ZERO
    y = x * x
    s = x * fma(y, fma(y, fma(y, fma(y, S9, S7), S5), S3), S1)
    square = s * s
    dni = k * dni_extra * beam * fma(REST, square * square, SHARE * s)
    dhi = ghi - dni * cos_zenith
    return (dhi if dhi > ZERO else ZERO), dni


@inlined
def ten(table, hour):
    """A row of a table of coefficients as ten scalars, which the compiler keeps apart from what a loop writes.

    Parameters
    ----------
    table : float32 array [hours, 10]
    hour : int

    Returns
    -------
    tuple of ten float32
    """
    return (
        table[hour, 0], table[hour, 1], table[hour, 2], table[hour, 3], table[hour, 4],
        table[hour, 5], table[hour, 6], table[hour, 7], table[hour, 8], table[hour, 9],
    )  # fmt: skip


@inlined
def _beyond(x, knot):
    """``max(x - knot, 0)`` squared."""
    over = x - knot
    over = over if over > ZERO else ZERO
    return over * over


@inlined
def perez_shares(dhi, dni, kappa, brightness, around, horizon, bright):
    """Shares of the diffuse light about the sun (F1) and at the horizon (F2).

    Parameters
    ----------
    dhi, dni : float32
        [W/m2].
    kappa, brightness : float32
        Of the hour, as `SunTerms`.
    around, horizon : tuples of ten float32
        Of the hour, as `SunTerms`; see `ten`.
    bright : tuple
        From `brightness_terms`.

    Returns
    -------
    f1, f2 : float32
        [-].
    """
    clear = dni / (dni + kappa * dhi + TINY)
    delta = dhi * brightness
    (a0, a1, a2, a3, a4, a5, a6, a7, a8, a9), (b0, b1, b2, b3, b4, b5, b6, b7, b8, b9) = bright
    c0, c1, c2, c3, c4, c5, c6, c7, c8, c9 = around
    d0, d1, d2, d3, d4, d5, d6, d7, d8, d9 = horizon
    k3, k4, k5, k6, k7, k8, k9 = KNOTS
    x3, x4, x5, x6 = _beyond(clear, k3), _beyond(clear, k4), _beyond(clear, k5), _beyond(clear, k6)
    x7, x8, x9 = _beyond(clear, k7), _beyond(clear, k8), _beyond(clear, k9)
    plain = fma(clear, fma(clear, c2, c1), c0) + fma(x3, c3, fma(x4, c4, fma(x5, c5, x6 * c6)))
    slope = fma(clear, fma(clear, a2, a1), a0) + fma(x3, a3, fma(x4, a4, fma(x5, a5, x6 * a6)))
    f1 = fma(delta, slope + fma(x7, a7, fma(x8, a8, x9 * a9)), plain + fma(x7, c7, fma(x8, c8, x9 * c9)))
    plain = fma(clear, fma(clear, d2, d1), d0) + fma(x3, d3, fma(x4, d4, fma(x5, d5, x6 * d6)))
    slope = fma(clear, fma(clear, b2, b1), b0) + fma(x3, b3, fma(x4, b4, fma(x5, b5, x6 * b6)))
    f2 = fma(delta, slope + fma(x7, b7, fma(x8, b8, x9 * b9)), plain + fma(x7, d7, fma(x8, d8, x9 * d9)))
    f1 = f1 if f1 > ZERO else ZERO
    return (f1 if f1 < MOST_AROUND else MOST_AROUND), f2


@inlined
def plane_irradiance(ghi, dhi, dni, f1, f2, per_cos, cos_incidence, beam_share, diffuse_share, ground_share,
                     horizon_share, albedo):  # fmt: skip
    """Irradiance in the plane of an array.

    ``DNI cos(i) + DHI ((1 - F1) (1 + cos t) / 2 + F1 cos(i) / cos(z) + F2 sin t) + GHI albedo (1 - cos t) / 2``, each
    part times the share of it that arrives.

    Parameters
    ----------
    ghi, dhi, dni : float32
        [W/m2].
    f1, f2 : float32
        From `perez_shares`.
    per_cos : float32
        As `SunTerms`.
    cos_incidence, beam_share, diffuse_share, ground_share, horizon_share : float32
        Of the array in this hour, as `darkspell.weather.solar_geometry.SiteSky`.
    albedo : float32

    Returns
    -------
    float32
        [W/m2].
    """
    arriving = cos_incidence * beam_share
    sky = (ONE - f1) * diffuse_share + f1 * arriving * per_cos + f2 * horizon_share
    sky = sky if sky > ZERO else ZERO
    return dni * arriving + dhi * sky + ghi * albedo * ground_share
