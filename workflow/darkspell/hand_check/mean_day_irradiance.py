"""Sunshine on a tilted plane on the mean day of each month, from the monthly clearness alone.

The day's global and diffuse irradiation are spread over its hours with the curves of Collares-Pereira &
Rabl (Solar Energy 22 (1979) 155-164) and Liu & Jordan (Solar Energy 4 (1960) 1-19), then put in the plane
with Hay & Davies' sky and an isotropic ground. One clear day and one dull one give another mean than two
average days; that is what the simulation is for.
"""

from dataclasses import dataclass

import numpy as np

from darkspell.climate import monthly_extraterrestrial
from darkspell.core.calendar import Calendar
from darkspell.core.constants import constant
from darkspell.weather.reflection import beam_transmission, diffuse_transmission
from darkspell.weather.surfaces import HEADINGS, beam_share, sky_share, tilt_by_day

STEPS = 144
STEP_H = 24.0 / STEPS
LOWEST_SUN = np.cos(np.radians(87.0))


@dataclass(frozen=True)
class MeanDays:
    """Sun and irradiance through the mean day of each calendar month, in solar time; arrays [12, steps].

    `cos_zenith` is 0 at night; `azimuth` in radians from south, west positive; `ghi`, `dhi` in W/m2;
    `anisotropy` [12] is the direct share of the light that left the sun.
    """

    hour_angle: np.ndarray
    declination: np.ndarray
    latitude: float
    cos_zenith: np.ndarray
    ghi: np.ndarray
    dhi: np.ndarray
    anisotropy: np.ndarray


def declination(day_of_year):
    """Declination of the sun, Cooper's formula; Duffie & Beckman eq. 1.6.1a.

    Parameters
    ----------
    day_of_year : int array
        1-365.

    Returns
    -------
    float array
        [rad].
    """
    return np.radians(23.45) * np.sin(2.0 * np.pi * (284.0 + np.asarray(day_of_year)) / 365.0)


def diffuse_share(clearness, sunset):
    """Diffuse share of a month's mean daily irradiation.

    Erbs, Klein & Duffie, Solar Energy 28 (1982) 293-302, monthly form (Duffie & Beckman eqs 2.12.1;
    coefficients from memory, held against a measured year in the tests).

    Parameters
    ----------
    clearness : array
        Monthly mean clearness index [-]; taken into the correlation's range .3 to .8.
    sunset : array
        Sunset hour angle [rad].

    Returns
    -------
    array
        [-], shape of `clearness`.
    """
    k = np.clip(clearness, 0.3, 0.8)
    winter = 1.391 - 3.560 * k + 4.189 * k**2 - 2.137 * k**3
    rest = 1.311 - 3.022 * k + 3.427 * k**2 - 1.821 * k**3
    return np.where(np.degrees(sunset) <= 81.4, winter, rest)


def mean_days(latitude, clearness):
    """Irradiance through the mean day of each month.

    Parameters
    ----------
    latitude : float
        Degrees, north positive.
    clearness : array [12]
        Monthly mean clearness index, January first [-].

    Returns
    -------
    MeanDays
    """
    phi = np.radians(latitude)
    delta = declination(constant("hand_check", "mean_days"))[:, None]
    sunset = np.arccos(np.clip(-np.tan(phi) * np.tan(delta), -1.0, 1.0))
    angle = np.radians((np.arange(STEPS) + 0.5) * STEP_H * 15.0 - 180.0)[None, :]
    cos_zenith = np.cos(phi) * np.cos(delta) * np.cos(angle) + np.sin(phi) * np.sin(delta)
    cos_zenith = np.maximum(cos_zenith, 0.0)
    outside = monthly_extraterrestrial(latitude)
    day = np.asarray(clearness) * outside
    share = diffuse_share(np.asarray(clearness), sunset[:, 0])
    ghi = _spread(day, cos_zenith * _afternoon(angle, sunset))
    dhi = np.minimum(_spread(day * share, cos_zenith), ghi)
    lit = np.divide(day, outside, out=np.zeros(12), where=outside > 0.0)
    return MeanDays(angle, delta, phi, cos_zenith, ghi, dhi, lit * (1.0 - share))


def plane_irradiance(days, plane, horizon, albedo):
    """Irradiance under the glass of a plane through the mean days [W/m2]; [12, steps].

    Parameters
    ----------
    days : MeanDays
    plane : darkspell.weather.surfaces.Plane
    horizon : sequence of float
        Heights of the skyline [degrees] in directions evenly spaced from north through east.
    albedo : float

    Returns
    -------
    float array
    """
    tilt = tilt_by_day(plane, Calendar(1))[np.array(constant("hand_check", "mean_days")) - 1]
    slope, month = np.radians(tilt)[:, None], np.arange(12)[:, None]
    high = days.cos_zenith > LOWEST_SUN
    beam = np.where(high, days.ghi - days.dhi, 0.0)
    around = np.where(high, days.anisotropy[:, None], 0.0)
    ratio = _arriving(days, plane, horizon, slope, month) / np.maximum(days.cos_zenith, LOWEST_SUN)
    turns = plane.turning and np.any(np.asarray(horizon) > 0.0)
    seen = [
        np.mean(
            [sky_share(plane, horizon, tilt[m], m, heading) for heading in (HEADINGS if turns else (0.0,))]
        )
        for m in range(12)
    ]
    through, _, below = diffuse_transmission(plane.glass, tilt)
    dome = (1.0 - around) * (np.array(seen) * through)[:, None]
    sky = (days.ghi - beam) * (around * ratio + dome)
    ground = days.ghi * albedo * (1.0 - np.cos(slope)) / 2.0 * below[:, None]
    return (beam * ratio + sky + ground) * (1.0 - np.array(plane.soiling))[:, None]


def _arriving(days, plane, horizon, slope, month):
    """Cosine of incidence times the share of the beam that arrives under the glass, headings averaged."""
    zenith, azimuth = np.degrees(np.arccos(days.cos_zenith)), sun_azimuth(days)
    headings = HEADINGS if plane.turning else (0.0,)
    total = 0.0
    for heading in headings:
        facing = np.radians(plane.azimuth + heading - 180.0)
        share = beam_share(plane, horizon, zenith, azimuth, month, heading)
        cosine = cos_incidence(days, slope, facing)
        total = total + cosine * share * beam_transmission(plane.glass, cosine)
    return total / len(headings)


def sun_azimuth(days):
    """Direction of the sun through the mean days, clockwise from north.

    Parameters
    ----------
    days : MeanDays

    Returns
    -------
    float array [12, steps]
        [degrees].
    """
    phi, delta, angle = days.latitude, days.declination, days.hour_angle
    east = -np.cos(delta) * np.sin(angle)
    north = np.sin(delta) * np.cos(phi) - np.cos(delta) * np.cos(angle) * np.sin(phi)
    return np.degrees(np.arctan2(east, north)) % 360.0


def cos_incidence(days, slope, azimuth):
    """Cosine of the angle of incidence, 0 behind the plane; Duffie & Beckman eq. 1.6.2.

    Parameters
    ----------
    days : MeanDays
    slope, azimuth : float array or float
        Of the plane [rad]; azimuth from south, west positive.

    Returns
    -------
    float array [12, steps]
        [-].
    """
    phi, delta, angle = days.latitude, days.declination, days.hour_angle
    east_west = np.cos(delta) * np.sin(slope) * np.sin(azimuth) * np.sin(angle)
    return np.maximum(
        np.sin(delta) * (np.sin(phi) * np.cos(slope) - np.cos(phi) * np.sin(slope) * np.cos(azimuth))
        + np.cos(delta) * np.cos(angle) * np.cos(phi) * np.cos(slope)
        + np.cos(delta) * np.cos(angle) * np.sin(phi) * np.sin(slope) * np.cos(azimuth)
        + east_west,
        0.0,
    )


def _afternoon(angle, sunset):
    """Collares-Pereira & Rabl's factor between the hourly shares of global and of outside irradiation."""
    a = 0.409 + 0.5016 * np.sin(sunset - np.radians(60.0))
    b = 0.6609 - 0.4767 * np.sin(sunset - np.radians(60.0))
    return np.maximum(a + b * np.cos(angle), 0.0)


def _spread(day, shape):
    """Irradiance [W/m2] of the given daily sums [kWh/m2] and shapes, each normalised; [12, steps]."""
    total = shape.sum(axis=1)
    scale = np.divide(day, total, out=np.zeros(12), where=total > 0.0)
    return shape * (scale * 1000.0 / STEP_H)[:, None]
