"""The random hours of the loads in plain NumPy, one appliance, member and day at a time.

The same draws as `darkspell.loads.hourly_loads`, written out in double precision: a second opinion for tests.

With e the mean energy of a day of use, P the running power, w the length of the window from its start b, and three
numbers u_0, u_1, u_2 of the stream ``loads/<name>`` for the day:

- the appliance is used if u_0 < the chance of use;
- it runs h = h_mean f(u_1) hours, f being the table of `darkspell.loads.random_factors.day_factors` (mean 1);
- its run starts at b + u_2 (w - h) and ends h later, over midnight where the window does;
- an appliance that cycles, or fills its window, draws P h / w through the whole window instead;
- what follows the temperature T draws P min(max((T - T_none) / (T_full - T_none) f(u_1) h_mean / w, 0), 1).

The peak of an hour is all that runs in it, and the largest starting surge of one unit.
"""

import numpy as np

from darkspell.core.calendar import DAYS, HOURS
from darkspell.core.keyed_random import philox, stream_key
from darkspell.loads.hourly_loads import is_even
from darkspell.loads.random_factors import STEPS, day_factors


def hourly_loads(appliances, calendar, members, seed, temp_air=None, room="loads"):
    """Hourly loads without the uncertainty of the whole budget.

    Parameters
    ----------
    appliances : list of darkspell.loads.budget.Appliance
    calendar : darkspell.core.calendar.Calendar
    members : sequence of int
    seed : int
    temp_air : float array [8760, members], optional
        [degC].
    room : str
        First part of the streams' names.

    Returns
    -------
    tuple of float64 arrays [8760, members]
        Essential and deferrable load, peak, the part past the monitor, and uninterruptible load [W], as
        `darkspell.loads.hourly_loads.load_block` returns them.
    """
    tiers = {name: np.zeros((HOURS, len(members))) for name in ("essential", "deferrable", "uninterruptible")}
    running, past, surge = (np.zeros((HOURS, len(members))) for _ in range(3))
    for one in appliances:
        for lane, member in enumerate(members):
            for day in range(DAYS):
                air = None if temp_air is None else temp_air[:, lane]
                hours, mean, power, start = _day(one, calendar, member, day, seed, room, air)
                np.add.at(tiers["essential" if one.tier == "critical" else one.tier][:, lane], hours, mean)
                np.add.at(running[:, lane], hours, power)
                np.add.at(past[:, lane], hours, mean * one.past_monitor)
                np.maximum.at(surge[:, lane], hours, start)
    return tiers["essential"], tiers["deferrable"], running + surge, past, tiers["uninterruptible"]


def _day(one, calendar, member, day, seed, room, air):
    """Hours of the year that one day of an appliance touches; mean power, running power and surge in each [W]."""
    key = stream_key(seed, f"{room}/{one.name}")
    if one.series is not None:
        return _measured(one, calendar, key, member, day)
    clock = np.arange(48)
    hours = (24 * day + clock) % HOURS
    words = philox(key, np.uint64(day), np.uint64(member))[:3]
    use = float(one.use_by_date()[calendar.day_of_year[day] - 1])
    used = use > 0.0 and int(words[0]) < round(one.chance_of_use * 2.0**32)
    power = one.watts * one.count * use * used
    largest = one.window_length / one.hours_per_day if one.hours_per_day else np.inf
    factor = float(day_factors(one.spread, largest)[int(words[1]) * STEPS >> 32])
    run = one.hours_per_day * factor
    begin, end, level = one.window_start_h % 24.0, one.window_start_h % 24.0 + one.window_length, power
    if one.warmth.driven:
        inside = np.clip(air[hours], one.warmth.low, one.warmth.high)
        share = (inside - one.warmth.none) / (one.warmth.full - one.warmth.none) * run / one.window_length
        level = power * np.clip(share, 0.0, 1.0)
    elif is_even(one):
        level = power * run / one.window_length
    else:
        begin += (int(words[2]) >> 8) * 2.0**-24 * max(one.window_length - run, 0.0)
        end = min(begin + run, end)
    mean = np.clip(np.minimum(end, clock + 1) - np.maximum(begin, clock), 0.0, None) * level
    on = mean > 0.0
    return hours, mean, np.where(on, power, 0.0), np.where(on, one.surge, 0.0)


def _measured(one, calendar, key, member, day):
    """As `_day`: a measured year shifted by -2 to 2 weeks, one shift a member; else a drawn day."""
    count = len(one.series)
    if count == DAYS:
        shift = 7 * (int(philox(key, np.uint64(0), np.uint64(member))[0]) % 5 - 2)
        row = (calendar.first_day + day + shift) % DAYS
    else:
        row = int(philox(key, np.uint64(day + 1), np.uint64(member))[0]) % count
    mean = one.series[row].astype(float)
    return 24 * day + np.arange(24), mean, mean, np.maximum(one.surge - mean, 0.0)
