"""The load budget: what each appliance is expected to ask for, by plain arithmetic from the study's rows."""

from dataclasses import dataclass

import numpy as np

from darkspell.core.calendar import Calendar
from darkspell.loads.inverter import inverter_curve
from darkspell.loads.measured_series import measured_series
from darkspell.loads.occupancy import MONTH_OF_DATE, use_by_date
from darkspell.loads.temperature_dependence import Warmth, mean_share

TIERS = ("essential", "deferrable", "critical", "uninterruptible")
INVERTER = "inverter, idle"
_NOT_DRIVEN = Warmth()


@dataclass(frozen=True)
class Appliance:
    """One row of the load budget, as the bank sees it.

    Parameters
    ----------
    name : str
        Name in the study; it also names the appliance's random stream, so that others keep their draws.
    watts : float
        Power of one unit while it runs [W], what the inverter adds included.
    hours_per_day : float
        Running hours on a day on which it is used, mean over such days [h].
    count : float
        Number of units that run together.
    tier : str
        One of `TIERS`.
    window_start_h, window_end_h : float
        Hours of the day between which it runs [h]; an end at or before the start is on the next day.
    peak_watts : float or None
        Power of one unit as it starts [W]; None: the same as `watts`.
    months : tuple of int
        Calendar months (1-12) in which it is used; read where `use` is not given.
    chance_of_use : float
        Chance that it is used on a given day, 0-1.
    spread : float
        Standard deviation of the energy of a day of use, as a share of its mean.
    past_monitor : bool
        True if its current does not pass the monitor's shunt.
    use : float32 array [365] or None
        Factor on its power by calendar day, 0 where it is not used.
    warmth : darkspell.loads.temperature_dependence.Warmth
        How it follows the temperature.
    series : float32 array [days, 24] or None
        Measured hours in place of all of these [W].
    ac : bool
        Whether it runs through the inverter.
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
    use: np.ndarray | None = None
    warmth: Warmth = _NOT_DRIVEN
    series: np.ndarray | None = None
    ac: bool = False

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
        """Mean energy of a day on which it is used, at full warmth and without guests [Wh]."""
        return self.watts * self.count * self.hours_per_day

    def use_by_date(self):
        """Factor on its power by calendar day, 0 where it is not used; float32 [365]."""
        if self.use is not None:
            return self.use
        return np.isin(MONTH_OF_DATE, np.array(self.months, int) - 1).astype(np.float32)


def appliances_from(study, left=False):
    """Appliances of a study as the bank sees them, in its order; then its measured loads and its inverter.

    Parameters
    ----------
    study : darkspell.study.Study
        Validated study.
    left : bool
        True if the place is left to itself all year.

    Returns
    -------
    list of Appliance

    Raises
    ------
    StudyError
        If a measured load's file cannot be read.
    """
    calendar = Calendar(study.site.start_month)
    curve = None if study.inverter is None else inverter_curve(study.inverter)
    made = [
        _appliance(name, row, study.occupancy, calendar, curve, left) for name, row in study.loads.items()
    ]
    made += [_measured(study, name, row, curve) for name, row in study.measured_loads.items()]
    idle = _idle(study, made, curve, left)
    return made + ([idle] if idle else [])


def daily_budget(appliances, climate=None):
    """Expected energy a day, by appliance and month.

    Watts x units x hours on a day of use x chance of use, over the days on which it is used; what follows
    the temperature takes its expected share of that.

    Parameters
    ----------
    appliances : list of Appliance
    climate : darkspell.climate.SiteClimate, optional
        Needed for what follows the temperature; without it that runs its full hours.

    Returns
    -------
    numpy.ndarray
        Energy [Wh/day], shape [appliances, 12], January first.
    """
    out = np.zeros((len(appliances), 12))
    for row, one in zip(out, appliances, strict=True):
        row[:] = one.daily_energy * one.chance_of_use * _by_month(one.use_by_date())
        if one.series is not None:
            whole_year = len(one.series) == MONTH_OF_DATE.size
            days = one.series.sum(axis=1, dtype=float)
            row[:] = _by_month(days) if whole_year else days.mean()
        elif one.warmth.driven and climate is not None:
            row[:] = (
                one.daily_energy * one.chance_of_use * _by_month(one.use_by_date() * mean_share(one, climate))
            )
    return out


def budget_of(appliances, climate=None):
    """Expected energy of appliances by name.

    Parameters
    ----------
    appliances : list of Appliance
    climate : darkspell.climate.SiteClimate, optional
        As `daily_budget` takes it.

    Returns
    -------
    dict of float arrays [12]
        [Wh/day], January first.
    """
    return {one.name: row for one, row in zip(appliances, daily_budget(appliances, climate), strict=True)}


def yearly_spread(appliances, climate=None):
    """Standard deviation of one year's energy over the members, from day to day alone.

    Days are independent: of a day of use with chance p and spread s the energy E has the variance
    ``E**2 (p (1 + s**2) - p**2)``. The spread that a full window cuts off is left in: this is an upper bound.
    Weather, measured hours and the uncertainty of the whole budget are left out.

    Parameters
    ----------
    appliances : list of Appliance
    climate : darkspell.climate.SiteClimate, optional
        As `daily_budget` takes it.

    Returns
    -------
    float
        [Wh].
    """
    variance = 0.0
    for one, day in zip(appliances, daily_budget(appliances, climate), strict=True):
        p = one.chance_of_use
        if p > 0.0 and one.series is None:
            used = day / p
            variance += np.bincount(MONTH_OF_DATE) @ (used**2 * (p * (1.0 + one.spread**2) - p**2))
    return float(np.sqrt(variance))


def yearly_budget(appliances, climate=None):
    """Expected energy of each appliance in a year.

    Parameters
    ----------
    appliances : list of Appliance
    climate : darkspell.climate.SiteClimate, optional
        As `daily_budget` takes it.

    Returns
    -------
    float array [appliances]
        [Wh].
    """
    return daily_budget(appliances, climate) @ np.bincount(MONTH_OF_DATE)


def _by_month(dates):
    return np.bincount(MONTH_OF_DATE, dates) / np.bincount(MONTH_OF_DATE)


def _appliance(name, row, people, calendar, curve, left):
    start, length = row.window_hours
    watts, peak = float(row.watts), float(row.peak_watts)
    if row.supply == "ac":
        # The inverter's idle draw falls on all units alike where it runs for them alone.
        idle = 0.0 if curve.always_on else curve.idle / row.count
        watts, peak = (idle + curve.power_in(row.count * w, False) / row.count for w in (watts, peak))
    return Appliance(
        name=name,
        watts=watts,
        hours_per_day=float(row.hours_per_day),
        count=float(row.count),
        tier=row.tier,
        window_start_h=start,
        window_end_h=start + length,
        peak_watts=peak,
        months=tuple(row.months),
        chance_of_use=row.chance_of_use_pct / 100.0,
        spread=row.spread_pct / 100.0,
        past_monitor=row.bypasses_shunt,
        use=use_by_date(row, people, calendar, left),
        warmth=Warmth.of(row.by_temperature),
        ac=row.supply == "ac",
    )


def _measured(study, name, row, curve):
    series = measured_series(study, f"measured_loads.{name}.file", row.file)
    if row.supply == "ac":
        idle = 0.0 if curve.always_on else curve.idle
        series = (curve.power_in(series, False) + idle * (series > 0.0)).astype(np.float32)
    return Appliance(
        name=name,
        watts=0.0,
        hours_per_day=0.0,
        tier=row.tier,
        peak_watts=row.peak_watts,
        past_monitor=row.bypasses_shunt,
        series=series,
        ac=row.supply == "ac",
    )


def _idle(study, made, curve, left):
    """The inverter's own draw, where it is left on: of the best tier among the loads that it serves."""
    rows = [*study.loads.values(), *study.measured_loads.values()]
    tiers = {row.tier for row in rows if row.supply == "ac"}
    if not tiers or not curve.always_on or curve.idle == 0.0:
        return None
    tier = next(tier for tier in ("uninterruptible", "critical", "essential", "deferrable") if tier in tiers)
    used = [one.use_by_date() > 0 for one, row in zip(made, rows, strict=False) if row.supply == "ac"]
    use = np.any(used, axis=0).astype(np.float32) if left else None
    return Appliance(INVERTER, curve.idle, 24.0, tier=tier, spread=0.0, use=use, ac=True)
