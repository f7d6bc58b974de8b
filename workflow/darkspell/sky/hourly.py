"""Clearness within the day: a day's energy spread over its hours.

The clear sky gives the shape; hourly noise of first-order persistence, whose spread depends on the day's
clearness and the sun's height (Aguiar & Collares-Pereira, Solar Energy 49 (1992) 167-174), breaks it
up. The hours are then scaled so that the day's energy is kept exactly, none above a physical limit.
"""

import numpy as np
from numba import njit

from darkspell.constants import constant


def noise_numbers():
    """The hourly model's constants as a tuple of floats for the compiled loop."""
    names = (
        "noise_a", "noise_a_width", "noise_a_centre", "noise_b_square", "noise_b_centre", "noise_b_fifth",
        "noise_phi_mean", "noise_phi_swing", "hourly_over_clear", "hourly_ceiling", "noise_height_floor",
        "noise_floor",
    )  # fmt: skip
    return (*(float(constant("sky", name)) for name in names), float(constant("climate", "solar_constant")))


@njit(nogil=True, error_model="numpy", forceinline=True)
def noise_of_day(kt, numbers):
    """Amplitude, height exponent and persistence of the hourly noise of a day of clearness `kt`."""
    a, width, centre, b_square, b_centre, b_fifth, phi_mean, phi_swing = numbers[:8]
    amplitude = a * np.exp(-width * (kt - centre) ** 2)
    exponent = b_square * (kt - b_centre) ** 2 + b_fifth * kt**5
    return amplitude, exponent, phi_mean + phi_swing * np.cos(7.4 * kt - 2.5)


@njit(nogil=True, error_model="numpy")
def spread_day(energy, kt, clear, extra, noise, state, numbers, ghi):
    """Hourly global irradiance of one day.

    Parameters
    ----------
    energy : float
        The day's global irradiation [Wh/m2].
    kt : float
        The day's clearness.
    clear, extra : float arrays [24]
        Clear-sky and extraterrestrial horizontal irradiance [W/m2].
    noise : float array [24]
        Standard normal numbers.
    state : float
        Hourly noise at the end of the day before.
    numbers : tuple
        From `noise_numbers`.
    ghi : float array [24], written
        Global irradiance [W/m2]; sums to `energy` unless that exceeds what the limits hold.

    Returns
    -------
    float
        Hourly noise at the end of this day.
    """
    amplitude, exponent, phi = noise_of_day(kt, numbers)
    innovation = np.sqrt(1.0 - phi * phi)
    over_clear, ceiling, least_shape, least_share, solar_constant = numbers[8:]
    total = 0.0
    for hour in range(24):
        ghi[hour] = 0.0
        if extra[hour] > 0.0:
            state = phi * state + innovation * noise[hour]
            height = extra[hour] / solar_constant
            sigma = amplitude * np.exp(exponent * (1.0 - height)) / max(kt, least_share)
            shape = max(clear[hour], least_shape * extra[hour])
            ghi[hour] = shape * max(1.0 + sigma * state, least_share)
            total += ghi[hour]
    _fit_energy(energy, total, clear, extra, over_clear, ceiling, ghi)
    return state


@njit(nogil=True, error_model="numpy")
def _fit_energy(energy, total, clear, extra, over_clear, ceiling, ghi):
    """Scale the hours to the day's energy; what a limit cuts off goes to the hours with room left."""
    if total <= 0.0:
        return
    scale = energy / total
    held, room = 0.0, 0.0
    for hour in range(24):
        limit = min(max(over_clear * clear[hour], ceiling * extra[hour]), extra[hour])
        ghi[hour] = min(ghi[hour] * scale, limit)
        held += ghi[hour]
        room += limit - ghi[hour]
    missing = energy - held
    if missing > 1e-9 and room > 0.0:
        share = min(missing / room, 1.0)
        for hour in range(24):
            limit = min(max(over_clear * clear[hour], ceiling * extra[hour]), extra[hour])
            ghi[hour] += share * (limit - ghi[hour])
