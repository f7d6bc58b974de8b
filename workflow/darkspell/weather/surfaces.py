"""Irradiance factors of a plane: incidence, horizon, near shading, soiling; constant for a study.

A plane is level or tilted. Its tilt may change on given dates. On a moving base all headings have equal weight.
A shadow is a sector of the view from the plane: between two directions, from the horizon up to an elevation. The
sky is isotropic where a shadow blocks a part of it.
"""

from dataclasses import dataclass

import numpy as np

from darkspell.weather.reflection import beam_transmission, diffuse_transmission

HEADINGS = np.arange(0.0, 360.0, 10.0)
_CELL = 3.0  # degrees of a cell of the sky's dome
_STEEPEST = 1e-9


@dataclass(frozen=True)
class Shadow:
    """An object that shades a plane.

    Parameters
    ----------
    start, end : float
        Directions that bound it, clockwise [degrees]; from the bow where the plane turns.
    height : float
        Elevation of its top, seen from the plane [degrees].
    touched : float
        Share of the plane's groups of cells that the shadow touches at once, 0 to 1.
    stops : float
        Share of the irradiance that it blocks, 0 to 1.
    months : tuple of int
        Calendar months, 1-12, in which it shades.
    """

    start: float
    end: float
    height: float
    touched: float = 1.0
    stops: float = 1.0
    months: tuple = tuple(range(1, 13))


@dataclass(frozen=True)
class Plane:
    """Orientation, shading and soiling of one array.

    Parameters
    ----------
    tilt : tuple of (month, day, degrees)
        Dates, ascending, from which each tilt applies; the last applies until the first date of the next year.
    azimuth : float
        Direction that it faces [degrees], 180 south; from the bow where it turns.
    turning : bool
        True on a boat or vehicle of varying heading.
    shadows : tuple of Shadow
    groups : int
        Groups of cells, each with its own bypass diode or string.
    series : bool
        Whether the groups are in series: a shaded one is bypassed, or limits the others.
    soiling : tuple of float
        Share of irradiance lost to soiling by calendar month, January first; 0 to 1.
    glass : str
        Cover of the modules: one of `darkspell.weather.reflection.COVERS`.
    """

    tilt: tuple
    azimuth: float
    turning: bool = False
    shadows: tuple = ()
    groups: int = 3
    series: bool = True
    soiling: tuple = (0.0,) * 12
    glass: str = "none"


def planes_of(study):
    """Planes of a study's arrays.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    list of Plane
    """
    return [_plane(array) for array in study.arrays.values()]


def _plane(array):
    shadows = tuple(
        Shadow(
            one.from_deg,
            one.to_deg,
            one.height_deg,
            one.touched_pct / 100.0,
            one.opacity_pct / 100.0,
            tuple(one.months),
        )
        for one in array.shades.values()
    )
    return Plane(
        tilt=array.tilts,
        azimuth=array.azimuth_deg,
        turning=array.any_heading,
        shadows=shadows,
        groups=array.shade_groups,
        series=array.shade_wiring == "series",
        soiling=tuple(share / 100.0 for share in array.soiling_pct),
        glass=array.glass,
    )


def tilt_by_day(plane, calendar):
    """Tilt on each study day.

    Parameters
    ----------
    plane : Plane
    calendar : darkspell.core.calendar.Calendar

    Returns
    -------
    float64 array [365]
        [degrees].
    """
    firsts = np.array([calendar.study_day(month, day) for month, day, _ in plane.tilt])
    tilts = np.array([degrees for _, _, degrees in plane.tilt], float)
    order = np.argsort(firsts)
    at = np.searchsorted(firsts[order], np.arange(365), side="right") - 1
    return tilts[order][at]  # -1, before the year's first date: the last one of the year before


def cos_incidence(tilt, azimuth, zenith, sun_azimuth):
    """Cosine of the angle of incidence; 0 when the sun is behind the plane.

    Parameters
    ----------
    tilt, azimuth : float or float array
        Of the plane [degrees].
    zenith, sun_azimuth : float arrays
        Of the sun [degrees]; all broadcast.

    Returns
    -------
    float64 array
    """
    import pvlib

    return np.maximum(pvlib.irradiance.aoi_projection(tilt, azimuth, zenith, sun_azimuth), 0.0)


def beam_lost(shadow, groups, series):
    """Share of a plane's beam irradiance lost while the sun is behind a shadow.

    In series the controller takes the better of two operating points: it bypasses the shaded groups, or lets them
    limit the current of all. In parallel each group loses its own irradiance.

    Parameters
    ----------
    shadow : Shadow
    groups : int
        Groups of cells.
    series : bool
        Whether the groups are in series.

    Returns
    -------
    float
        0 to 1.
    """
    touched = np.ceil(groups * shadow.touched - 1e-9) / groups
    return float(min(touched, shadow.stops) if series else touched * shadow.stops)


def beam_share(plane, horizon, zenith, sun_azimuth, month, heading=0.0):
    """Share of beam irradiance that reaches a plane, by position of the sun.

    Parameters
    ----------
    plane : Plane
    horizon : float array [n]
        Elevation of the skyline [degrees] at n directions evenly spaced from north through east.
    zenith, sun_azimuth : float arrays
        [degrees].
    month : int array
        Calendar month (0-11), broadcast against them.
    heading : float
        Heading of the bow [degrees]; 0 on land.

    Returns
    -------
    float64 array
        0 to 1.
    """
    elevation = 90.0 - zenith
    share = np.where(elevation > skyline(horizon, sun_azimuth), 1.0, 0.0)
    for shadow in plane.shadows:
        behind = within(sun_azimuth - heading, shadow) & (elevation < shadow.height)
        behind &= np.isin(month, np.array(shadow.months) - 1)
        share = share * np.where(behind, 1.0 - beam_lost(shadow, plane.groups, plane.series), 1.0)
    return share


def sky_share(plane, horizon, tilt, month, heading=0.0):
    """Isotropic sky irradiance on a plane over that on the horizontal.

    ``(1 + cos tilt) / 2`` with a free view. Skyline and shadows are subtracted by summation over cells of the sky
    dome, each weighted by the cosine of its incidence.

    Parameters
    ----------
    plane : Plane
    horizon : float array [n]
        As in `beam_share`.
    tilt : float
        [degrees].
    month : int
        Calendar month, 0-11.
    heading : float
        As in `beam_share`.

    Returns
    -------
    float
        [-].
    """
    free = 0.5 * (1.0 + np.cos(np.radians(tilt)))
    if not plane.shadows and not np.any(np.asarray(horizon) > 0.0):
        return free
    azimuth, elevation = np.meshgrid(np.arange(_CELL / 2, 360.0, _CELL), np.arange(_CELL / 2, 90.0, _CELL))
    weight = cos_incidence(tilt, plane.azimuth + heading, 90.0 - elevation, azimuth)
    weight = weight * np.cos(np.radians(elevation))
    seen = np.where(elevation > skyline(horizon, azimuth), 1.0, 0.0)
    for shadow in plane.shadows:
        if month + 1 in shadow.months:
            behind = within(azimuth - heading, shadow) & (elevation < shadow.height)
            seen = seen * np.where(behind, 1.0 - shadow.touched * shadow.stops, 1.0)
    return free * float((weight * seen).sum() / max(weight.sum(), _STEEPEST))


def skyline(horizon, azimuth):
    """Elevation of the skyline in a direction, interpolated linearly.

    Parameters
    ----------
    horizon : float array [n]
        As in `beam_share`.
    azimuth : float array [...]
        [degrees].

    Returns
    -------
    float64 array [...]
        [degrees].
    """
    horizon = np.atleast_1d(np.asarray(horizon, float))
    at = np.mod(np.asarray(azimuth, float), 360.0)
    return np.interp(at, np.arange(horizon.size) * 360.0 / horizon.size, horizon, period=360.0)


def within(azimuth, shadow):
    """Whether a direction is within a shadow's sector, which may cross north.

    Parameters
    ----------
    azimuth : float array [...]
        [degrees].
    shadow : Shadow

    Returns
    -------
    bool array [...]
    """
    width = np.mod(shadow.end - shadow.start, 360.0) or 360.0
    return np.mod(np.asarray(azimuth) - shadow.start, 360.0) <= width


def plane_light(plane, horizon, tilt, suns, month):
    """Irradiance factors of a plane at many instants.

    Parameters
    ----------
    plane : Plane
    horizon : float array [n]
        As in `beam_share`.
    tilt : float array [instants]
        [degrees].
    suns : list of (zenith, azimuth)
        Positions of the sun [degrees], float arrays [instants]: the middle of the step first, then further
        instants of it over which shading is averaged.
    month : int array [instants]
        Calendar month, 0-11.

    Returns
    -------
    cos_incidence, beam_share, diffuse_share, ground_share, horizon_share : float arrays [instants]
        As in `darkspell.weather.solar_geometry.SiteSky`.
    """
    clean = 1.0 - np.asarray(plane.soiling, float)[month]
    incidence, beam = _beam(plane, horizon, tilt, suns, month)
    diffuse = np.empty(len(tilt))
    for slope, of_month in {(t, m) for t, m in zip(tilt.tolist(), month.tolist(), strict=True)}:
        headings = HEADINGS if plane.turning and np.any(np.asarray(horizon) > 0.0) else (0.0,)
        share = np.mean([sky_share(plane, horizon, slope, of_month, h) for h in headings])
        diffuse[(tilt == slope) & (month == of_month)] = share
    free, ground = (0.5 * (1.0 + sign * np.cos(np.radians(tilt))) for sign in (1.0, -1.0))
    horizon = np.sin(np.radians(tilt)) * np.divide(diffuse, free, out=np.zeros(len(tilt)), where=free > 1e-6)
    sky, low, below = diffuse_transmission(plane.glass, tilt)
    return incidence, beam * clean, diffuse * sky * clean, ground * below * clean, horizon * low * clean


def _beam(plane, horizon, tilt, suns, month):
    """Cosine of incidence at mid-step, and the share of beam irradiance received; mean over headings."""
    headings = HEADINGS if plane.turning else (0.0,)
    incidence, arriving = np.zeros(len(tilt)), np.zeros(len(tilt))
    plain = not plane.shadows and not np.any(np.asarray(horizon) > 0.0)
    for heading in headings:
        cosine = cos_incidence(tilt, plane.azimuth + heading, *suns[0])
        share = 1.0
        if not plain:
            share = np.mean([beam_share(plane, horizon, *sun, month, heading) for sun in suns], axis=0)
        share = share * beam_transmission(plane.glass, cosine)
        incidence += cosine / len(headings)
        arriving += cosine * share / len(headings)
    return incidence, np.divide(arriving, incidence, out=np.ones(len(tilt)), where=incidence > 1e-6)


def instants(zenith, azimuth):
    """Sun position at mid-hour and a third of an hour before and after, from consecutive mid-hours (cyclic).

    Parameters
    ----------
    zenith, azimuth : float arrays [8760]
        [degrees].

    Returns
    -------
    list of (zenith, azimuth), float arrays [8760] in degrees
    """
    turned = np.unwrap(azimuth, period=360.0)
    before = _blend(zenith, turned, np.roll(zenith, 1), np.concatenate([[turned[0]], turned[:-1]]))
    after = _blend(zenith, turned, np.roll(zenith, -1), np.concatenate([turned[1:], [turned[-1]]]))
    return [(zenith, azimuth), before, after]


def _blend(zenith, azimuth, zenith_there, azimuth_there):
    return (2.0 * zenith + zenith_there) / 3.0, np.mod((2.0 * azimuth + azimuth_there) / 3.0, 360.0)
