"""How long the place may be left to itself: days from a full bank until what stays on goes dark.

Everybody is away from the first day on: loads that hang on people or guests stop, engines, generators and
shore lines do not run, since nobody minds them; the sun and what turns by itself go on.
"""

from dataclasses import replace

import numpy as np

from darkspell.bank.run_years import FROM_FULL, NEVER, run_until
from darkspell.core.batches import over_batches
from darkspell.core.rounding import significant
from darkspell.simulation.system import build_system
from darkspell.statistics.reliability import LOSS_FLOOR
from darkspell.statistics.site_shares import site_shares

LEAVING_HOUR = 12
COLUMNS = (
    "start_month", "days", "probability", "low", "high", "simulation_low", "simulation_high", "n",
)  # fmt: skip


def left_alone(system):
    """The system while nobody is at the site, with the same members and weather.

    Parameters
    ----------
    system : darkspell.simulation.system.System

    Returns
    -------
    darkspell.simulation.system.System
    """
    alone = build_system(system.study, system.climate, system.sky, occupied=False)
    return replace(
        alone, measured=system.measured, members=system.members, parameter_draw=system.parameter_draw
    )


def hours_alone(system, workers=None, tell=None):
    """Hours from noon on the first of each start month to the first unserved one.

    Parameters
    ----------
    system : darkspell.simulation.system.System
        Of the study as it is; what nobody uses is taken out here.
    workers, tell
        As in `darkspell.core.batches.over_batches`.

    Returns
    -------
    int array [starts, members]
        The horizon where nothing is lost before it.
    """
    asked, alone = system.study.occupancy.unattended, left_alone(system)
    calendar = alone.calendar
    starts = np.array([24 * calendar.study_day(month, 1) + LEAVING_HOUR for month in asked.start_months])
    scales = alone.per_ah_factors()

    def work(members, parameter_draw, count):
        traces = alone.traces(members, parameter_draw)
        first = np.empty((starts.size, members.size), np.int32)
        loss = np.float32(LOSS_FLOOR) * scales[3]
        ends = asked.longest_days * 24, loss, NEVER
        bank = traces.for_bank(), scales, alone.controls, alone.chemistry
        run_until(*bank, starts, FROM_FULL, ends, first)
        return first[:, :count]

    return np.concatenate(over_batches(work, alone, workers, tell), axis=1)


def unattended_table(hours, leaving, parameter_draw):
    """Rows of unattended.csv: probability that nothing goes dark within so many days.

    Parameters
    ----------
    hours : int array [starts, members]
        From `hours_alone`.
    leaving : darkspell.study.occupancy.Unattended
    parameter_draw : int array [members]

    Returns
    -------
    pandas.DataFrame
        `COLUMNS`: start month (1-12), days, probability (mean of the years) with its 95 % interval at this site and
        the sampling error of the simulation, number of years.
    """
    import pandas as pd

    limits = np.arange(1, leaving.longest_days + 1)
    lasted = (np.asarray(hours)[..., None] >= 24 * limits).astype(float)
    table = lasted.transpose(1, 0, 2).reshape(hours.shape[1], -1)
    found = site_shares(table, parameter_draw)
    return pd.DataFrame(
        {
            "start_month": np.repeat(leaving.start_months, limits.size),
            "days": np.tile(limits, len(leaving.start_months)),
            "probability": significant(found.value),
            "low": significant(found.low),
            "high": significant(found.high),
            "simulation_low": significant(found.simulation_low),
            "simulation_high": significant(found.simulation_high),
            "n": hours.shape[1],
        }
    )


def days_that_last(table, probability):
    """Days for which nothing goes dark with at least a probability, by start month.

    Parameters
    ----------
    table : pandas.DataFrame
        From `unattended_table`.
    probability : float
        [-].

    Returns
    -------
    dict
        ``{start month: (days, days surely)}``; the second counts with the lower end of the interval.
    """
    found = {}
    for month, rows in table.groupby("start_month", sort=False):
        held = [int((rows[name] >= probability - 1e-9).cummin().sum()) for name in ("probability", "low")]
        found[int(month)] = tuple(held)
    return found
