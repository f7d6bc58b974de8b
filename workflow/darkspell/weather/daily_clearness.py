"""Daily clearness: monthly distributions connected by day-to-day persistence.

A latent Gaussian series ``z = sqrt(1 - v) (sqrt(1 - w) f + sqrt(w) s) + sqrt(v) a`` is mapped to the month's
quantiles of clearness. The fast and slow components f and s are first-order autoregressive by day, with the
coefficients of the month; the annual component a is constant within a member's year. Each parameter draw samples the
uncertainty of the climate source: annual and monthly means, width of the distributions, persistence. Means and widths
act in logit space below a ceiling, so values stay within their limits.
"""

from functools import cache
from typing import NamedTuple

import numpy as np

from darkspell.climate.distribution import expit
from darkspell.climate.site_climate import quantile_weights
from darkspell.core.calendar import DAYS
from darkspell.core.constants import constant
from darkspell.core.jit import kernel
from darkspell.core.keyed_random import normal_table, normals_of_members, quick_normals, stream_key
from darkspell.weather.monthly_interpolation import (
    SCORE_END,
    SCORE_STEP,
    cached_on,
    interpolated_months,
    logits,
)

LOGIT_END, LOGIT_STEPS = 14.0, 4096
SHIFTS, WIDTHS = np.linspace(-3.0, 3.0, 121), 9
WIDEST = 3.0  # standard deviations of the uncertainties that act as factors
MOST_SLOW = 0.45  # largest share of the slow component
STREAMS = ("sky/daily-fast", "sky/daily-slow", "sky/temperature")


class Persistence(NamedTuple):
    """Components of the latent series of each member, as the compiled loop reads them.

    Parameters
    ----------
    fast_phi : float64 array [members, 12]
        Lag-1 autocorrelation of the fast component [-].
    slow_weight : float64 array [members, 12]
        Share of the slow component in the variance of both [-].
    annual : float64 array [members]
        Annual component, constant within the year [-].
    daily_variance : float
        Variance of the fast and slow components together [-].
    """

    fast_phi: np.ndarray
    slow_weight: np.ndarray
    annual: np.ndarray
    daily_variance: float


def daily_latent_and_clearness(climate, calendar, members, parameter_draw, seed):
    """Daily clearness of each member, and the latent series behind it.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate
    calendar : darkspell.core.calendar.Calendar
    members : int array [members]
        Member numbers, which key the random series.
    parameter_draw : int array [members]
        Parameter draw of each member.
    seed : int

    Returns
    -------
    latent, kt : float64 arrays [members, 365]
        Standard normal series, and daily clearness by study day [-].
    """
    members, parameter_draw = np.asarray(members, np.int64), np.asarray(parameter_draw, np.int64)
    factor, width, lag, slow = uncertainty_draws(climate, members, parameter_draw, seed)
    months, shift = interpolated_months(climate, calendar), monthly_shifts(climate, factor, width)
    low, high = constant("climate", "fast_phi_bounds")
    fast = np.clip(climate.fast_phi + lag[:, None], low, high)
    weight = np.clip(climate.slow_weight * slow[:, None], 0.0, MOST_SLOW)
    annual = normals_of_members(stream_key(seed, "sky/annual"), members, 1)[:, 0]
    annual = np.sqrt(climate.annual_weight) * annual
    keys = [stream_key(seed, name) for name in STREAMS[:2]]
    month = np.asarray(calendar.month_of_day, np.int64)
    persistence = Persistence(fast, weight, annual, 1.0 - climate.annual_weight)
    return _draw(members, *keys, normal_table(), month, months, persistence, width, shift, expit_table())


def daily_clearness(climate, calendar, members, parameter_draw, seed):
    """Daily clearness of each member.

    Parameters
    ----------
    climate, calendar, members, parameter_draw, seed
        As `daily_latent_and_clearness`.

    Returns
    -------
    float64 array [members, 365]
        Daily clearness by study day [-].
    """
    return daily_latent_and_clearness(climate, calendar, members, parameter_draw, seed)[1]


def uncertainty_draws(climate, members, parameter_draw, seed):
    """Sampled uncertainty of a climate.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate
    members, parameter_draw : int64 arrays [members]
    seed : int

    Returns
    -------
    factor : float64 array [members, 12]
        Factor on the mean clearness of each calendar month.
    width, lag, slow : float64 arrays [members]
        Factor on the width in logit space; addition to the lag-1 autocorrelation of the fast component; factor
        on the variance of the slow component.
    """
    draw_key, year_key = stream_key(seed, "sky/world"), stream_key(seed, "sky/year")
    drawn = normals_of_members(draw_key, parameter_draw, 16)
    log = climate.annual_mean_sd * drawn[:, :1] + climate.monthly_mean_sd * drawn[:, 1:13]
    if climate.interannual_sd > 0.0:
        log = log + climate.interannual_sd * normals_of_members(year_key, members, 12)
    width = np.exp(climate.width_sd * np.clip(drawn[:, 13], -WIDEST, WIDEST))
    slow = np.exp(climate.slow_sd * np.clip(drawn[:, 15], -WIDEST, WIDEST))
    return np.exp(log), width, climate.lag_one_sd * drawn[:, 14], slow


def monthly_shifts(climate, factor, width):
    """Shift in logit space that multiplies each month's mean by a factor, at a given width.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate
    factor : float array [members, 12]
        Factor on the monthly mean [-].
    width : float array [members]
        Factor on the width in logit space [-].

    Returns
    -------
    float64 array [members, 12]
    """
    widths, table = _means(climate)
    position = np.zeros_like(width)
    if climate.width_sd > 0.0:
        ends = np.log(widths[[0, -1]])
        position = (np.log(width) - ends[0]) / (ends[1] - ends[0]) * (WIDTHS - 1)
    return _shift(factor, np.clip(position, 0.0, WIDTHS - 1.001), table, SHIFTS)


@kernel
def _shift(factor, position, table, shifts):
    """Find the shift for each month by bisection in a table of means, interpolated between two widths.

    Parameters
    ----------
    factor : float64 array [members, 12]
    position : float64 array [members]
        Position of the width on the first axis of `table`.
    table : float64 array [widths, 12, shifts]
        Mean clearness [-]; ascending along the last axis.
    shifts : float64 array [shifts]

    Returns
    -------
    float64 array [members, 12]
    """
    out = np.empty_like(factor)
    middle, centre = table.shape[0] // 2, shifts.size // 2
    for row in range(factor.shape[0]):
        k = int(position[row])
        share = position[row] - k
        for month in range(12):
            wanted = factor[row, month] * table[middle, month, centre]
            low, high = 0, shifts.size - 1
            while high - low > 1:
                half = (low + high) // 2
                mean = table[k, month, half] + share * (table[k + 1, month, half] - table[k, month, half])
                if mean < wanted:
                    low = half
                else:
                    high = half
            before = table[k, month, low] + share * (table[k + 1, month, low] - table[k, month, low])
            after = table[k, month, high] + share * (table[k + 1, month, high] - table[k, month, high])
            part = min(max((wanted - before) / (after - before), 0.0), 1.0)
            out[row, month] = shifts[low] + part * (shifts[high] - shifts[low])
    return out


def latent_of(climate, calendar, kt):
    """Normal scores of days of known clearness within their months.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate
    calendar : darkspell.core.calendar.Calendar
    kt : float array [members, 365]
        Daily clearness by study day [-].

    Returns
    -------
    float64 array [members, 365]
    """
    from scipy.special import ndtri

    latent = np.empty_like(kt)
    for month in range(12):
        days = np.flatnonzero(calendar.month_of_day == month)
        latent[:, days] = ndtri(np.interp(kt[:, days], climate.kt_quantiles[month], climate.probabilities))
    return np.round(latent, 6)


@kernel
def _draw(members, fast_key, slow_key, table, month, months, persistence, width, shift, expits):
    """Draw the latent series of each member and map it to clearness.

    ``f[d] = phi f[d-1] + sqrt(1 - phi^2) e[d]``, the same for the slow component;
    ``z = sqrt(1 - v) (sqrt(1 - w) f + sqrt(w) s) + annual``;
    ``y = median + width * (scores(z) - median) + shift``; ``kt = ceiling / (1 + exp(-y))``.

    Parameters
    ----------
    members : int64 array [members]
    fast_key, slow_key : uint64
        Keys of the two random streams.
    table : float64 array
        From `darkspell.core.keyed_random.normal_table`.
    month : int64 array [365]
        Calendar month of each study day, 0-11.
    months : darkspell.weather.monthly_interpolation.MonthlyInterpolation
    persistence : Persistence
    width : float64 array [members]
        Factor on the width in logit space [-].
    shift : float64 array [members, 12]
        Added in logit space [-].
    expits : float64 array
        From `expit_table`.

    Returns
    -------
    latent, kt : float64 arrays [members, 365]
    """
    latent, kt = np.empty((members.size, DAYS)), np.empty((members.size, DAYS))
    first, second = np.empty(DAYS), np.empty(DAYS)
    fast_step, slow_step, fast_share, slow_share = np.empty(12), np.empty(12), np.empty(12), np.empty(12)
    fast_phi, weight, annual, rest = persistence
    per_score, per_logit = 1.0 / SCORE_STEP, (expits.size - 1) / (2.0 * LOGIT_END)
    last, steps = months.scores.shape[1] - 2, expits.size - 1
    for row in range(members.size):
        quick_normals(fast_key, 0, members[row], table, first)
        quick_normals(slow_key, 0, members[row], table, second)
        for m in range(12):
            fast_step[m] = np.sqrt(1.0 - fast_phi[row, m] ** 2)
            slow_step[m] = np.sqrt(1.0 - months.slow_phi[m] ** 2)
            fast_share[m], slow_share[m] = (
                np.sqrt(rest * (1.0 - weight[row, m])),
                np.sqrt(rest * weight[row, m]),
            )
        fast, slow = first[0], second[0]
        for day in range(DAYS):
            m = month[day]
            if day > 0:
                fast = fast_phi[row, m] * fast + fast_step[m] * first[day]
                slow = months.slow_phi[m] * slow + slow_step[m] * second[day]
            z = fast_share[m] * fast + slow_share[m] * slow + annual[row]
            latent[row, day] = z
            at = min(max((z + SCORE_END) * per_score, 0.0), last + 0.999)
            k = int(at)
            y = months.scores[day, k] + (at - k) * (months.scores[day, k + 1] - months.scores[day, k])
            y = months.middle[day] + width[row] * (y - months.middle[day]) + shift[row, m]
            at = min(max((y + LOGIT_END) * per_logit, 0.0), steps - 0.001)
            k = int(at)
            share = expits[k] + (at - k) * (expits[k + 1] - expits[k])
            kt[row, day] = months.ceiling[day] * share
    return latent, kt


def _means(climate):
    """Widths [W], and the mean clearness at each width, month and shift [W, 12, S]."""
    return cached_on(climate, "_means", _make_means)


def _make_means(climate):
    weights, y = quantile_weights(climate.probabilities), logits(climate)
    middle = np.median(y, axis=1, keepdims=True)
    y = y - middle
    spread = max(climate.width_sd, 1e-6) * WIDEST
    widths = np.exp(np.linspace(-spread, spread, WIDTHS))
    wide = widths[:, None, None] * y + middle
    ceiling = np.asarray(climate.kt_ceiling, float)[:, None]
    means = [expit(wide + shift, ceiling) @ weights for shift in SHIFTS]
    return widths, np.round(np.moveaxis(means, 0, -1), 12)


@cache
def expit_table():
    """Logistic function at even steps for linear interpolation, accurate to 1e-6; float64 [4097]."""
    return np.round(1.0 / (1.0 + np.exp(-np.linspace(-LOGIT_END, LOGIT_END, LOGIT_STEPS + 1))), 12)
