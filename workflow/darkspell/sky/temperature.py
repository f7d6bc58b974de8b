"""Air temperature that goes with the sky: monthly means, persistent days, a daily swing by clearness."""

import numpy as np
from numba import njit

from darkspell.calendar import DAYS, MONTH_LENGTHS
from darkspell.constants import constant
from darkspell.draws import normals, stream_key

LEAST_KT = 0.05  # months of polar night have no clearness to compare with


def daily_means(climate, calendar, members, seed):
    """Daily mean air temperature of each member [degC]; float64 [members, 365] by study day."""
    key = stream_key(seed, "sky/temperature")
    phi = constant("sky", "temperature_phi")
    spread = _by_day(climate.temp_air_sd, calendar)
    return _by_day(climate.temp_air_mean, calendar) + spread * _persistent(
        np.asarray(members, np.int64), key, phi
    )


def daily_range(climate, calendar, kt):
    """Daily range of air temperature [K], wider on clear days; float64 [members, 365].

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate
    calendar : darkspell.calendar.Calendar
    kt : float array [members, 365]
        Daily clearness.
    """
    dull = constant("sky", "range_dull")
    usual = np.maximum(climate.monthly_kt()[calendar.month_of_day], LEAST_KT)
    relative = np.clip(kt / usual, 0.0, 2.0)
    return _by_day(climate.temp_air_range, calendar) * (dull + (1.0 - dull) * relative)


def daily_swing():
    """Cosine of the daily course, +1 at the warmest hour and -1 twelve hours later; float64 [24]."""
    hour = np.arange(24) + 0.5
    return np.round(np.cos(2.0 * np.pi * (hour - constant("sky", "warmest_hour")) / 24.0), 9)


@njit(cache=True, nogil=True, error_model="numpy")
def _persistent(members, key, phi):
    out = np.empty((members.size, DAYS))
    innovation = np.sqrt(1.0 - phi * phi)
    for row in range(members.size):
        draws = normals(key, members[row], DAYS)
        state = draws[0]
        for day in range(DAYS):
            state = phi * state + innovation * draws[day] if day > 0 else state
            out[row, day] = state
    return out


def _by_day(monthly, calendar):
    """Monthly values [12], January first, drawn through the middles of the months; [365] by study day."""
    middles = np.cumsum(MONTH_LENGTHS) - MONTH_LENGTHS / 2.0
    days = calendar.day_of_year - 0.5
    return np.round(np.interp(days, middles, np.asarray(monthly, float), period=DAYS), 6)
