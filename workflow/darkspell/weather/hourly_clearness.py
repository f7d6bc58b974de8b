"""Hourly irradiance within the day: a day's energy distributed over its hours, for all lanes of a block at once.

The clear sky gives the shape. First-order autoregressive hourly noise is added; its amplitude depends on the day's
clearness and the solar elevation (Aguiar & Collares-Pereira, Solar Energy 49 (1992) 167-174). The hours are then
scaled to the day's energy, none above a physical limit.
"""

from functools import cache
from typing import NamedTuple

import numpy as np

from darkspell.core.constants import constant
from darkspell.core.jit import part, shared_part
from darkspell.core.keyed_random import philox_lanes

KT_STEPS = 1024
ZERO, ONE, HALF = np.float32(0.0), np.float32(1.0), np.float32(0.5)
# exp(x) as a cubic of x / 32, squared five times: within 0.2 % for the exponents met here (0 to 6).
PART, CUBE = np.float32(1.0 / 32.0), np.float32(1.0 / 6.0)
# Sum of four uniform half-bytes minus its mean, over its standard deviation: nearly normal, ends at 3.25.
SUM_MEAN, SUM_SCALE = np.float32(30.0), np.float32(1.0 / np.sqrt(4.0 * (16.0**2 - 1.0) / 12.0))
HALF_BYTES, BYTES, LOWER = np.uint32(0x0F0F0F0F), np.uint32(0x00FF00FF), np.uint32(0xFFFF)
FOUR, EIGHT, SIXTEEN = np.uint32(4), np.uint32(8), np.uint32(16)
LEAST_TOTAL, LEAST_ROOM = np.float32(1e-6), np.float32(1e-6)


class Noise(NamedTuple):
    """Numbers of the hourly model in the form that the compiled loop reads.

    Parameters
    ----------
    by_kt : float32 array [4, KT_STEPS + 1]
        At even steps of the day's clearness, 0 to 1: amplitude, exponent of elevation, lag-1 autocorrelation phi,
        innovation ``sqrt(1 - phi^2)`` [-].
    over_clear : float32
        Limit of an hour's irradiance over the clear sky [-].
    ceiling : float32
        Limit of an hour's clearness [-].
    least_shape : float32
        Least clear-sky clearness that shapes an hour [-].
    least_share : float32
        Least factor of the noise, and least clearness that scales it [-].
    per_solar_constant : float32
        Inverse solar constant [m2/W].
    """

    by_kt: np.ndarray
    over_clear: np.float32
    ceiling: np.float32
    least_shape: np.float32
    least_share: np.float32
    per_solar_constant: np.float32


@cache
def noise_numbers():
    """Constants and tables of the hourly model, as `Noise`."""
    kt = np.arange(KT_STEPS + 1) / KT_STEPS
    _, exponent, phi = noise_of_day(kt)
    amplitude, phi = (
        noise_of_day(kt - constant("weather", "noise_shift"))[0],
        phi + constant("weather", "noise_phi_more"),
    )
    rows = np.round([amplitude, exponent, phi, np.sqrt(1.0 - phi**2)], 7).astype(np.float32)
    names = ("hourly_over_clear", "hourly_ceiling", "noise_height_floor", "noise_floor")
    return Noise(
        rows,
        *(np.float32(constant("weather", name)) for name in names),
        np.float32(1.0 / constant("climate", "solar_constant")),
    )


def noise_of_day(kt):
    """Parameters of the hourly noise by the day's clearness.

    Aguiar & Collares-Pereira (1992): ``sigma = A exp(B (1 - sin h))``, ``phi = a + b cos(7.4 K - 2.5)``.

    Parameters
    ----------
    kt : float array [...]
        Daily clearness K [-].

    Returns
    -------
    amplitude, exponent, phi : float64 arrays [...]
        A, B and phi [-].
    """

    def number(name):
        return constant("weather", f"noise_{name}")

    amplitude = number("a") * np.exp(-number("a_width") * (kt - number("a_centre")) ** 2)
    exponent = number("b_square") * (kt - number("b_centre")) ** 2 + number("b_fifth") * kt**5
    return amplitude, exponent, number("phi_mean") + number("phi_swing") * np.cos(7.4 * kt - 2.5)


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
def spread_day(energy, kt, clear, extra, noise, state, numbers, ghi):
    """Hourly global irradiance of one day in every lane.

    ``g = shape max(1 + A / K exp(B (1 - sin h)) n, least)`` with ``n[h] = phi n[h-1] + sqrt(1 - phi^2) e[h]``,
    then scaled to the day's energy.

    Parameters
    ----------
    energy : float32 array [lanes]
        The day's global irradiation [Wh/m2].
    kt : float64 array [lanes]
        The day's clearness.
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
    amplitude, exponent, phi = (
        np.empty(lanes, np.float32),
        np.empty(lanes, np.float32),
        np.empty(lanes, np.float32),
    )
    innovation, total = np.empty(lanes, np.float32), np.zeros(lanes, np.float32)
    for lane in range(lanes):
        at = min(max(int(kt[lane] * KT_STEPS + 0.5), 0), KT_STEPS)
        share = max(np.float32(kt[lane]), numbers.least_share)
        amplitude[lane], exponent[lane] = numbers.by_kt[0, at] / share, numbers.by_kt[1, at]
        phi[lane], innovation[lane] = numbers.by_kt[2, at], numbers.by_kt[3, at]
    for hour in range(24):
        if extra[hour] <= ZERO:
            continue
        low = (ONE - extra[hour] * numbers.per_solar_constant) * PART
        shape = max(clear[hour], numbers.least_shape * extra[hour])
        for lane in range(lanes):
            x = exponent[lane] * low
            grown = ONE + x * (ONE + x * (HALF + x * CUBE))
            grown = grown * grown
            grown = grown * grown
            grown = grown * grown
            grown = grown * grown
            grown = grown * grown
            deviation = phi[lane] * state[lane] + innovation[lane] * noise[hour, lane]
            state[lane] = deviation
            share = ONE + amplitude[lane] * grown * deviation
            share = share if share > numbers.least_share else numbers.least_share
            ghi[hour, lane] = shape * share
            total[lane] += shape * share
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
