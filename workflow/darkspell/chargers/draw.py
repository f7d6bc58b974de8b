"""Hours of power that chargers other than the array offer at the bank's terminals.

An alternator and a shore line are drawn as appliances are, with a window, a chance of use and a spread, from
streams of their own; a turbine takes its hours from a file, each member one year of it. None of them knows
the weather that the member draws for the array.
"""

import numpy as np

from darkspell.calendar import DAYS, HOURS
from darkspell.draws import philox, stream_key
from darkspell.errors import StudyError
from darkspell.loads.budget import Appliance
from darkspell.loads.draw import load_block
from darkspell.loads.measured import measured_series
from darkspell.loads.presence import MONTH_OF_DATE, weekday


def chargers_from(study, calendar, voltage):
    """A study's chargers, ready to draw.

    Parameters
    ----------
    study : darkspell.study.Study
    calendar : darkspell.calendar.Calendar
    voltage : float
        Bank voltage at which their currents are turned into watts [V].

    Returns
    -------
    dict of Appliance
        By name; a turbine's hours stand in `series`, [365 x years, 24].

    Raises
    ------
    StudyError
        If a turbine's file cannot be read or holds no whole years.
    """
    return {name: _charger(study, name, row, calendar, voltage) for name, row in study.chargers.items()}


def aux_block(chargers, calendar, members, world, seed):
    """Power on offer from all chargers together [W]; float32 [8760, lanes], or None without any."""
    total = None
    for charger in chargers.values():
        one = charger_block(charger, calendar, members, world, seed)
        total = one if total is None else total + one
    return total


def charger_block(charger, calendar, members, world, seed):
    """Power on offer from one charger [W].

    Parameters
    ----------
    charger : Appliance
        From `chargers_from`.
    calendar : darkspell.calendar.Calendar
    members, world : int arrays [lanes]
    seed : int

    Returns
    -------
    float32 array [8760, lanes]
    """
    if charger.series is None:
        return load_block([charger], calendar, members, world, seed, 0.0, room="chargers")[0].copy()
    years = charger.series.reshape(-1, DAYS, 24)
    key = stream_key(seed, f"chargers/{charger.name}")
    year = [int(philox(key, 0, np.uint64(member))[0]) % len(years) for member in members]
    hours = years[:, calendar.day_of_year - 1].reshape(len(years), HOURS)
    return np.ascontiguousarray(hours[year].T)


def _charger(study, name, row, calendar, voltage):
    if row.kind == "turbine":
        series = measured_series(study, f"chargers.{name}.file", row.file) * np.float32(row.share_pct / 100.0)
        if len(series) % DAYS:
            text = f'"{row.file}" has {len(series)} days; give whole years of 365, begun on 1 January'
            raise StudyError(f"chargers.{name}.file: {text}")
        return Appliance(name, 0.0, 0.0, series=series)
    start, length = row.window_hours
    shore = row.kind == "shore"
    return Appliance(
        name=name,
        watts=row.charger_a * voltage,
        hours_per_day=length if shore else row.hours_per_day,
        window_start_h=start,
        window_end_h=start + length,
        chance_of_use=row.chance_of_use_pct / 100.0,
        spread=0.0 if shore else row.spread_pct / 100.0,
        use=_use_by_date(row, calendar),
    )


def _use_by_date(row, calendar):
    used = np.isin(MONTH_OF_DATE, np.array(row.months) - 1)
    if row.kind == "alternator":
        free = weekday(calendar) >= 5
        used &= {"all": np.ones(DAYS, bool), "weekends": free, "weekdays": ~free}[row.days]
    elif row.stays:
        stays = np.zeros(DAYS, bool)
        stays[sorted({day for stay in row.stays.values() for day in stay.days})] = True
        used &= stays
    return used.astype(np.float32)
