"""Days with snowfall: their probability by clearness and temperature, and the hours that are drawn."""

import numpy as np

from darkspell.core.calendar import DAYS
from darkspell.core.constants import constant
from darkspell.core.jit import kernel, part
from darkspell.core.keyed_random import philox, stream_key

NEVER = np.float32(np.inf)
_UNIT, _HOURS = 2.0**-32, 4096.0


def warmest():
    """Daily mean temperature above which snowfall is not considered [degC]."""
    return constant("weather", "snow", "threshold") + 5.0 * constant("weather", "snow", "threshold_width")


def falling_days(snow, days):
    """Expected days with snowfall of each year.

    Parameters
    ----------
    snow : darkspell.weather.snow.Snow
    days : darkspell.weather.days.Days

    Returns
    -------
    float64 array [lanes]
    """
    site = snow.mean, snow.spread, snow.base, snow.per_sd
    return _probabilities(days.kt, days.temp_air_mean, site, snow.scale, _numbers()).sum(axis=1)


def snowfalls(snow, days, members, seed):
    """Draw days and hours of snowfall.

    Parameters
    ----------
    snow : darkspell.weather.snow.Snow
    days : darkspell.weather.days.Days
    members : int64 array [lanes]
    seed : int

    Returns
    -------
    relative_draw : float32 array [365, lanes]
        Uniform draw over probability: below 1 on days with snowfall, and uniform between 0 and 1 among these.
    hour : int8 array [365, lanes]
        Hour of the snowfall.
    """
    return _falls(
        members, stream_key(seed, "sky/snow"), days.kt, days.temp_air_mean,
        (snow.mean, snow.spread, snow.base, snow.per_sd), snow.scale, _numbers(),
    )  # fmt: skip


def _numbers():
    names = ("per_kt", "most_sd", "threshold", "threshold_width")
    return (
        *(float(constant("weather", "snow", name)) for name in names),
        warmest(),
        float(constant("weather", "snow", "dry_below")),
    )


@part
def _probability(kt, temp, site, day, scale, numbers):
    """Probability of snowfall on one day [-].

    ``scale / (1 + exp(-(base + per_kt kt + per_sd a))) / (1 + exp((T - threshold) / width))``, with
    ``a = min((T - min(mean, dry_below)) / spread, 0)``, not below ``-most_sd``.

    Parameters
    ----------
    kt : float
        Daily clearness [-].
    temp : float
        Daily mean temperature [degC].
    site : tuple of float64 arrays [365]
        Expected temperature [degC], standard deviation [K], base and per_sd [-].
    day : int
        Study day.
    scale : float
        [-].
    numbers : tuple of float
        From `_numbers`.
    """
    per_kt, most_sd, threshold, width, _, dry_below = numbers
    mean, spread, base, per_sd = site[0][day], site[1][day], site[2][day], site[3][day]
    cold = min(max((temp - min(mean, dry_below)) / spread, -most_sd), 0.0)
    dry = np.exp(-(base + per_kt * kt + per_sd * cold))
    rain = np.exp((temp - threshold) / width)
    return min(np.round(scale / ((1.0 + dry) * (1.0 + rain)) * 1048576.0) / 1048576.0, 1.0)


@kernel
def _probabilities(kt, temp, site, scale, numbers):
    """Probability of snowfall on each day; float64 [lanes, 365]. Arguments as `_probability`, by day."""
    out = np.zeros_like(kt)
    for row in range(kt.shape[0]):
        for day in range(DAYS):
            if temp[row, day] < numbers[4]:
                out[row, day] = _probability(kt[row, day], temp[row, day], site, day, scale, numbers)
    return out


@kernel
def _falls(members, key, kt, temp, site, scale, numbers):
    """Draw snowfalls; arguments as `_probability`, by lane and day, returns as `snowfalls`."""
    relative_draw = np.full((DAYS, members.size), NEVER, np.float32)
    hour = np.zeros((DAYS, members.size), np.int8)
    for lane in range(members.size):
        for first in range(0, DAYS, 4):
            last = min(first + 4, DAYS)
            cold = False
            for day in range(first, last):
                cold |= temp[lane, day] < numbers[4]
            if not cold:
                continue
            words = philox(key, first // 4, members[lane])
            for day in range(first, last):
                if temp[lane, day] >= numbers[4]:
                    continue
                chance = _probability(kt[lane, day], temp[lane, day], site, day, scale, numbers)
                drawn = (float(words[day - first]) + 0.5) * _UNIT
                relative_draw[day, lane] = drawn / chance if chance > 0.0 else NEVER
                fine = drawn * _HOURS
                hour[day, lane] = int(24.0 * (fine - np.floor(fine)))
    return relative_draw, hour
