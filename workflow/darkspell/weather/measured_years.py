"""A study run on measured years: measured weather replaces simulated weather."""

from dataclasses import dataclass, replace

import numpy as np

from darkspell.core.calendar import DAYS, HOURS
from darkspell.weather.daily_clearness import latent_of
from darkspell.weather.days import Days
from darkspell.weather.temperature import daily_means, daily_range, daily_swing


@dataclass(frozen=True)
class MeasuredDays:
    """Measured years as daily and hourly series; one row per year.

    Parameters
    ----------
    days : darkspell.weather.days.Days
        One row per year (one column in hourly arrays).
    """

    days: Days

    def of(self, members):
        """Days of some members.

        Parameters
        ----------
        members : int array [lanes]
            Numbers of the years.

        Returns
        -------
        darkspell.weather.days.Days
        """
        rows, days = np.asarray(members), self.days
        return Days(
            kt=days.kt[rows],
            temp_air_mean=days.temp_air_mean[rows],
            temp_air_range=days.temp_air_range[rows],
            ghi=None if days.ghi is None else np.ascontiguousarray(days.ghi[:, rows]),
            temp_air=None if days.temp_air is None else np.ascontiguousarray(days.temp_air[:, rows]),
            wind=None if days.wind is None else np.ascontiguousarray(days.wind[:, rows]),
        )


def measured_days(system, years):
    """Measured years as the days of a study.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    years : darkspell.climate.record.study_years.Years

    Returns
    -------
    MeasuredDays
        Missing temperatures are simulated; missing hours come from the hourly clearness model.
    """
    kt = np.round(years.kt, 6)
    members = np.arange(len(years.names))
    temp_air = years.temp_air
    if temp_air is None:
        site = system.climate, system.calendar
        temp_air = daily_means(*site, members, system.study.engine.seed, latent_of(*site, kt))
    temp_range = daily_range(system.climate, system.calendar, kt)
    ghi = None if years.ghi is None else hours_of_energy(years.ghi, kt, system.sky)
    temp = (
        None
        if years.temp_air_hours is None
        else _hourly_temperature(years.temp_air_hours, temp_air, temp_range)
    )
    wind = None if years.wind_hours is None else np.ascontiguousarray(years.wind_hours.reshape(-1, HOURS).T)
    return MeasuredDays(Days(kt, np.round(temp_air, 6), temp_range, ghi, temp, wind))


def hours_of_energy(ghi, kt, sky):
    """Measured hours scaled to the day's energy; none while the sun is below the horizon.

    Parameters
    ----------
    ghi : float array [years, 365, 24]
        Measured irradiation [Wh/m2].
    kt : float array [years, 365]
        Daily clearness [-].
    sky : darkspell.weather.solar_geometry.SiteSky

    Returns
    -------
    float32 array [8760, years]
        Global horizontal irradiance [W/m2].
    """
    lit = sky.extra_horizontal.reshape(DAYS, 24) > 0.0
    shape = np.where(lit, ghi, 0.0).astype(float)
    outside = np.where(lit, sky.extra_horizontal.reshape(DAYS, 24), 0.0)
    total = shape.sum(axis=2)
    shape = np.where(total[..., None] > 0.0, shape, outside)
    total = np.where(total > 0.0, total, outside.sum(axis=1))
    scale = np.divide(kt * sky.daily_extra, total, out=np.zeros_like(total), where=total > 0.0)
    hours = np.minimum(shape * scale[..., None], sky.dni_extra.reshape(DAYS, 24))
    return np.ascontiguousarray(hours.reshape(-1, HOURS).T.astype(np.float32))


def _hourly_temperature(hours, means, temp_range):
    """Hourly temperatures, from the day's mean and range where unmeasured; float32 [8760, years]."""
    drawn = means[..., None] + 0.5 * temp_range[..., None] * daily_swing()
    return np.ascontiguousarray(
        np.where(np.isfinite(hours), hours, drawn).reshape(-1, HOURS).T.astype(np.float32)
    )


def replayed(system, years):
    """A study with measured years as its members.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    years : darkspell.climate.record.study_years.Years

    Returns
    -------
    darkspell.simulation.system.System
        Member m is year m and has its own parameter draw: loads are as uncertain as in the simulated run.
    """
    members = np.arange(len(years.names))
    return replace(system, measured=measured_days(system, years), members=members, parameter_draw=members)
