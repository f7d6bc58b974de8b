"""Hourly irradiance within the day: a day's energy distributed over its hours, for all lanes of a block at once.

The clear sky gives the shape of clear days, the extraterrestrial irradiance that of overcast days. First-order
autoregressive hourly noise is added (as Aguiar & Collares-Pereira, Solar Energy 49 (1992) 167-174, do); its
amplitude depends on the day's clear-sky index and is largest on partly cloudy days. The hours are then scaled to the
day's energy, none above a physical limit.
"""

from functools import cache
from typing import NamedTuple

import numpy as np

from darkspell.core.constants import constant
from darkspell.core.jit import part, shared_part
from darkspell.core.keyed_random import philox_lanes

STEPS, HIGHEST_INDEX, LEAST_INDEX = 1024, 1.25, 0.05  # of the table over the clear-sky index
ZERO, ONE, HALF = np.float32(0.0), np.float32(1.0), np.float32(0.5)
# Sum of four uniform half-bytes minus its mean, over its standard deviation: nearly normal, ends at 3.25.
SUM_MEAN, SUM_SCALE = np.float32(30.0), np.float32(1.0 / np.sqrt(4.0 * (16.0**2 - 1.0) / 12.0))
HALF_BYTES, BYTES, LOWER = np.uint32(0x0F0F0F0F), np.uint32(0x00FF00FF), np.uint32(0xFFFF)
FOUR, EIGHT, SIXTEEN = np.uint32(4), np.uint32(8), np.uint32(16)
LEAST_TOTAL, LEAST_ROOM = np.float32(1e-6), np.float32(1e-6)


class Noise(NamedTuple):
    """Numbers of the hourly model in the form that the compiled loop reads.

    Parameters
    ----------
    by_index : float32 array [4, STEPS + 1]
        At even steps of the day's clear-sky index, 0 to `HIGHEST_INDEX`: standard deviation of the relative noise,
        its lag-1 autocorrelation phi, innovation ``sqrt(1 - phi^2)``, weight of the clear sky's shape [-].
    over_clear : float32
        Limit of an hour's irradiance over the clear sky [-].
    ceiling : float32
        Limit of an hour's clearness [-].
    least_shape : float32
        Least clear-sky clearness that shapes an hour [-].
    least_share : float32
        Least factor of the noise [-].
    """

    by_index: np.ndarray
    over_clear: np.float32
    ceiling: np.float32
    least_shape: np.float32
    least_share: np.float32


@cache
def noise_numbers():
    """Constants and tables of the hourly model, as `Noise`."""
    index = np.arange(STEPS + 1) / STEPS * HIGHEST_INDEX
    amplitude, phi, clear_share = noise_of_day(index)
    rows = np.round([amplitude, phi, np.sqrt(1.0 - phi**2), clear_share], 7).astype(np.float32)
    names = ("hourly_over_clear", "hourly_ceiling", "noise_height_floor", "noise_floor")
    return Noise(rows, *(np.float32(constant("weather", name)) for name in names))


def noise_of_day(index):
    """Parameters of the hourly noise by the day's clear-sky index.

    Parameters
    ----------
    index : float array [...]
        Day's irradiation over that of the clear sky [-].

    Returns
    -------
    amplitude, phi, clear_share : float64 arrays [...]
        Standard deviation of the noise over the day's mean, lag-1 autocorrelation, weight of the clear sky's shape
        against the extraterrestrial one [-].
    """
    points, spread = constant("weather", "noise_spread_at"), constant("weather", "noise_spread")
    amplitude = np.interp(index, points, spread) / np.maximum(index, LEAST_INDEX)
    start, end = constant("weather", "clear_shape")
    clear_share = np.clip((index - start) / (end - start), 0.0, 1.0)
    return amplitude, np.full_like(amplitude, constant("weather", "noise_phi")), clear_share


@shared_part
def near_normals(key, index, members, lit, out):
    """Nearly normal numbers for each hour and lane: sums of four half-bytes, for noise whose tail is unimportant.

    Parameters
    ----------
    key : numpy.uint64
        Key of the random stream.
    index : int
        First draw index; three are used, for eight hours each.
    members : int array [lanes]
    lit : bool array [24]
        Hours that are needed.
    out : float32 array [24, lanes], written
    """
    words = np.empty((4, members.size), np.uint32)
    for block in range(3):
        first = 8 * block
        if not lit[first : first + 8].any():
            continue
        philox_lanes(key, index + block, members, words)
        for word in range(4):
            _two_sums(words[word], out[first + 2 * word], out[first + 2 * word + 1])


@part
def _two_sums(words, low, high):
    """Standardized sums of the half-bytes of each half of each word."""
    for lane in range(words.size):
        word = words[lane]
        pairs = (word & HALF_BYTES) + ((word >> FOUR) & HALF_BYTES)
        fours = (pairs & BYTES) + ((pairs >> EIGHT) & BYTES)
        low[lane] = (np.float32(np.int32(fours & LOWER)) - SUM_MEAN) * SUM_SCALE
        high[lane] = (np.float32(np.int32(fours >> SIXTEEN)) - SUM_MEAN) * SUM_SCALE


@shared_part
def spread_day(energy, clear, extra, noise, state, numbers, ghi):
    """Hourly global irradiance of one day in every lane.

    ``g = (e + c (u - e)) max(1 + s n, least)``, scaled to the day's energy: e and u are the extraterrestrial and the
    clear-sky irradiance over their sums of the day, ``n[h] = phi n[h-1] + sqrt(1 - phi^2) noise[h]``; c, s and phi
    depend on the day's clear-sky index.

    Parameters
    ----------
    energy : float32 array [lanes]
        The day's global irradiation [Wh/m2].
    clear, extra : float32 arrays [24]
        Clear-sky and extraterrestrial horizontal irradiance [W/m2].
    noise : float32 array [24, lanes]
        Standard normal numbers.
    state : float32 array [lanes], renewed
        Hourly noise at the end of the previous day, then at the end of this day.
    numbers : Noise
    ghi : float32 array [24, lanes], written
        Global irradiance [W/m2]; sums to `energy` (within float32) unless that exceeds the limits.
    """
    lanes = state.size
    amplitude, phi, innovation, share = (
        np.empty(lanes, np.float32),
        np.empty(lanes, np.float32),
        np.empty(lanes, np.float32),
        np.empty(lanes, np.float32),
    )
    total, clear_sum, extra_sum = np.zeros(lanes, np.float32), ZERO, ZERO
    for hour in range(24):
        if extra[hour] > ZERO:
            clear_sum += max(clear[hour], numbers.least_shape * extra[hour])
            extra_sum += extra[hour]
    if extra_sum <= ZERO:
        return
    per_clear, per_extra = ONE / clear_sum, ONE / extra_sum
    per_step = np.float32(STEPS / HIGHEST_INDEX) * per_clear
    for lane in range(lanes):
        at = min(max(int(energy[lane] * per_step + HALF), 0), STEPS)
        amplitude[lane], phi[lane] = numbers.by_index[0, at], numbers.by_index[1, at]
        innovation[lane], share[lane] = numbers.by_index[2, at], numbers.by_index[3, at]
    for hour in range(24):
        if extra[hour] <= ZERO:
            continue
        dull = extra[hour] * per_extra
        difference = max(clear[hour], numbers.least_shape * extra[hour]) * per_clear - dull
        for lane in range(lanes):
            deviation = phi[lane] * state[lane] + innovation[lane] * noise[hour, lane]
            state[lane] = deviation
            factor = ONE + amplitude[lane] * deviation
            factor = factor if factor > numbers.least_share else numbers.least_share
            light = (dull + share[lane] * difference) * factor
            ghi[hour, lane] = light
            total[lane] += light
    _fit_energy(energy, total, clear, extra, numbers, ghi)


@part
def _fit_energy(energy, total, clear, extra, numbers, ghi):
    """Scale the hours to the day's energy; energy above a limit goes to hours below theirs."""
    lanes = total.size
    scale, missing, room = np.empty(lanes, np.float32), energy.copy(), np.zeros(lanes, np.float32)
    for lane in range(lanes):
        scale[lane] = energy[lane] / total[lane] if total[lane] > LEAST_TOTAL else ZERO
    for hour in range(24):
        if extra[hour] <= ZERO:
            continue
        limit = min(max(numbers.over_clear * clear[hour], numbers.ceiling * extra[hour]), extra[hour])
        for lane in range(lanes):
            scaled = ghi[hour, lane] * scale[lane]
            scaled = scaled if scaled < limit else limit
            ghi[hour, lane] = scaled
            missing[lane] -= scaled
            room[lane] += limit - scaled
    for lane in range(lanes):
        share = missing[lane] / room[lane] if room[lane] > LEAST_ROOM and missing[lane] > ZERO else ZERO
        scale[lane] = share if share < ONE else ONE
    for hour in range(24):
        if extra[hour] <= ZERO:
            continue
        limit = min(max(numbers.over_clear * clear[hour], numbers.ceiling * extra[hour]), extra[hour])
        for lane in range(lanes):
            ghi[hour, lane] += scale[lane] * (limit - ghi[hour, lane])
