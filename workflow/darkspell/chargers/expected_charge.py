"""Expected output of a study's chargers other than the arrays; plain arithmetic."""

import numpy as np

from darkspell.core.calendar import DAYS, MONTH_LENGTHS, Calendar
from darkspell.core.errors import StudyError
from darkspell.loads.budget import Appliance, daily_budget
from darkspell.loads.measured_series import measured_series
from darkspell.loads.occupancy import MONTH_OF_DATE, on_days


def chargers_from(study, calendar, voltage):
    """A study's chargers, ready to draw.

    Parameters
    ----------
    study : darkspell.study.Study
    calendar : darkspell.core.calendar.Calendar
    voltage : float
        Bank voltage at which their currents are turned into watts [V].

    Returns
    -------
    dict of Appliance
        By name; a turbine's hours are in `series`, [365 x years, 24].

    Raises
    ------
    StudyError
        If a turbine's file cannot be read or holds no whole years.
    """
    return {name: _charger(study, name, row, calendar, voltage) for name, row in study.chargers.items()}


def chargers_ah(study, voltage):
    """Charge on offer from each charger by calendar month, at a bank voltage.

    Parameters
    ----------
    study : darkspell.study.Study
    voltage : float
        [V].

    Returns
    -------
    dict of float arrays [12]
        By name [Ah/day], January first.
    """
    found = {}
    for name, one in chargers_from(study, Calendar(study.site.start_month), voltage).items():
        if one.series is None:
            found[name] = daily_budget([one])[0] / voltage
        else:
            days = one.series.reshape(-1, DAYS, 24).sum(axis=2, dtype=float).mean(axis=0)
            found[name] = np.bincount(MONTH_OF_DATE, days) / MONTH_LENGTHS / voltage
    return found


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
        used &= on_days(row.days, calendar) & (
            (np.arange(DAYS) - calendar.first_day) % DAYS % row.every_days == 0
        )
    elif row.stays:
        stays = np.zeros(DAYS, bool)
        stays[sorted({day for stay in row.stays.values() for day in stay.days})] = True
        used &= stays
    return used.astype(np.float32)
