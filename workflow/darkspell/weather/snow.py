"""Snow on the arrays: when it falls, and how sun, warmth and slope bring it off again.

Snow falls on dull days that are cold enough, the less the colder they are for their month; where a day's clearness
and temperature are known so is the chance, and a stream of its own draws the day and the hour. It then
covers an array whole, slides down while air and sun allow (Marion et al., Solar Energy 97 (2013) 112-121, as
`pvlib.snow.coverage_nrel`) and melts above freezing. An array is without power until the last of it is gone.
"""

from dataclasses import dataclass, replace

import numpy as np

from darkspell.climate.itinerary import by_place, parts_of
from darkspell.core.calendar import DAYS
from darkspell.core.constants import constant
from darkspell.core.jit import kernel, part, shared_part
from darkspell.core.keyed_random import philox, stream_key
from darkspell.weather.surfaces import tilt_by_day
from darkspell.weather.temperature import by_day

NEVER = np.float32(np.inf)
ZERO, ONE = np.float32(0.0), np.float32(1.0)
LIKELY_SD = 4.0  # standard deviations of the daily mean within which a day may fall
_UNIT, _HOURS = 2.0**-32, 4096.0


@dataclass(frozen=True)
class Snow:
    """What the hours need to know of snow.

    Parameters
    ----------
    usual, spread : float64 arrays [365]
        Air temperature by study day: mean and SD of the daily means [degC, K].
    scale : float
        Factor on the chance of snow.
    catch : float32 array [365, arrays]
        Share of the snowfalls that cover an array.
    slide : float32 array [365, arrays]
        What slides off in an hour in which it can, as a share of the slope's length [1/h].
    """

    usual: np.ndarray
    spread: np.ndarray
    scale: float
    catch: np.ndarray
    slide: np.ndarray

    def only(self, array):
        """The same for one array alone."""
        return replace(self, catch=_single(self.catch[:, [array]]), slide=_single(self.slide[:, [array]]))


def snow_of(planes, habits, climate, calendar):
    """Snow of a study's place on its arrays; None where none can fall or lie.

    Parameters
    ----------
    planes : sequence of darkspell.weather.surfaces.Plane
    habits : sequence of {"slides", "held", "swept"}
        What becomes of snow on each array.
    climate : darkspell.climate.SiteClimate or darkspell.climate.itinerary.Route
    calendar : darkspell.core.calendar.Calendar

    Returns
    -------
    Snow or None
    """
    usual, spread = (
        by_place([by_day(getattr(one, name), calendar) for one in parts_of(climate)], climate, calendar)
        for name in ("temp_air_mean", "temp_air_sd")
    )
    tilt = np.array([tilt_by_day(plane, calendar) for plane in planes]).T
    catch = np.where(np.array(habits) == "held", 1.0, caught(tilt)) * (np.array(habits) != "swept")
    if not catch.any() or (usual - LIKELY_SD * spread).min() > warmest():
        return None
    slide = constant("weather", "snow", "slide") * np.sin(np.radians(tilt)) * (np.array(habits) == "slides")
    return Snow(usual, spread, 1.0, _single(catch), _single(np.round(slide, 6)))


def _single(values):
    return np.ascontiguousarray(values, np.float32)


def scaled(snow, days, wanted):
    """The same snow, its chance scaled until these days bring so much.

    Parameters
    ----------
    snow : Snow or None
    days : darkspell.simulation.input_series.Days
        Of a good many years.
    wanted : float
        Days with snowfall in a year; at most as many as are cold enough.
    """
    if snow is None or wanted == 0.0:
        return None
    low, high = 0.0, 1000.0
    for _ in range(40):
        middle = (low * high) ** 0.5 if low else high / 1000.0
        short = falling_days(replace(snow, scale=middle), days).mean() < wanted
        low, high = (middle, high) if short else (low, middle)
    return replace(snow, scale=round(high, 6))


def falling_days(snow, days):
    """Expected days with snowfall of each year; float64 [lanes]."""
    return _chances(days.kt, days.temp_air_mean, snow.usual, snow.spread, snow.scale, _numbers()).sum(axis=1)


def caught(tilt):
    """Share of snowfalls that stay on a slope: all up to 30 degrees, none from 60 (EN 1991-1-3, table 5.2)."""
    flat, steep = constant("weather", "snow", "slopes")
    return np.clip((steep - np.asarray(tilt, float)) / (steep - flat), 0.0, 1.0)


def warmest():
    """Daily mean above which no snow is reckoned with [degC]."""
    return constant("weather", "snow", "threshold") + 5.0 * constant("weather", "snow", "threshold_width")


def snowfalls(snow, days, members, seed):
    """When it snows.

    Parameters
    ----------
    snow : Snow
    days : darkspell.simulation.input_series.Days
    members : int64 array [lanes]
    seed : int

    Returns
    -------
    odds : float32 array [365, lanes]
        A number that is below 1 on days with snowfall, and evenly spread between 0 and 1 among these.
    hour : int8 array [365, lanes]
        In which it falls.
    """
    return _falls(
        members, stream_key(seed, "sky/snow"), days.kt, days.temp_air_mean, snow.usual, snow.spread,
        snow.scale, _numbers(),
    )  # fmt: skip


def melting():
    """Melted in an hour, as a share of one snowfall, for each kelvin above freezing [1/(K h)]."""
    per_day, fall = (constant("weather", "snow", name) for name in ("melt", "fall"))
    return np.float32(per_day / 24.0 / fall)


def sliding_irradiance():
    """Irradiance in the plane that lets snow slide, for each kelvin below freezing [W/(m2 K)]."""
    return np.float32(constant("weather", "snow", "slides_at"))


def _numbers():
    names = ("base", "per_kt", "per_sd", "most_sd", "threshold", "threshold_width")
    return (*(float(constant("weather", "snow", name)) for name in names), warmest())


@part
def _chance(kt, temp, usual, spread, scale, numbers):
    base, per_kt, per_sd, most_sd, threshold, width, _ = numbers
    apart = min(max((temp - usual) / spread, -most_sd), 0.0)
    dry = np.exp(-(base + per_kt * kt + per_sd * apart))
    rain = np.exp((temp - threshold) / width)
    return min(np.round(scale / ((1.0 + dry) * (1.0 + rain)) * 1048576.0) / 1048576.0, 1.0)


@kernel
def _chances(kt, temp, usual, spread, scale, numbers):
    out = np.zeros_like(kt)
    for row in range(kt.shape[0]):
        for day in range(DAYS):
            if temp[row, day] < numbers[6]:
                out[row, day] = _chance(kt[row, day], temp[row, day], usual[day], spread[day], scale, numbers)
    return out


@kernel
def _falls(members, key, kt, temp, usual, spread, scale, numbers):
    odds = np.full((DAYS, members.size), NEVER, np.float32)
    hour = np.zeros((DAYS, members.size), np.int8)
    for lane in range(members.size):
        for first in range(0, DAYS, 4):
            last = min(first + 4, DAYS)
            cold = False
            for day in range(first, last):
                cold |= temp[lane, day] < numbers[6]
            if not cold:
                continue
            words = philox(key, first // 4, members[lane])
            for day in range(first, last):
                if temp[lane, day] >= numbers[6]:
                    continue
                chance = _chance(kt[lane, day], temp[lane, day], usual[day], spread[day], scale, numbers)
                drawn = (float(words[day - first]) + 0.5) * _UNIT
                odds[day, lane] = drawn / chance if chance > 0.0 else NEVER
                fine = drawn * _HOURS
                hour[day, lane] = int(24.0 * (fine - np.floor(fine)))
    return odds, hour


@shared_part
def snow_about(cover, odds, catch):
    """Whether snow lies on an array, or falls on it today, in some lane."""
    for lane in range(cover.size):
        if cover[lane] > ZERO or odds[lane] < catch:
            return True
    return False


@shared_part
def snow_hour(cover, odds, hour, now, catch, slide, air, poa, slides_at, melt):
    """One hour of snow on one array, all lanes: it falls, or slides and melts.

    Parameters
    ----------
    cover : float32 array [lanes], renewed
        Covered share of the slope's length.
    odds : float32 array [lanes]
    hour : int8 array [lanes]
        From `snowfalls`, of the day.
    now : int
        Hour of the day.
    catch, slide : float32
    air, poa : float32 arrays [lanes]
        Air temperature [degC]; irradiance in the plane were it clear [W/m2].
    slides_at, melt : float32
        From `sliding_irradiance` and `melting`.
    """
    for lane in range(cover.size):
        one = cover[lane] - (slide if air[lane] * slides_at > -poa[lane] else ZERO)
        one = one - (air[lane] * melt if air[lane] > ZERO else ZERO)
        one = one if one > ZERO else ZERO
        fell = (odds[lane] < catch) & (hour[lane] == now)
        cover[lane] = ONE if fell else one


@shared_part
def bare(cover, poa):
    """Take the light from arrays that snow lies on; `poa` is renewed."""
    for lane in range(cover.size):
        poa[lane] = ZERO if cover[lane] > ZERO else poa[lane]
