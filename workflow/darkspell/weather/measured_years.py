"""A study's parts with measured weather in place of drawn weather; everything else is as it was."""

from dataclasses import dataclass, replace

import numpy as np

from darkspell.core.calendar import DAYS, HOURS
from darkspell.simulation.input_series import Days
from darkspell.weather.daily_clearness import latent_of
from darkspell.weather.temperature import daily_means, daily_range, daily_swing


@dataclass(frozen=True)
class MeasuredDays:
    """Measured years in the form that the sky's hours are filled from; a row is a year.

    Parameters
    ----------
    days : darkspell.simulation.input_series.Days
        Rows (of hour arrays, columns) by year.
    """

    days: Days

    def of(self, members):
        """Days of some members (int array [lanes], each the number of a year)."""
        rows, days = np.asarray(members), self.days
        return Days(
            kt=days.kt[rows],
            temp_air_mean=days.temp_air_mean[rows],
            temp_air_range=days.temp_air_range[rows],
            ghi=None if days.ghi is None else np.ascontiguousarray(days.ghi[:, rows]),
            temp_air=None if days.temp_air is None else np.ascontiguousarray(days.temp_air[:, rows]),
        )


def measured_days(assembly, years):
    """Measured years as days of a study.

    Parameters
    ----------
    assembly : darkspell.simulation.system.Assembly
    years : darkspell.climate.record.study_years.Years

    Returns
    -------
    MeasuredDays
        A record without temperatures gets drawn ones; one without hours gets them from the sky model.
    """
    kt = np.round(years.kt, 6)
    members = np.arange(len(years.names))
    temp_air = years.temp_air
    if temp_air is None:
        place = assembly.climate, assembly.calendar
        temp_air = daily_means(*place, members, assembly.study.engine.seed, latent_of(*place, kt))
    swing = daily_range(assembly.climate, assembly.calendar, kt)
    ghi = None if years.ghi is None else hours_of_energy(years.ghi, kt, assembly.sky)
    temp = None if years.temp_air_hours is None else _thermometer(years.temp_air_hours, temp_air, swing)
    return MeasuredDays(Days(kt, np.round(temp_air, 6), swing, ghi, temp))


def hours_of_energy(ghi, kt, sky):
    """Measured hours under the site's own sun: none while it is down, the day's energy as its clearness says.

    Parameters
    ----------
    ghi : float array [years, 365, 24]
        [Wh/m2].
    kt : float array [years, 365]
    sky : darkspell.weather.solar_geometry.SiteSky

    Returns
    -------
    float32 array [8760, years]
    """
    lit = sky.cos_zenith.reshape(DAYS, 24) > 0.0
    shape = np.where(lit, ghi, 0.0).astype(float)
    outside = np.where(lit, sky.extra_horizontal.reshape(DAYS, 24), 0.0)
    total = shape.sum(axis=2)
    shape = np.where(total[..., None] > 0.0, shape, outside)
    total = np.where(total > 0.0, total, outside.sum(axis=1))
    scale = np.divide(kt * sky.daily_extra, total, out=np.zeros_like(total), where=total > 0.0)
    hours = np.minimum(shape * scale[..., None], sky.extra_normal.reshape(DAYS, 24))
    return np.ascontiguousarray(hours.reshape(-1, HOURS).T.astype(np.float32))


def _thermometer(hours, means, swing):
    """Hourly temperatures, from the day's mean and range where none was measured; float32 [8760, years]."""
    drawn = means[..., None] + 0.5 * swing[..., None] * daily_swing()
    return np.ascontiguousarray(
        np.where(np.isfinite(hours), hours, drawn).reshape(-1, HOURS).T.astype(np.float32)
    )


def replayed(assembly, years):
    """A study's parts with measured years as their members.

    Parameters
    ----------
    assembly : darkspell.simulation.system.Assembly
    years : darkspell.climate.record.study_years.Years

    Returns
    -------
    darkspell.simulation.system.Assembly
        Member m is year m and lives in a parameter draw of its own: loads are as doubtful as in the synthetic run.
    """
    members = np.arange(len(years.names))
    return replace(assembly, measured=measured_days(assembly, years), members=members, parameter_draw=members)
