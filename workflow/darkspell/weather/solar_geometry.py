"""Sun positions and clear-sky irradiance of a site, from pvlib, shared by all members.

Values are rounded once (1e-6 for cosines, 1/64 W/m2 for irradiances), because transcendental functions differ in
their last bits between machines. Everything computed from them then agrees bit for bit.
"""

from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np

from darkspell.climate.extraterrestrial import daily_extraterrestrial
from darkspell.climate.itinerary import chosen
from darkspell.core.calendar import HOURS, Calendar
from darkspell.weather.diffuse_light import sun_terms
from darkspell.weather.surfaces import instants, plane_light, tilt_by_day

REFERENCE_YEAR = 2025


@dataclass(frozen=True)
class SiteSky:
    """Sun and clear sky of a site in each hour of the study year: angles at mid-hour, irradiance as hourly means.

    Parameters
    ----------
    cos_zenith : float32 array [8760]
        Cosine of the true zenith angle; 0 or less when the sun is below the horizon [-].
    dni_extra, extra_horizontal : float32 arrays [8760]
        Extraterrestrial irradiance on a plane facing the sun; mean of the hour on the horizontal [W/m2].
    clear : float32 array [8760]
        Clear-sky global horizontal irradiance, mean of the hour [W/m2].
    cos_incidence : float32 array [arrays, 8760]
        Cosine of the angle of incidence on each array; 0 when the sun is behind it; mean over all headings
        where the array turns [-].
    beam_share : float32 array [arrays, 8760]
        Share of the beam and of the light about the sun that reaches the array: horizon, shadows, dirt, reflection.
    diffuse_share, ground_share : float32 arrays [arrays, 8760]
        Light of an even sky, and of even ground, that reaches the array, over that on the horizontal:
        ``(1 + cos tilt) / 2`` and ``(1 - cos tilt) / 2``, less horizon, shadows, dirt and reflection.
    horizon_share : float32 array [arrays, 8760]
        Light of a band at the horizon that reaches the array, over that on a plane facing it: ``sin tilt``, less the
        same.
    daily_extra : float64 array [365]
        Extraterrestrial irradiation on the horizontal by study day [Wh/m2].
    """

    cos_zenith: np.ndarray
    dni_extra: np.ndarray
    extra_horizontal: np.ndarray
    clear: np.ndarray
    cos_incidence: np.ndarray
    beam_share: np.ndarray
    diffuse_share: np.ndarray
    ground_share: np.ndarray
    horizon_share: np.ndarray
    daily_extra: np.ndarray

    @cached_property
    def sun_terms(self):
        """What the height of the sun settles in each hour, see `darkspell.weather.diffuse_light`."""
        return sun_terms(self.extra_horizontal / self.dni_extra, self.dni_extra)


def site_sky(latitude, longitude, altitude, utc_offset, planes, calendar, horizon=(0.0,)):
    """Sun positions and clear sky of each hour of the study year.

    Parameters
    ----------
    latitude, longitude : float
        [degrees], north and east positive.
    altitude : float
        Above sea level [m].
    utc_offset : float
        Local standard time minus UTC [h].
    planes : sequence of darkspell.weather.surfaces.Plane
    calendar : darkspell.core.calendar.Calendar
    horizon : sequence of float
        Elevation of the skyline [degrees] in directions evenly spaced from north through east.

    Returns
    -------
    SiteSky
    """
    import pandas as pd
    import pvlib

    times = _mid_hours(pd, utc_offset, calendar)
    sun = pvlib.solarposition.get_solarposition(times, latitude, longitude, altitude=altitude)
    extra = pvlib.irradiance.get_extra_radiation(times).to_numpy()
    zenith = sun["zenith"].to_numpy()
    cos_zenith = _round(np.cos(np.radians(zenith)), 1e6)
    suns = instants(zenith, sun["azimuth"].to_numpy())
    refraction = zenith - sun["apparent_zenith"].to_numpy()
    clear, height = np.zeros(HOURS), np.zeros(HOURS)
    for instant, _ in suns:
        clear += _clear_sky(pvlib, times, latitude, longitude, altitude, instant - refraction, extra) / len(
            suns
        )
        height += np.maximum(np.cos(np.radians(instant)), 0.0) / len(suns)
    light = np.empty((5, len(planes), HOURS))
    for row, plane in enumerate(planes):
        tilt = np.repeat(tilt_by_day(plane, calendar), 24)
        light[:, row] = plane_light(plane, horizon, tilt, suns, calendar.month_of_hour)
    light = _round(light, 1e6)
    return SiteSky(
        cos_zenith=cos_zenith,
        dni_extra=_round(extra, 64.0),
        extra_horizontal=_round(extra * height, 64.0),
        clear=_round(clear, 64.0),
        cos_incidence=light[0],
        beam_share=light[1],
        diffuse_share=light[2],
        ground_share=light[3],
        horizon_share=light[4],
        daily_extra=np.round(1000.0 * daily_extraterrestrial(latitude, calendar.day_of_year), 6),
    )


def composed(skies, where):
    """Combine the skies of several sites into one.

    Parameters
    ----------
    skies : list of SiteSky
    where : int array [365]
        Number of the sky for each study day.

    Returns
    -------
    SiteSky
    """
    hours, parts = np.repeat(where, 24), {}
    for name in (field.name for field in fields(SiteSky)):
        at = where if name == "daily_extra" else hours
        parts[name] = chosen([getattr(sky, name) for sky in skies], at)
    return SiteSky(**parts)


def _mid_hours(pd, utc_offset, calendar: Calendar):
    """Mid-hour instants of the study year in UTC, all within one reference year."""
    day = calendar.day_of_year[calendar.day_of_hour] - 1
    hour = day * 24.0 + calendar.hour_of_day + 0.5 - utc_offset
    start = pd.Timestamp(f"{REFERENCE_YEAR}-01-01", tz="UTC")
    return pd.DatetimeIndex(start + pd.to_timedelta(hour, unit="h"))


def _clear_sky(pvlib, times, latitude, longitude, altitude, zenith, extra):
    """Clear-sky global irradiance of Ineichen and Perez with pvlib's Linke turbidity [W/m2]."""
    pressure = pvlib.atmosphere.alt2pres(altitude)
    airmass = pvlib.atmosphere.get_absolute_airmass(pvlib.atmosphere.get_relative_airmass(zenith), pressure)
    turbidity = pvlib.clearsky.lookup_linke_turbidity(times, latitude, longitude).to_numpy()
    with np.errstate(divide="ignore", invalid="ignore"):  # the sun below the horizon
        clear = pvlib.clearsky.ineichen(zenith, airmass, turbidity, altitude, extra)["ghi"]
    return np.nan_to_num(clear, nan=0.0)


def _round(values, steps):
    return (np.round(np.asarray(values, float) * steps) / steps).astype(np.float32)
