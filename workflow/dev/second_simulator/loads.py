"""A household's load by minute, with a daily course of its own within the windows that the study gives.

Each piece of each appliance runs in spells; when they begin follows the household's own habit: a density over
the day with a morning and an evening maximum, drawn once for a household (daily courses with such maxima:
Widen & Wackelgard, Applied Energy 87 (2010) 1880-1892; widths and heights are our choice).
"""

import numpy as np

COMPRESSOR_MIN = 35.0  # minutes from one start of a compressor to the next, our choice


def habit(rng):
    """Density of activity over the minutes of a day, with mean 1.

    Parameters
    ----------
    rng : numpy.random.Generator

    Returns
    -------
    float64 array [1440]
    """
    hour = np.arange(1440) / 60.0
    morning, evening = rng.normal(7.5, 0.8), rng.normal(19.5, 1.0)
    heights = rng.uniform(0.4, 1.6, 2)
    out = 0.35 + heights[0] * np.exp(-0.5 * ((hour - morning) / 1.4) ** 2)
    out += 1.6 * heights[1] * np.exp(-0.5 * ((hour - evening) / 2.0) ** 2)
    return out / out.mean()


def appliance_power(appliance, months, course, rng):
    """Power of one kind of appliance by minute [W]; float64 [days * 1440].

    Parameters
    ----------
    appliance : dev.second_simulator.system.Appliance
    months : int array [days]
        Month of each day.
    course : float array [1440]
        From `habit`.
    rng : numpy.random.Generator
    """
    days = months.size
    out = np.zeros((days, 1440))
    minute = np.arange(1440)
    begin, end = (60.0 * part for part in appliance.window)
    inside = (minute >= begin) & (minute < end) if begin < end else (minute >= begin) | (minute < end)
    width = int(inside.sum())
    density = np.where(inside, course, 0.0)
    density /= density.sum()
    active = np.isin(months, appliance.months) & (rng.random(days) < appliance.chance)
    wanted = (
        60.0 * appliance.hours / max(appliance.chance, 1e-9)
        if appliance.chance < 1.0
        else 60.0 * appliance.hours
    )
    wanted = 60.0 * appliance.hours
    for day in np.flatnonzero(active):
        sd = appliance.spread
        total = wanted * np.exp(sd * rng.standard_normal() - 0.5 * sd**2)
        if total >= 0.85 * width:
            out[day, inside] += appliance.watts * appliance.count * total / width
        elif appliance.hours >= 5.0 and width >= 1200 and appliance.watts >= 25.0:
            duty, phase = total / width, rng.uniform(0.0, COMPRESSOR_MIN)
            running = ((minute + phase) % COMPRESSOR_MIN) < duty * COMPRESSOR_MIN
            out[day, running & inside] += appliance.watts * appliance.count
        else:
            for _ in range(appliance.count):
                _spells(out[day], total, appliance.watts, density, inside, rng)
    return out.ravel()


def _spells(day, total, watts, density, inside, rng):
    """Add spells of one piece until its running time of the day is used."""
    left = total
    while left > 0.5:
        length = min(left, max(3.0, rng.exponential(50.0)))
        start = int(rng.choice(1440, p=density))
        stop = start + int(np.ceil(length))
        share = length / np.ceil(length)
        at = np.arange(start, stop) % 1440
        day[at] += watts * share
        left -= length


def household(system, first, days, scale, extra_share, rng):
    """Load of a household by minute.

    Parameters
    ----------
    system : dev.second_simulator.system.PlainSystem
    first : datetime64[D]
    days : int
    scale : float
        Factor on all powers [-].
    extra_share : float
        Power of an appliance that the study does not know, over the mean of all others; it runs in hours of
        its own.
    rng : numpy.random.Generator

    Returns
    -------
    essential, deferrable, past : float64 arrays [minutes]
        [W]; `past` is the part of `essential` that bypasses the shunt.
    nominal : float64 array [days]
        Energy of each day as the study plans it [Wh].
    """
    import pandas as pd

    months = pd.date_range(pd.Timestamp(first), periods=days).month.to_numpy()
    course = habit(rng)
    essential, deferrable, past = (np.zeros(days * 1440) for _ in range(3))
    nominal = np.full(days, 24.0 * system.standing)
    for appliance in system.appliances:
        own = float(np.exp(0.06 * rng.standard_normal()))  # each appliance differs a little from its label
        power = scale * own * appliance_power(appliance, months, course, rng)
        if appliance.deferrable:
            deferrable += power
        else:
            essential += power
        if appliance.past_shunt:
            past += power
        planned = appliance.watts * appliance.count * appliance.hours * appliance.chance
        nominal += np.where(np.isin(months, appliance.months), planned, 0.0)
    if extra_share > 0.0:
        begin = rng.integers(0, 24)
        length = int(rng.choice([4, 8, 24]))
        hour = (np.arange(days * 1440) // 60) % 24
        on = ((hour - begin) % 24) < length
        essential += on * extra_share * nominal.mean() / 24.0 * 24.0 / length
    return essential + system.standing, deferrable, past, nominal
