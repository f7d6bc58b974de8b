"""Another family of loads by minute: thermostats that follow the air, persons with hours of their own, busy days.

All widths are our choice. A study's plan is met on average; single systems differ from it by ordinary scatter.
"""

import numpy as np
import pandas as pd


def other_course(rng):
    """Density of activity over the minutes of a day, mean 1: evening people, day people, or no habit at all."""
    hour = np.arange(1440) / 60.0
    out = np.full(1440, rng.uniform(0.2, 1.0))
    for _ in range(rng.integers(0, 4)):
        middle, width = rng.uniform(6.0, 24.0), rng.uniform(0.7, 4.0)
        away = (hour - middle + 12.0) % 24.0 - 12.0
        out += rng.uniform(0.3, 2.0) * np.exp(-0.5 * (away / width) ** 2)
    return out / out.mean()


def other_household(system, first, days, scale, extra_share, air, rng):
    """Load of a household by minute; results as of `dev.second_simulator.loads.household`.

    Parameters
    ----------
    system, first, days, scale, extra_share
        As for `dev.second_simulator.loads.household`.
    air : float array [days]
        Mean air temperature of each day [degC].
    rng : numpy.random.Generator
    """
    months = pd.date_range(pd.Timestamp(first), periods=days).month.to_numpy()
    course, minute = other_course(rng), np.arange(1440)
    essential, deferrable, past = (np.zeros(days * 1440) for _ in range(3))
    nominal = np.full(days, 24.0 * system.standing)
    busy = _busy_days(days, rng)
    for one in system.appliances:
        begin, end = (60.0 * part for part in one.window)
        inside = (minute >= begin) & (minute < end) if begin < end else (minute >= begin) | (minute < end)
        active = np.isin(months, one.months) & (rng.random(days) < one.chance)
        level = np.full(days, one.hours * 60.0) * np.exp(
            one.spread * rng.standard_normal(days) - 0.5 * one.spread**2
        )
        if one.hours * 60.0 < 0.85 * inside.sum():
            level *= busy
            if one.hours >= 5.0 and inside.sum() >= 1200:  # a compressor: warmer days, longer runs
                level *= np.clip(1.0 + 0.025 * (air - air.mean()), 0.5, 1.6)
        drawn = np.stack([_day(total, inside, course, rng) for total in level]) * active[:, None]
        power = scale * np.exp(0.05 * rng.standard_normal()) * one.watts * one.count * drawn.ravel()
        essential += 0.0 if one.deferrable else power
        deferrable += power if one.deferrable else 0.0
        past += power if one.past_shunt else 0.0
        planned = one.watts * one.count * one.hours * one.chance
        nominal += np.where(np.isin(months, one.months), planned, 0.0)
    if extra_share > 0.0:
        on = (np.arange(days * 1440) // 60 % 24 - rng.integers(0, 24)) % 24 < rng.choice([3, 6, 12, 24])
        essential += on * extra_share * nominal.mean() / 24.0 / max(on.mean(), 1e-9)
    return essential + system.standing, deferrable, past, nominal


def _busy_days(days, rng):
    """Factor of each day on what people use [-]; spells of quiet and busy days, mean about 1."""
    out, level = np.empty(days), 1.0
    for day in range(days):
        if rng.random() < 0.25:
            level = float(rng.choice([0.7, 1.0, 1.0, 1.3]))
        out[day] = level
    return out


def _day(total, inside, course, rng):
    """Minutes of use of one day, as a share of the power [-]; all within the window."""
    count = int(inside.sum())
    if total >= 0.85 * count:
        return inside * (total / count)
    weight = np.where(inside, course, 0.0) * np.exp(0.8 * np.repeat(rng.standard_normal(48), 30))
    rank = rng.random(1440) ** (1.0 / np.maximum(weight, 1e-12))
    spell = np.repeat(rank.reshape(-1, 5).max(1), 5) * inside
    on = np.zeros(1440)
    on[np.argsort(-spell, kind="stable")[: int(np.ceil(total))]] = 1.0
    return on * (total / max(np.ceil(total), 1.0))
