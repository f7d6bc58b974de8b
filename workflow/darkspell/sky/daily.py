"""Daily clearness: monthly distributions joined by a persistence with a fast and a slow part.

A latent Gaussian series ``sqrt(w_fast) f + sqrt(w_slow) s``, both parts first-order autoregressive by
the day, is turned into probabilities and these into the month's quantiles of clearness. The monthly
mean of a member carries two more factors: the doubt about the climate source (one draw a world) and
the year-to-year spread (one draw a member and month). Both move the distribution in logit space below
a ceiling, so that the shape keeps its limits.
"""

import numpy as np
from numba import njit

from darkspell.calendar import DAYS
from darkspell.climate.model import quantile_weights
from darkspell.constants import constant
from darkspell.draws import normals, stream_key

SHIFTS = np.linspace(-3.0, 3.0, 121)


def daily_clearness(climate, calendar, members, world, seed):
    """Clearness of each day of each member.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate
    calendar : darkspell.calendar.Calendar
    members, world : int arrays [members]
        Member numbers, which key the draws, and the world of each.
    seed : int

    Returns
    -------
    float64 array [members, 365]
        Daily clearness kt by study day, rounded to 1e-6.
    """
    from scipy.special import ndtr

    latent = latent_series(climate, members, seed)
    probability = ndtr(latent)
    ceiling = constant("sky", "clearness_ceiling")
    table = logit(np.clip(climate.kt_quantiles, 1e-4, None), ceiling)
    shift = monthly_shifts(climate, table, ceiling, members, world, seed)
    kt = np.empty((len(members), DAYS))
    for month in range(12):
        days = np.flatnonzero(calendar.month_of_day == month)
        y = np.interp(probability[:, days], climate.probabilities, table[month])
        kt[:, days] = expit(y + shift[:, month, None], ceiling)
    return np.round(kt, 6)


def latent_series(climate, members, seed):
    """Latent standard-normal series of each member; float64 [members, 365]."""
    fast, slow = stream_key(seed, "sky/daily-fast"), stream_key(seed, "sky/daily-slow")
    return _latent(
        np.asarray(members, np.int64),
        fast,
        slow,
        climate.fast_phi,
        np.sqrt(climate.fast_weight),
        climate.slow_phi,
        np.sqrt(climate.slow_weight),
    )


@njit(cache=True, nogil=True, error_model="numpy")
def _latent(members, fast_key, slow_key, fast_phi, fast_share, slow_phi, slow_share):
    out = np.empty((members.size, DAYS))
    fast_step, slow_step = np.sqrt(1.0 - fast_phi**2), np.sqrt(1.0 - slow_phi**2)
    for row in range(members.size):
        e, g = normals(fast_key, members[row], DAYS), normals(slow_key, members[row], DAYS)
        fast, slow = e[0], g[0]
        for day in range(DAYS):
            if day > 0:
                fast = fast_phi * fast + fast_step * e[day]
                slow = slow_phi * slow + slow_step * g[day]
            out[row, day] = fast_share * fast + slow_share * slow
    return out


def monthly_shifts(climate, table, ceiling, members, world, seed):
    """Shift in logit space of each member's months; float64 [members, 12], by calendar month."""
    members, world = np.asarray(members), np.asarray(world)
    doubt_key, year_key = stream_key(seed, "sky/world"), stream_key(seed, "sky/year")
    doubt = np.array([normals(doubt_key, w, 1)[0] for w in world])
    years = np.array([normals(year_key, m, 12) for m in members])
    factor = np.exp(climate.world_sd * doubt[:, None] + climate.year_sd * years)
    weights = quantile_weights(climate.probabilities)
    shift = np.empty_like(factor)
    for month in range(12):
        means = expit(table[month] + SHIFTS[:, None], ceiling) @ weights
        base = np.interp(0.0, SHIFTS, means)
        shift[:, month] = np.interp(factor[:, month] * base, means, SHIFTS)
    return shift


def logit(kt, ceiling):
    """Logit of clearness below a ceiling; values at or above it are taken just below."""
    x = np.minimum(kt / ceiling, 1.0 - 1e-6)
    return np.log(x / (1.0 - x))


def expit(y, ceiling):
    """Inverse of `logit`."""
    return ceiling / (1.0 + np.exp(-y))
