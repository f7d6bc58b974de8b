"""Days: clearness from monthly distributions joined by persistence, and the temperatures that go with it.

A latent Gaussian series ``sqrt(1 - w) f + sqrt(w) s``, a fast and a slow part, both first-order
autoregressive by the day with the coefficients of the month, is turned into the month's quantiles of
clearness. A parameter draw draws its doubt about the climate source: mean of the year and of each month, width of the
distributions, persistence. A member draws how its months differ from year to year. Means and widths move the
distributions in logit space below a ceiling, so that they keep their limits.
"""

from functools import cache

import numpy as np

from darkspell.climate.site_climate import quantile_weights
from darkspell.core.calendar import DAYS
from darkspell.core.constants import constant
from darkspell.core.jit import kernel
from darkspell.core.keyed_random import normal_table, normals_of_members, quick_normals, stream_key
from darkspell.weather.monthly_interpolation import (
    SCORE_END,
    SCORE_STEP,
    ceiling,
    expit,
    kept,
    logits,
    months_of,
)

LOGIT_END, LOGIT_STEPS = 14.0, 4096
SHIFTS, WIDTHS = np.linspace(-3.0, 3.0, 121), 9
WIDEST = 3.0  # standard deviations of the doubt about the width
STREAMS = ("sky/daily-fast", "sky/daily-slow", "sky/temperature")


def daily_latent_and_clearness(climate, calendar, members, parameter_draw, seed):
    """Clearness and the latent series of each day of each member.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate
    calendar : darkspell.core.calendar.Calendar
    members, parameter draw : int arrays [members]
        Member numbers, which key the draws, and the parameter draw of each.
    seed : int

    Returns
    -------
    latent, kt : float64 arrays [members, 365]
        Standard normal series, and daily clearness by study day [-].
    """
    members, parameter_draw = np.asarray(members, np.int64), np.asarray(parameter_draw, np.int64)
    factor, width, lag = doubts(climate, members, parameter_draw, seed)
    months, shift = months_of(climate, calendar), monthly_shifts(climate, factor, width)
    low, high = constant("climate", "fast_phi_bounds")
    fast = np.clip(climate.fast_phi + lag[:, None], low, high)
    keys = [stream_key(seed, name) for name in STREAMS[:2]]
    month = np.asarray(calendar.month_of_day, np.int64)
    return _draw(members, *keys, normal_table(), month, months, fast, width, shift, expit_table(), ceiling())


def daily_clearness(climate, calendar, members, parameter_draw, seed):
    """Clearness alone; see `daily_latent_and_clearness`."""
    return daily_latent_and_clearness(climate, calendar, members, parameter_draw, seed)[1]


def doubts(climate, members, parameter_draw, seed):
    """What parameter draws and members draw of the doubt about a climate.

    Returns
    -------
    factor : float64 array [members, 12]
        On the mean clearness of each calendar month.
    width, lag : float64 arrays [members]
        Factor on the width in logit space; what is added to the fast part's lag-1 autocorrelation.
    """
    world_key, year_key = stream_key(seed, "sky/world"), stream_key(seed, "sky/year")
    drawn = normals_of_members(world_key, parameter_draw, 15)
    log = climate.level_sd * drawn[:, :1] + climate.month_sd * drawn[:, 1:13]
    if climate.year_sd > 0.0:
        log = log + climate.year_sd * normals_of_members(year_key, members, 12)
    width = np.exp(climate.width_sd * np.clip(drawn[:, 13], -WIDEST, WIDEST))
    return np.exp(log), width, climate.lag_sd * drawn[:, 14]


def monthly_shifts(climate, factor, width):
    """Shift in logit space that gives each month its mean times a factor, at its width; float64 [members, 12].

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate
    factor : float array [members, 12]
    width : float array [members]
    """
    widths, table = _means(climate)
    place = np.zeros_like(width)
    if climate.width_sd > 0.0:
        ends = np.log(widths[[0, -1]])
        place = (np.log(width) - ends[0]) / (ends[1] - ends[0]) * (WIDTHS - 1)
    return _shift(factor, np.clip(place, 0.0, WIDTHS - 1.001), table, SHIFTS)


@kernel
def _shift(factor, place, table, shifts):
    """Search the means, rising with the shift, between two widths; float64 [members, 12]."""
    out = np.empty_like(factor)
    middle, centre = table.shape[0] // 2, shifts.size // 2
    for row in range(factor.shape[0]):
        k = int(place[row])
        share = place[row] - k
        for month in range(12):
            wanted = factor[row, month] * table[middle, month, centre]
            low, high = 0, shifts.size - 1
            while high - low > 1:
                half = (low + high) // 2
                one = table[k, month, half] + share * (table[k + 1, month, half] - table[k, month, half])
                if one < wanted:
                    low = half
                else:
                    high = half
            before = table[k, month, low] + share * (table[k + 1, month, low] - table[k, month, low])
            after = table[k, month, high] + share * (table[k + 1, month, high] - table[k, month, high])
            part = min(max((wanted - before) / (after - before), 0.0), 1.0)
            out[row, month] = shifts[low] + part * (shifts[high] - shifts[low])
    return out


def latent_of(climate, calendar, kt):
    """Normal scores of days of known clearness within their months; float64 [members, 365].

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate
    calendar : darkspell.core.calendar.Calendar
    kt : float array [members, 365]
        Daily clearness by study day [-].
    """
    from scipy.special import ndtri

    latent = np.empty_like(kt)
    for month in range(12):
        days = np.flatnonzero(calendar.month_of_day == month)
        latent[:, days] = ndtri(np.interp(kt[:, days], climate.kt_quantiles[month], climate.probabilities))
    return np.round(latent, 6)


@kernel
def _draw(members, fast_key, slow_key, table, month, months, fast_phi, width, shift, expits, ceiling):
    latent, kt = np.empty((members.size, DAYS)), np.empty((members.size, DAYS))
    first, second = np.empty(DAYS), np.empty(DAYS)
    fast_step, slow_step, fast_share, slow_share = np.empty(12), np.empty(12), np.empty(12), np.empty(12)
    per_score, per_logit = 1.0 / SCORE_STEP, (expits.size - 1) / (2.0 * LOGIT_END)
    last, steps = months.scores.shape[1] - 2, expits.size - 1
    for row in range(members.size):
        quick_normals(fast_key, 0, members[row], table, first)
        quick_normals(slow_key, 0, members[row], table, second)
        for m in range(12):
            fast_step[m] = np.sqrt(1.0 - fast_phi[row, m] ** 2)
            slow_step[m] = np.sqrt(1.0 - months.slow_phi[m] ** 2)
            fast_share[m], slow_share[m] = (
                np.sqrt(1.0 - months.slow_weight[m]),
                np.sqrt(months.slow_weight[m]),
            )
        fast, slow = first[0], second[0]
        for day in range(DAYS):
            m = month[day]
            if day > 0:
                fast = fast_phi[row, m] * fast + fast_step[m] * first[day]
                slow = months.slow_phi[m] * slow + slow_step[m] * second[day]
            z = fast_share[m] * fast + slow_share[m] * slow
            latent[row, day] = z
            place = min(max((z + SCORE_END) * per_score, 0.0), last + 0.999)
            k = int(place)
            y = months.scores[day, k] + (place - k) * (months.scores[day, k + 1] - months.scores[day, k])
            y = months.middle[day] + width[row] * (y - months.middle[day]) + shift[row, m]
            place = min(max((y + LOGIT_END) * per_logit, 0.0), steps - 0.001)
            k = int(place)
            share = expits[k] + (place - k) * (expits[k + 1] - expits[k])
            kt[row, day] = ceiling * share
    return latent, kt


def _means(climate):
    """Widths, and the mean clearness at each width, month and shift; [W], [W, 12, S]."""
    return kept(climate, "_means", _make_means)


def _make_means(climate):
    weights, y = quantile_weights(climate.probabilities), logits(climate)
    middle = np.median(y, axis=1, keepdims=True)
    y = y - middle
    spread = max(climate.width_sd, 1e-6) * WIDEST
    widths = np.exp(np.linspace(-spread, spread, WIDTHS))
    wide = widths[:, None, None] * y + middle
    means = [expit(wide + shift, ceiling()) @ weights for shift in SHIFTS]
    return widths, np.round(np.moveaxis(means, 0, -1), 12)


@cache
def expit_table():
    """Logistic function at even steps, for linear interpolation to 1e-6; float64 [4097]."""
    return np.round(1.0 / (1.0 + np.exp(-np.linspace(-LOGIT_END, LOGIT_END, LOGIT_STEPS + 1))), 12)
