"""What reaches a plane: incidence, horizon, near shadows, soiling; hourly factors that a study fixes once.

A plane is level or sloped, may be tilted anew on certain dates, and may stand on something that turns: then
all headings count alike. Shadows are sectors of the view from the plane: between two directions, from the
horizon up to a height. The sky is isotropic where a shadow takes a part of it away.
"""

from dataclasses import dataclass

import numpy as np

HEADINGS = np.arange(0.0, 360.0, 10.0)
_CELL = 3.0  # degrees of a cell of the sky's dome
_STEEPEST = 1e-9


@dataclass(frozen=True)
class Shadow:
    """Something that stands in the light.

    Parameters
    ----------
    start, end : float
        Directions between which it stands, clockwise [deg]; from the bow where the plane turns.
    height : float
        How high it reaches above the horizontal, seen from the plane [deg].
    touched : float
        Share of the plane's groups of cells that its shadow touches at once, 0-1.
    stops : float
        Share of the light that it stops, 0-1.
    months : tuple of int
        Calendar months (1-12) in which it does.
    """

    start: float
    end: float
    height: float
    touched: float = 1.0
    stops: float = 1.0
    months: tuple = tuple(range(1, 13))


@dataclass(frozen=True)
class Plane:
    """One array as the light sees it.

    Parameters
    ----------
    tilt : tuple of (month, day, degrees)
        Dates, ascending, from which each tilt holds; the last holds until the first comes round.
    azimuth : float
        Direction that it faces [deg], 180 south; from the bow where it turns.
    turning : bool
        True on a boat or vehicle that may lie any way.
    shadows : tuple of Shadow
    groups : int
        Groups of cells, each behind one bypass diode or one string of its own.
    series : bool
        Whether the groups are in series (a touched one is bypassed, or holds the others back).
    soiling : tuple of float
        Share of the light lost to dirt by calendar month, January first; 0-1.
    """

    tilt: tuple
    azimuth: float
    turning: bool = False
    shadows: tuple = ()
    groups: int = 3
    series: bool = True
    soiling: tuple = (0.0,) * 12


def planes_of(study):
    """The study's arrays as the light sees them."""
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
    )


def tilt_by_day(plane, calendar):
    """Tilt on each study day [deg]; [365]."""
    firsts = np.array([calendar.study_day(month, day) for month, day, _ in plane.tilt])
    tilts = np.array([degrees for _, _, degrees in plane.tilt], float)
    order = np.argsort(firsts)
    at = np.searchsorted(firsts[order], np.arange(365), side="right") - 1
    return tilts[order][at]  # -1, before the year's first date: the last one of the year before


def cos_incidence(tilt, azimuth, zenith, sun_azimuth):
    """Cosine of the angle of incidence, 0 behind the plane; all in degrees, shapes broadcast."""
    import pvlib

    return np.maximum(pvlib.irradiance.aoi_projection(tilt, azimuth, zenith, sun_azimuth), 0.0)


def beam_lost(shadow, groups, series):
    """Share of a plane's beam lost while the sun stands behind a shadow.

    In series the controller does better of two things: it gives up the groups that the shadow touches
    (their bypass diodes carry the current), or lets them hold back the current of all. In parallel each
    group loses its own light.
    """
    touched = np.ceil(groups * shadow.touched - 1e-9) / groups
    return float(min(touched, shadow.stops) if series else touched * shadow.stops)


def beam_share(plane, horizon, zenith, sun_azimuth, month, heading=0.0):
    """Share of the beam that arrives, by position of the sun.

    Parameters
    ----------
    plane : Plane
    horizon : float array [n]
        Heights of the skyline [deg] at n directions evenly spaced from north through east.
    zenith, sun_azimuth : float arrays
        [deg].
    month : int array
        Calendar month (0-11), broadcast against them.
    heading : float
        Where the bow points [deg]; 0 ashore.
    """
    elevation = 90.0 - zenith
    share = np.where(elevation > skyline(horizon, sun_azimuth), 1.0, 0.0)
    for shadow in plane.shadows:
        behind = within(sun_azimuth - heading, shadow) & (elevation < shadow.height)
        behind &= np.isin(month, np.array(shadow.months) - 1)
        share = share * np.where(behind, 1.0 - beam_lost(shadow, plane.groups, plane.series), 1.0)
    return share


def sky_share(plane, horizon, tilt, month, heading=0.0):
    """Share of the isotropic sky's light on the horizontal that reaches a plane of one tilt [-].

    ``(1 + cos tilt) / 2`` with a free view; what the skyline and the shadows take away is summed over the
    dome, each cell weighted by the cosine of its incidence.
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
    """Height of the skyline in a direction [deg], straight between the given ones."""
    horizon = np.atleast_1d(np.asarray(horizon, float))
    at = np.mod(np.asarray(azimuth, float), 360.0)
    return np.interp(at, np.arange(horizon.size) * 360.0 / horizon.size, horizon, period=360.0)


def within(azimuth, shadow):
    """Whether a direction lies in a shadow's sector, which may pass north."""
    width = np.mod(shadow.end - shadow.start, 360.0) or 360.0
    return np.mod(np.asarray(azimuth) - shadow.start, 360.0) <= width


def plane_light(plane, horizon, tilt, suns, month):
    """Factors of a plane at many instants.

    Parameters
    ----------
    plane : Plane
    horizon : float array [n]
        As in `beam_share`.
    tilt : float array [instants]
        [deg].
    suns : list of (zenith, azimuth)
        Positions of the sun [deg], float arrays [instants]: the first is the middle of the step, the rest
        are further instants in it over which shadows are averaged.
    month : int array [instants]
        Calendar month, 0-11.

    Returns
    -------
    cos_incidence, beam_share, diffuse_share, ground_share : float arrays [instants]
        As in `darkspell.weather.solar_geometry.SiteSky`.
    """
    clean = 1.0 - np.asarray(plane.soiling, float)[month]
    incidence, beam = _beam(plane, horizon, tilt, suns, month)
    diffuse = np.empty(len(tilt))
    for slope, of_month in {(t, m) for t, m in zip(tilt.tolist(), month.tolist(), strict=True)}:
        headings = HEADINGS if plane.turning and np.any(np.asarray(horizon) > 0.0) else (0.0,)
        share = np.mean([sky_share(plane, horizon, slope, of_month, h) for h in headings])
        diffuse[(tilt == slope) & (month == of_month)] = share
    ground = 0.5 * (1.0 - np.cos(np.radians(tilt)))
    return incidence, beam * clean, diffuse * clean, ground * clean


def _beam(plane, horizon, tilt, suns, month):
    """Cosine of incidence in mid-step, and the share of the beam that arrives; headings averaged."""
    headings = HEADINGS if plane.turning else (0.0,)
    incidence, arriving = np.zeros(len(tilt)), np.zeros(len(tilt))
    plain = not plane.shadows and not np.any(np.asarray(horizon) > 0.0)
    for heading in headings:
        cosine = cos_incidence(tilt, plane.azimuth + heading, *suns[0])
        share = 1.0
        if not plain:
            share = np.mean([beam_share(plane, horizon, *sun, month, heading) for sun in suns], axis=0)
        incidence += cosine / len(headings)
        arriving += cosine * share / len(headings)
    return incidence, np.divide(arriving, incidence, out=np.ones(len(tilt)), where=incidence > 1e-6)


def instants(zenith, azimuth):
    """Sun in mid-hour and a third of an hour before and after, from consecutive mid-hours (wrapped).

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
