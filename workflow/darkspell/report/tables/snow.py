"""What snow takes from each array, by month: the same years with and without it."""

from dataclasses import fields, replace

import numpy as np

from darkspell.core.batches import batches
from darkspell.core.calendar import DAYS
from darkspell.core.rounding import significant
from darkspell.statistics.reliability import monthly_energy
from darkspell.weather.snowfall import snowfalls

COLUMNS = ("array", "month", "snowfalls", "covered_days", "clear_kwh", "lost_kwh", "n")
HALF = 0.5  # of its energy that an array under snow lost: the day counts as covered


def array_alone(system, at):
    """A system with one of its arrays only.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    at : int
        Position of the array in the study.
    """
    light = {
        field.name: getattr(system.sky, field.name)[at : at + 1]
        for field in fields(system.sky)
        if field.name == "cos_incidence" or field.name.endswith("_share")
    }
    columns = [name for name in system.arrays._fields if not name.startswith("shared")]
    numbers = system.arrays._replace(**{name: getattr(system.arrays, name)[at : at + 1] for name in columns})
    snow = None if system.snow is None else system.snow.only(at)
    return replace(system, sky=replace(system.sky, **light), arrays=numbers, snow=snow)


def snow_table(system):
    """Rows of snow.csv, over one batch of members; none where no snow is reckoned with.

    Parameters
    ----------
    system : darkspell.simulation.system.System

    Returns
    -------
    pandas.DataFrame
        `COLUMNS`: means over `n` years of the snowfalls that cover the array [days], the days on which it
        loses half of its energy or more, its energy without snow and what snow takes of it [kWh].
    """
    import pandas as pd

    rows = []
    if system.snow is not None:
        members, parameter_draw, count = next(batches(system.members, system.parameter_draw))
        days, seed = system.days(members, parameter_draw), system.study.engine.seed
        falls = snowfalls(system.snow, days, members, seed)[0]
        for at, name in enumerate(system.study.arrays):
            columns = _of_array(array_alone(system, at), members, parameter_draw, count)
            covers = (falls < system.snow.catch[:, at][:, None])[:, :count].mean(axis=1)
            fallen = np.bincount(system.calendar.month_of_day, covers, 12)
            rows += [
                (name, month + 1, *(float(significant(part[month])) for part in (fallen, *columns)), count)
                for month in system.calendar.month_order
            ]
    return pd.DataFrame(rows, columns=COLUMNS)


def _of_array(alone, members, parameter_draw, count):
    """Covered days, energy without snow and energy lost, means by calendar month; three arrays [12]."""
    calendar = alone.calendar
    clear, left = (
        one.weather(members, parameter_draw)[0][:, :count] for one in (replace(alone, snow=None), alone)
    )
    by_day = [power.reshape(DAYS, 24, count).sum(axis=1) for power in (clear, left)]
    covered = (by_day[1] < HALF * by_day[0]).mean(axis=1)
    energy = [monthly_energy(power, calendar).mean(axis=0) for power in (clear, left)]
    return np.bincount(calendar.month_of_day, covered, 12), energy[0], energy[0] - energy[1]
