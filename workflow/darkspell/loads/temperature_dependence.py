"""Loads that follow the temperature: a compressor works more in warmth, a heater in cold."""

from typing import NamedTuple

import numpy as np

_NODES, _SLICES = 21, 32


class Warmth(NamedTuple):
    """A load's share of its full running hours, straight between two temperatures.

    Heat flows in proportion to the difference of temperatures (Newton's law of cooling), and so does the
    work that keeps it up.

    Attributes
    ----------
    full, none : float
        Temperatures at which it runs its stated hours, and at which it does not run [degC].
    low, high : float
        Bounds of its room temperature [degC].
    driven : bool
        False for a load that minds no temperature.
    """

    full: float = 0.0
    none: float = 0.0
    low: float = -np.inf
    high: float = np.inf
    driven: bool = False

    @classmethod
    def of(cls, row):
        """From a study's `darkspell.study.loads.ByTemperature`.

        Parameters
        ----------
        row : darkspell.study.loads.ByTemperature or None

        Returns
        -------
        Warmth
        """
        if row is None:
            return cls()
        low = -np.inf if row.room_min_c is None else row.room_min_c
        high = np.inf if row.room_max_c is None else row.room_max_c
        return cls(row.full_at_c, row.none_at_c, low, high, True)

    def share(self, temp, most):
        """Share of the full hours at an air temperature.

        Parameters
        ----------
        temp : float array
            [degC].
        most : float
            Upper bound of the share [-].

        Returns
        -------
        float array
            0 to `most` [-].
        """
        inside = np.clip(temp, self.low, self.high)
        return np.clip((inside - self.none) / (self.full - self.none), 0.0, most)


def mean_share(appliance, climate):
    """Expected share of the full hours on each calendar day.

    Daily means are normal about those of the day, the hours swing about the day's by half its range; the hours of the
    window count. On an itinerary each day has the climate of its site.

    Parameters
    ----------
    appliance : darkspell.loads.budget.Appliance
    climate : darkspell.climate.SiteClimate

    Returns
    -------
    float array [365]
        [-], 1 January first.
    """
    from darkspell.loads.random_factors import day_factors
    from darkspell.weather.temperature import daily_swing

    largest = appliance.window_length / appliance.hours_per_day
    factors = day_factors(appliance.spread, largest).astype(float).reshape(_SLICES, -1).mean(axis=1)
    z, weights = np.polynomial.hermite_e.hermegauss(_NODES)
    first = int(np.floor(appliance.window_start_h))
    hours = (first + np.arange(round(np.ceil(appliance.window_length)))) % 24
    mean, sd, swing = (_by_date(climate, f"temp_air_{name}") for name in ("mean", "sd", "range"))
    out = np.empty(mean.size)
    for day in range(mean.size):
        temp = (mean[day] + sd[day] * z)[:, None] + 0.5 * swing[day] * daily_swing()[hours]
        share = appliance.warmth.share(temp, np.inf)[..., None] * factors
        out[day] = (weights / weights.sum()) @ np.minimum(share, largest).mean(axis=(1, 2))
    return out


def _by_date(climate, name):
    """Monthly values by calendar day as the weather is drawn from them, each day at its place; [365]."""
    from darkspell.climate.itinerary import by_place, parts_of
    from darkspell.core.calendar import Calendar
    from darkspell.weather.temperature import by_day

    year = Calendar(1)
    return by_place([by_day(getattr(one, name), year) for one in parts_of(climate)], climate, year)
