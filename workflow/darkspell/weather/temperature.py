"""Air temperature: monthly means, persistent daily deviations correlated with clearness, daily course."""

import numpy as np

from darkspell.core.calendar import DAYS, MONTH_LENGTHS
from darkspell.core.constants import constant
from darkspell.core.jit import kernel
from darkspell.core.keyed_random import normal_table, quick_normals, stream_key

LEAST_KT = 0.05  # months of polar night have no clearness


def daily_means(climate, calendar, members, seed, latent):
    """Daily mean air temperature of each member.

    ``T = mean + sd (r z + sqrt(1 - r^2) u)``: z is the latent series of clearness, u a first-order autoregressive
    series. The correlation r is that of the climate: positive in warm months, negative in the winters of plains.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate
    calendar : darkspell.core.calendar.Calendar
    members : int array [members]
    seed : int
    latent : float64 array [members, 365]
        Standard normal series behind the clearness.

    Returns
    -------
    float64 array [members, 365]
        By study day [degC].
    """
    return _persistent(
        np.asarray(members, np.int64),
        stream_key(seed, "sky/temperature"),
        normal_table(),
        constant("weather", "temperature_phi"),
        latent,
        by_day(climate.temp_air_mean, calendar),
        by_day(climate.temp_air_sd, calendar),
        by_day(climate.temp_air_with_sun, calendar),
    )


def daily_range(climate, calendar, kt):
    """Daily range of air temperature, larger on clear days.

    ``range = monthly range * (d + (1 - d) kt / monthly kt)``, with ``d = range_dull``.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate
    calendar : darkspell.core.calendar.Calendar
    kt : float array [members, 365]
        Daily clearness [-].

    Returns
    -------
    float64 array [members, 365]
        [K].
    """
    dull = constant("weather", "range_dull")
    typical = np.maximum(climate.monthly_kt()[calendar.month_of_day], LEAST_KT)
    relative = np.minimum(kt * (1.0 / typical), 2.0)
    return by_day(climate.temp_air_range, calendar) * (dull + (1.0 - dull) * relative)


def daily_swing():
    """Normalized daily course of temperature: +1 at the warmest hour, -1 twelve hours later; float64 [24]."""
    hour = np.arange(24) + 0.5
    return np.round(np.cos(2.0 * np.pi * (hour - constant("weather", "warmest_hour")) / 24.0), 9)


@kernel
def _persistent(members, key, table, phi, latent, mean, spread, with_sun):
    """Daily mean temperature of each member [degC]; float64 [members, 365].

    Parameters
    ----------
    members : int64 array [members]
    key : uint64
        Key of the random stream.
    table : float64 array
        From `darkspell.core.keyed_random.normal_table`.
    phi : float
        Lag-1 autocorrelation of the temperature's own series [-].
    latent : float64 array [members, 365]
        Latent series of clearness.
    mean, spread : float64 arrays [365]
        Mean [degC] and standard deviation [K] by study day.
    with_sun : float64 array [365]
        Correlation with the latent series by study day [-].
    """
    out, draws = np.empty((members.size, DAYS)), np.empty(DAYS)
    innovation = np.sqrt(1.0 - phi * phi)
    own = np.sqrt(1.0 - with_sun * with_sun)
    for row in range(members.size):
        quick_normals(key, 0, members[row], table, draws)
        state = draws[0]
        for day in range(DAYS):
            state = phi * state + innovation * draws[day] if day > 0 else state
            out[row, day] = mean[day] + spread[day] * (with_sun[day] * latent[row, day] + own[day] * state)
    return out


def by_day(monthly, calendar):
    """Monthly values interpolated linearly between the middles of the months.

    Parameters
    ----------
    monthly : float array [12]
        January first.
    calendar : darkspell.core.calendar.Calendar

    Returns
    -------
    float64 array [365]
        By study day.
    """
    middles = np.cumsum(MONTH_LENGTHS) - MONTH_LENGTHS / 2.0
    days = calendar.day_of_year - 0.5
    return np.round(np.interp(days, middles, np.asarray(monthly, float), period=DAYS), 6)
