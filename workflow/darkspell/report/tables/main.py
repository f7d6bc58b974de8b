"""The tables of a study, from plain arrays by member and by member and month."""

import numpy as np

from darkspell.core.calendar import MONTH_LENGTHS
from darkspell.core.rounding import significant
from darkspell.statistics.autonomy import HORIZON_DAYS, survival
from darkspell.statistics.registry import MONTHLY_KEYS, YEARLY_KEYS, statistic
from darkspell.statistics.site_figures import site_figures

MEMBER_COLUMNS = YEARLY_KEYS
BOUNDS = ("place_low", "place_high", "simulation_low", "simulation_high")
MONTH_STATISTICS = {key: statistic(key).unit for key in MONTHLY_KEYS}


def members_table(members, parameter_draw):
    """Rows of members.csv.

    Parameters
    ----------
    members : dict of array_like
        Statistics of `MEMBER_COLUMNS` by member; [members] each. What a study does not have is not a number.
    parameter_draw : array_like of int
        Parameter draw of each member; shape [members].

    Returns
    -------
    pandas.DataFrame
        Columns ``member``, ``parameter_draw`` and `MEMBER_COLUMNS`, six significant digits.

    Raises
    ------
    KeyError
        If a statistic is missing.
    """
    import pandas as pd

    columns = {"member": np.arange(len(parameter_draw)), "parameter_draw": np.asarray(parameter_draw)}
    columns |= {name: significant(members[name]) for name in MEMBER_COLUMNS}
    return pd.DataFrame(columns)


def events_table(events, calendar):
    """Rows of events.csv: every run of hours with unserved essential load.

    Parameters
    ----------
    events : dict of arrays [events]
        ``member``, ``start`` (hour of the study year), ``length`` [h], ``energy`` [Wh].
    calendar : darkspell.core.calendar.Calendar
        The study year.

    Returns
    -------
    pandas.DataFrame
        Columns ``member``, ``start_month`` (1-12), ``start_day`` (of the month), ``start_hour`` (0-23),
        ``length_h`` and ``unserved_essential_wh``.
    """
    import pandas as pd

    start = np.asarray(events["start"], int)
    month = calendar.month_of_hour[start]
    first = np.concatenate([[0], np.cumsum(MONTH_LENGTHS)[:-1]])
    return pd.DataFrame(
        {
            "member": events["member"],
            "start_month": month + 1,
            "start_day": calendar.day_of_year[calendar.day_of_hour[start]] - first[month],
            "start_hour": calendar.hour_of_day[start],
            "length_h": events["length"],
            "unserved_essential_wh": significant(events["energy"]),
        }
    )


def months_table(months, parameter_draw, calendar, seed=0):
    """Rows of months.csv.

    Parameters
    ----------
    months : dict of array_like
        Statistics of `MONTH_STATISTICS` by member and calendar month; [members, 12] each, January first.
    parameter_draw : array_like of int
        Parameter draw of each member; shape [members].
    calendar : darkspell.core.calendar.Calendar
        The study year.
    seed : int
        The study's seed.

    Returns
    -------
    pandas.DataFrame
        Columns ``month`` (1-12, in study-year order), ``statistic``, ``unit``, ``value`` (best guess), ``mean``,
        ``place_low``, ``place_high`` (what the long-run average may be at this site, 95 %), ``simulation_low``,
        ``simulation_high`` (sampling error of the simulation, 95 %; of losses that of the median),
        ``p10``, ``p50``, ``p90`` and ``n`` (years that have the statistic).
    """
    import pandas as pd

    demand, frames = np.sum(months["demand_kwh"], axis=1).mean(), []
    for month in calendar.month_order:  # one at a time: all would hold many kilobytes a member
        values = np.stack([np.asarray(months[name], float)[:, month] for name in MONTH_STATISTICS], axis=1)
        figures = site_figures(values, parameter_draw, list(MONTH_STATISTICS), demand, seed)
        n = np.isfinite(values).sum(axis=0)
        percentiles = np.full((3, values.shape[1]), np.nan)
        percentiles[:, n > 0] = np.nanquantile(values[:, n > 0], (0.1, 0.5, 0.9), axis=0)
        columns = {
            "month": month + 1,
            "statistic": list(MONTH_STATISTICS),
            "unit": list(MONTH_STATISTICS.values()),
            "value": significant(figures.value),
            "mean": significant(figures.mean),
        }
        columns |= {name: significant(getattr(figures, name)) for name in BOUNDS}
        columns |= zip(("p10", "p50", "p90"), map(significant, percentiles), strict=True)
        frames.append(pd.DataFrame(columns | {"n": n}))
    return pd.concat(frames, ignore_index=True)


def autonomy_table(autonomy, parameter_draw):
    """Rows of autonomy.csv.

    Parameters
    ----------
    autonomy : dict of array_like
        Hours to the first unserved one by kind, ``with_sun`` and ``dark``; [36, members] each, see
        `darkspell.statistics.autonomy`.
    parameter_draw : array_like of int
        Parameter draw of each member; shape [members].

    Returns
    -------
    pandas.DataFrame
        Columns ``start_month`` (1-12), ``kind``, ``days``, ``probability`` (mean of all starts), ``low``,
        ``high`` (95 % at this site), ``simulation_low``, ``simulation_high`` (sampling error), ``n`` (years).
    """
    import pandas as pd

    frames = []
    for kind, hours in autonomy.items():
        names = ("probability", "low", "high", "simulation_low", "simulation_high")
        parts = (significant(part.ravel()) for part in survival(hours, parameter_draw))
        frames.append(
            pd.DataFrame(
                {
                    "start_month": np.repeat(np.arange(1, 13), HORIZON_DAYS),
                    "kind": kind,
                    "days": np.tile(np.arange(1, HORIZON_DAYS + 1), 12),
                }
                | dict(zip(names, parts, strict=True))
                | {"n": len(parameter_draw)}
            )
        )
    return pd.concat(frames, ignore_index=True)
