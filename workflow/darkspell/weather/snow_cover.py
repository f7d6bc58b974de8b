"""Snow that covers an array: what stays on a slope, slides and melts, hour by hour."""

import numpy as np

from darkspell.core.constants import constant
from darkspell.core.jit import shared_part

ZERO, ONE = np.float32(0.0), np.float32(1.0)


def caught(tilt):
    """Share of snowfalls that stay on a slope: all up to 30 degrees, none from 60 (EN 1991-1-3, table 5.2).

    Parameters
    ----------
    tilt : float array [...]
        [degrees].

    Returns
    -------
    float64 array [...]
        [-].
    """
    flat, steep = constant("weather", "snow", "slopes")
    return np.clip((steep - np.asarray(tilt, float)) / (steep - flat), 0.0, 1.0)


def sliding_irradiance():
    """Plane-of-array irradiance above which snow slides, per kelvin below freezing [W/(m2 K)]."""
    return np.float32(constant("weather", "snow", "slides_at"))


@shared_part
def snow_about(cover, relative_draw, catch):
    """Whether an array has snow, or gets some today, in any lane.

    Parameters
    ----------
    cover : float32 array [lanes]
        Covered share of the slope's length [-].
    relative_draw : float32 array [lanes]
        From `darkspell.weather.snowfall.snowfalls`.
    catch : float32
        Share of snowfalls that cover the array [-].

    Returns
    -------
    bool
    """
    for lane in range(cover.size):
        if cover[lane] > ZERO or relative_draw[lane] < catch:
            return True
    return False


@shared_part
def snow_hour(cover, relative_draw, hour, now, catch, slide, air, poa, slides_at, melt):
    """One hour of snow on one array in all lanes: snowfall, or sliding and melting.

    Parameters
    ----------
    cover : float32 array [lanes], renewed
        Covered share of the slope's length [-].
    relative_draw : float32 array [lanes]
    hour : int8 array [lanes]
        From `darkspell.weather.snowfall.snowfalls`, for the day.
    now : int
        Hour of the day.
    catch, slide : float32
        As in `darkspell.weather.snow.Snow`.
    air, poa : float32 arrays [lanes]
        Air temperature [degC]; plane-of-array irradiance without snow [W/m2].
    slides_at, melt : float32
        From `sliding_irradiance` and `darkspell.weather.snow.Snow.melt`.
    """
    for lane in range(cover.size):
        left = cover[lane] - (slide if air[lane] * slides_at > -poa[lane] else ZERO)
        left = left - (air[lane] * melt if air[lane] > ZERO else ZERO)
        left = left if left > ZERO else ZERO
        fell = (relative_draw[lane] < catch) & (hour[lane] == now)
        cover[lane] = ONE if fell else left


@shared_part
def bare(cover, poa):
    """Set the irradiance of snow-covered arrays to zero.

    Parameters
    ----------
    cover : float32 array [lanes]
        Covered share of the slope's length [-].
    poa : float32 array [lanes], renewed
        Plane-of-array irradiance [W/m2].
    """
    for lane in range(cover.size):
        poa[lane] = ZERO if cover[lane] > ZERO else poa[lane]
