"""The load budget: what each appliance is expected to ask for, by plain arithmetic from the study's rows."""

from dataclasses import dataclass

import numpy as np

from darkspell.calendar import MONTH_LENGTHS
from darkspell.errors import StudyError

TIERS = ("essential", "deferrable")


@dataclass(frozen=True)
class Appliance:
    """One row of the load budget.

    Parameters
    ----------
    name : str
        Name in the study; it also names the appliance's random stream, so that others keep their draws.
    watts : float
        Power of one unit while it runs [W].
    hours_per_day : float
        Running hours on a day on which it is used, mean over such days [h].
    count : float
        Number of units that run together.
    tier : str
        ``essential`` or ``deferrable``.
    window_start_h, window_end_h : float
        Hours of the day between which it runs [h]; an end at or before the start lies on the next day.
    peak_watts : float or None
        Power of one unit as it starts [W]; None: the same as `watts`.
    months : tuple of int
        Calendar months (1-12) in which it is used.
    chance_of_use : float
        Chance that it is used on a given day, 0-1.
    spread : float
        Standard deviation of the energy of a day of use, as a share of its mean.
    past_monitor : bool
        True if its current does not pass the monitor's shunt.
    """

    name: str
    watts: float
    hours_per_day: float
    count: float = 1
    tier: str = "essential"
    window_start_h: float = 0.0
    window_end_h: float = 24.0
    peak_watts: float | None = None
    months: tuple = tuple(range(1, 13))
    chance_of_use: float = 1.0
    spread: float = 0.2
    past_monitor: bool = False

    @property
    def window_length(self):
        """Length of the window [h]; at most 24."""
        length = self.window_end_h - self.window_start_h
        return length if length > 0 else length + 24.0

    @property
    def surge(self):
        """Power of one starting unit beyond its running power [W]."""
        return max(0.0, (self.watts if self.peak_watts is None else self.peak_watts) - self.watts)

    @property
    def daily_energy(self):
        """Mean energy of a day on which it is used [Wh]."""
        return self.watts * self.count * self.hours_per_day


def appliances_from(study):
    """Appliances of a study, in its order.

    Parameters
    ----------
    study : darkspell.study.Study
        Validated study.

    Returns
    -------
    list of Appliance

    Raises
    ------
    StudyError
        If an appliance is meant to run longer than its window, or a time is not ``HH:MM``.
    """
    appliances = [_appliance(name, row) for name, row in study.loads.items()]
    faults = [_too_long(a) for a in appliances if a.hours_per_day > a.window_length + 1e-9]
    if faults:
        raise StudyError("\n".join(faults))
    return appliances


def daily_budget(appliances):
    """Expected energy a day, by appliance and month.

    Watts x units x hours on a day of use x chance of use, in the months of use and 0 in the others.

    Parameters
    ----------
    appliances : list of Appliance

    Returns
    -------
    numpy.ndarray
        Energy [Wh/day], shape [appliances, 12], January first.
    """
    out = np.zeros((len(appliances), 12))
    for row, appliance in zip(out, appliances, strict=True):
        row[np.array(appliance.months, dtype=int) - 1] = appliance.daily_energy * appliance.chance_of_use
    return out


def yearly_budget(appliances):
    """Expected energy a year by appliance [Wh], shape [appliances]."""
    return daily_budget(appliances) @ MONTH_LENGTHS


def hours_of(time):
    """Hours since midnight of a time ``HH:MM``; ``24:00`` is the end of the day.

    Raises
    ------
    StudyError
        If the text is no such time.
    """
    try:
        hours, minutes = (int(part) for part in str(time).split(":"))
    except ValueError:
        hours, minutes = -1, 0
    if not (0 <= minutes < 60 and 0 <= hours * 60 + minutes <= 1440):
        raise StudyError(f"window: {time!r} is not a time of day; write it quoted, as '18:30'")
    return hours + minutes / 60.0


def _appliance(name, row):
    start, end = (hours_of(time) for time in row.window)
    return Appliance(
        name=name,
        watts=float(row.watts),
        hours_per_day=float(row.hours_per_day),
        count=float(row.count),
        tier=str(row.tier),
        window_start_h=start,
        window_end_h=end,
        peak_watts=None if row.peak_watts is None else float(row.peak_watts),
        months=tuple(row.months or range(1, 13)),
        chance_of_use=row.chance_of_use_pct / 100.0,
        spread=row.spread_pct / 100.0,
        past_monitor=bool(row.wired_past_monitor),
    )


def _too_long(appliance):
    return (
        f"loads.{appliance.name}.hours_per_day: {appliance.hours_per_day:g} h do not fit into a window of "
        f"{appliance.window_length:g} h; widen the window or lower the hours"
    )
