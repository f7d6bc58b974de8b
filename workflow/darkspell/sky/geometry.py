"""Sun positions and clear sky of a site, from pvlib, shared by all members.

Values are rounded once (1e-6 for cosines, 1/64 W/m2 for irradiances), since transcendental functions
differ in their last bits between machines; everything that follows then agrees bit for bit.
"""

from dataclasses import dataclass

import numpy as np

from darkspell.calendar import HOURS, Calendar
from darkspell.climate.extraterrestrial import daily_extraterrestrial

REFERENCE_YEAR = 2025


@dataclass(frozen=True)
class SiteSky:
    """What the sun does over a site in each hour of the study year, taken at mid-hour.

    Parameters
    ----------
    cos_zenith : float32 array [8760]
        Cosine of the true zenith angle; 0 or below when the sun is down.
    extra_normal, extra_horizontal : float32 arrays [8760]
        Extraterrestrial irradiance on a plane facing the sun, and on the horizontal [W/m2].
    clear : float32 array [8760]
        Clear-sky global horizontal irradiance [W/m2].
    cos_incidence : float32 array [arrays, 8760]
        Cosine of the incidence angle on each array; 0 when the sun is behind it.
    cos_tilt : float32 array [arrays]
    daily_extra : float64 array [365]
        Extraterrestrial irradiation on the horizontal by study day [Wh/m2].
    """

    cos_zenith: np.ndarray
    extra_normal: np.ndarray
    extra_horizontal: np.ndarray
    clear: np.ndarray
    cos_incidence: np.ndarray
    cos_tilt: np.ndarray
    daily_extra: np.ndarray


def site_sky(latitude, longitude, altitude, utc_offset, planes, calendar):
    """Sun positions and clear sky at mid-hour through the study year.

    Parameters
    ----------
    latitude, longitude : float
        Degrees, north and east positive.
    altitude : float
        Metres above sea level.
    utc_offset : float
        Hours of local standard time ahead of UTC.
    planes : sequence of (tilt, azimuth)
        Degrees; azimuth 180 is south.
    calendar : Calendar

    Returns
    -------
    SiteSky
    """
    import pandas as pd
    import pvlib

    times = _mid_hours(pd, utc_offset, calendar)
    sun = pvlib.solarposition.get_solarposition(times, latitude, longitude, altitude=altitude)
    extra = pvlib.irradiance.get_extra_radiation(times).to_numpy()
    clear = _clear_sky(pvlib, times, latitude, longitude, altitude, sun, extra)
    cos_zenith = _round(np.cos(np.radians(sun["zenith"].to_numpy())), 1e6)
    cos_incidence = [
        np.maximum(
            pvlib.irradiance.aoi_projection(tilt, azimuth, sun["zenith"], sun["azimuth"]).to_numpy(), 0.0
        )
        for tilt, azimuth in planes
    ]
    return SiteSky(
        cos_zenith=cos_zenith,
        extra_normal=_round(extra, 64.0),
        extra_horizontal=_round(extra * np.maximum(cos_zenith, 0.0), 64.0),
        clear=_round(clear, 64.0),
        cos_incidence=_round(np.reshape(cos_incidence, (len(planes), HOURS)), 1e6),
        cos_tilt=_round(np.cos(np.radians([tilt for tilt, _ in planes])), 1e6),
        daily_extra=np.round(1000.0 * daily_extraterrestrial(latitude, calendar.day_of_year), 6),
    )


def _mid_hours(pd, utc_offset, calendar: Calendar):
    """Mid-hour instants of the study year, in UTC, all of one reference year."""
    day = calendar.day_of_year[calendar.day_of_hour] - 1
    hour = day * 24.0 + calendar.hour_of_day + 0.5 - utc_offset
    start = pd.Timestamp(f"{REFERENCE_YEAR}-01-01", tz="UTC")
    return pd.DatetimeIndex(start + pd.to_timedelta(hour, unit="h"))


def _clear_sky(pvlib, times, latitude, longitude, altitude, sun, extra):
    """Clear-sky global irradiance of Ineichen and Perez with pvlib's Linke turbidity [W/m2]."""
    zenith = sun["apparent_zenith"]
    pressure = pvlib.atmosphere.alt2pres(altitude)
    airmass = pvlib.atmosphere.get_absolute_airmass(
        pvlib.atmosphere.get_relative_airmass(zenith), pressure
    ).to_numpy()
    turbidity = pvlib.clearsky.lookup_linke_turbidity(times, latitude, longitude).to_numpy()
    with np.errstate(divide="ignore", invalid="ignore"):  # the sun below the horizon
        clear = pvlib.clearsky.ineichen(zenith.to_numpy(), airmass, turbidity, altitude, extra)["ghi"]
    return np.nan_to_num(clear, nan=0.0)


def _round(values, steps):
    return (np.round(np.asarray(values, float) * steps) / steps).astype(np.float32)
