"""Climates of a moving home: several sites in one year, and the days spent at each."""

from dataclasses import dataclass

import numpy as np

from darkspell.climate.extraterrestrial import monthly_extraterrestrial
from darkspell.core.calendar import MONTH_LENGTHS

_MONTH_OF_DATE = np.repeat(np.arange(12), MONTH_LENGTHS)


@dataclass(frozen=True)
class Route:
    """Climates of a moving home. A single figure is the mean weighted by the days at each site.

    A member's random series continues from site to site, so a dull week stays dull on the way.

    Parameters
    ----------
    climates : tuple of SiteClimate
        The study's own site first.
    latitudes : float array [places]
        [degrees].
    where : int array [365]
        Number of the site on each calendar day.
    """

    climates: tuple
    latitudes: np.ndarray
    where: np.ndarray

    @property
    def shares(self):
        """Share of each calendar month spent at each site; [12, sites]."""
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
    def wind(self):
        """Mean wind in sunlight [m/s]; 0 where a source does not know it."""
        days = np.bincount(self.where, minlength=len(self.climates))
        known = np.array([one.wind for one in self.climates])
        return float(days @ known / days.sum()) if known.all() else 0.0

    @property
    def annual_mean_sd(self):
        """Uncertainty of the annual mean: that of the least certain source [-]."""
        return max(one.annual_mean_sd for one in self.climates)

    @property
    def source(self):
        """Origin of the data, site by site."""
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
    """Climates of an itinerary, or the single climate.

    Parameters
    ----------
    climate : SiteClimate or Route

    Returns
    -------
    tuple of SiteClimate
    """
    return getattr(climate, "climates", (climate,))


def by_place(values, climate, calendar):
    """Select values of the site at which each day is spent.

    Parameters
    ----------
    values : list of arrays [..., 365]
        One array per site, by study day.
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
    """Select along the last axis from several arrays.

    Parameters
    ----------
    values : list of arrays [..., n]
    where : int array [n]
        Index of the array to take each value from.

    Returns
    -------
    array [..., n]
    """
    out = values[0].copy()
    for number, one in enumerate(values[1:], start=1):
        out[..., where == number] = one[..., where == number]
    return out
