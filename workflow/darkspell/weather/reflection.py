"""What a module's cover lets through, over what it lets through straight on: beam and diffuse light.

Reflection and absorption of a flat cover: `pvlib.iam.physical` (W. De Soto, S. A. Klein & W. A. Beckman, Solar Energy
80 (2006) 78-88), with an anti-reflective coating of refractive index 1.29 where there is one (the value of pvlib's
documentation). For light from the sky, the ground and the horizon it is the mean over their directions,
`pvlib.iam.marion_diffuse` (B. Marion, Solar Energy 147 (2017) 344-348).
"""

from functools import cache

import numpy as np

COVERS = ("anti_reflective", "plain", "none")  # none: the study's own losses hold it already
COATING = {"anti_reflective": {"n_ar": 1.29}, "plain": {}}


def beam_transmission(cover, cos_incidence):
    """Share of the beam that passes, over that at normal incidence.

    Parameters
    ----------
    cover : str
        One of `COVERS`.
    cos_incidence : float array
        Cosine of the angle of incidence, 0 behind the plane [-].

    Returns
    -------
    float array
        [-].
    """
    cosine = np.asarray(cos_incidence, float)
    if cover == "none":
        return np.ones(cosine.shape)
    import pvlib  # noqa: PLC0415  (start-up time)

    angle = np.degrees(np.arccos(np.clip(cosine, 0.0, 1.0)))
    return np.nan_to_num(pvlib.iam.physical(angle, **COATING[cover]))


def diffuse_transmission(cover, tilt):
    """Shares of the light of sky, horizon and ground that pass, over that at normal incidence.

    Parameters
    ----------
    cover : str
        One of `COVERS`.
    tilt : float array [n]
        [degrees].

    Returns
    -------
    sky, horizon, ground : float arrays [n]
        [-].
    """
    tilt = np.asarray(tilt, float)
    known = {angle: _of_tilt(cover, float(angle)) for angle in np.unique(tilt)}
    return tuple(np.array([known[angle][part] for angle in tilt]) for part in range(3))


@cache
def _of_tilt(cover, tilt):
    if cover == "none":
        return 1.0, 1.0, 1.0
    import pvlib  # noqa: PLC0415  (start-up time)

    parts = pvlib.iam.marion_diffuse("physical", tilt, **COATING[cover])
    return tuple(float(np.nan_to_num(parts[name], nan=1.0)) for name in ("sky", "horizon", "ground"))
