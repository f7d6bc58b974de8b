"""Several places in one year: the climate of each, and the days that are spent there."""

from dataclasses import dataclass

import numpy as np

from darkspell.climate.extraterrestrial import monthly_extraterrestrial
from darkspell.core.calendar import MONTH_LENGTHS

_MONTH_OF_DATE = np.repeat(np.arange(12), MONTH_LENGTHS)


@dataclass(frozen=True)
class Route:
    """Climates of a moving home; where one figure is asked for, the days of each place weigh them.

    The draws of a member carry on from place to place: a dull week stays one under way.

    Parameters
    ----------
    climates : tuple of SiteClimate
        The site's first.
    latitudes : float array [places]
        [degrees].
    where : int array [365]
        Place of each calendar day.
    """

    climates: tuple
    latitudes: np.ndarray
    where: np.ndarray

    @property
    def shares(self):
        """Share of each calendar month spent at each place; [12, places]."""
        counts = np.zeros((12, len(self.climates)))
        np.add.at(counts, (_MONTH_OF_DATE, self.where), 1.0)
        return counts / counts.sum(axis=1, keepdims=True)

    def monthly_kt(self):
        """Mean daily clearness by calendar month, weighted by the light outside the atmosphere [-]; [12]."""
        outside = np.array([monthly_extraterrestrial(latitude) for latitude in self.latitudes]).T
        weights = self.shares * np.maximum(outside, 1e-6)
        values = np.array([one.monthly_kt() for one in self.climates]).T
        return (weights * values).sum(axis=1) / weights.sum(axis=1)

    @property
    def temp_air_mean(self):
        """Monthly mean air temperature [degC]; [12]."""
        return self._weighted("temp_air_mean")

    @property
    def temp_air_sd(self):
        """Standard deviation of daily means about the month's [K]; [12]."""
        return self._weighted("temp_air_sd")

    @property
    def temp_air_range(self):
        """Mean daily range [K]; [12]."""
        return self._weighted("temp_air_range")

    @property
    def level_sd(self):
        """Doubt about the sources: that of the worst [-]."""
        return max(one.level_sd for one in self.climates)

    @property
    def source(self):
        """Where the knowledge comes from, place by place."""
        days = np.bincount(self.where, minlength=len(self.climates))
        parts = [f"{d} days from {one.source}" for d, one in zip(days, self.climates, strict=True) if d]
        return "; ".join(parts)

    @property
    def notes(self):
        """Notes on all sources, each once."""
        return list(dict.fromkeys(note for one in self.climates for note in one.notes))

    def _weighted(self, name):
        return (self.shares * np.array([getattr(one, name) for one in self.climates]).T).sum(axis=1)


def parts_of(climate):
    """Climates of a route, or the one climate alone; a tuple."""
    return getattr(climate, "climates", (climate,))


def by_place(values, climate, calendar):
    """Choose, day by day, from values of each place.

    Parameters
    ----------
    values : list of arrays [..., 365]
        One a place, by study day.
    climate : SiteClimate or Route
    calendar : darkspell.core.calendar.Calendar

    Returns
    -------
    array [..., 365]
    """
    if len(values) == 1:
        return values[0]
    return chosen(values, climate.where[calendar.day_of_year - 1])


def chosen(values, where):
    """Values along the last axis, each from the array that `where` numbers.

    Parameters
    ----------
    values : list of arrays [..., n]
    where : int array [n]

    Returns
    -------
    array [..., n]
    """
    out = values[0].copy()
    for number, one in enumerate(values[1:], start=1):
        out[..., where == number] = one[..., where == number]
    return out
