"""Hours of power that chargers other than the array offer at the bank's terminals.

An alternator and a shore line are drawn as appliances are, with a window, a chance of use and a spread, from
streams of their own; a turbine takes its hours from a file, each member one year of it. None of them knows
the weather that the member draws for the array.
"""

import numpy as np

from darkspell.core.calendar import DAYS, HOURS
from darkspell.core.keyed_random import philox, stream_key
from darkspell.loads.hourly_loads import load_block


def aux_block(chargers, calendar, members, parameter_draw, seed):
    """Power on offer from all chargers together.

    Parameters
    ----------
    chargers : dict of Appliance
        From `darkspell.chargers.expected_charge.chargers_from`.
    calendar : darkspell.core.calendar.Calendar
    members, parameter_draw : int arrays [lanes]
    seed : int

    Returns
    -------
    float32 array [8760, lanes] or None
        [W]; None without any charger.
    """
    total = None
    for charger in chargers.values():
        one = charger_block(charger, calendar, members, parameter_draw, seed)
        total = one if total is None else total + one
    return total


def charger_block(charger, calendar, members, parameter_draw, seed):
    """Power on offer from one charger [W].

    Parameters
    ----------
    charger : Appliance
        From `darkspell.chargers.expected_charge.chargers_from`.
    calendar : darkspell.core.calendar.Calendar
    members, parameter_draw : int arrays [lanes]
    seed : int

    Returns
    -------
    float32 array [8760, lanes]
    """
    if charger.series is None:
        return load_block([charger], calendar, members, parameter_draw, seed, 0.0, room="chargers")[0].copy()
    years = charger.series.reshape(-1, DAYS, 24)
    key = stream_key(seed, f"chargers/{charger.name}")
    year = [int(philox(key, 0, np.uint64(member))[0]) % len(years) for member in members]
    hours = years[:, calendar.day_of_year - 1].reshape(len(years), HOURS)
    return np.ascontiguousarray(hours[year].T)
