"""Extraterrestrial irradiation on the horizontal: the denominator of the clearness index."""

import numpy as np

from darkspell.core.calendar import Calendar
from darkspell.core.constants import constant

CALENDAR_YEAR = Calendar(start_month=1)


def daily_extraterrestrial(latitude, day_of_year):
    """Extraterrestrial irradiation H0 on the horizontal [kWh/m2/day].

    Duffie & Beckman, Solar Engineering of Thermal Processes, eq. 1.10.3, with Spencer's (1971) Fourier
    series for declination and distance. The same numbers as pvlib, without importing it.

    Parameters
    ----------
    latitude : float or array
        Degrees, north positive; broadcast against `day_of_year`.
    day_of_year : int or array
        1-366.

    Returns
    -------
    float64 array
        Zero in the polar night.
    """
    angle = 2.0 * np.pi * (np.asarray(day_of_year) - 1) / 365.0
    declination = (
        0.006918 - 0.399912 * np.cos(angle) + 0.070257 * np.sin(angle)
        - 0.006758 * np.cos(2 * angle) + 0.000907 * np.sin(2 * angle)
        - 0.002697 * np.cos(3 * angle) + 0.00148 * np.sin(3 * angle)
    )  # fmt: skip
    distance = (
        1.00011 + 0.034221 * np.cos(angle) + 0.00128 * np.sin(angle)
        + 0.000719 * np.cos(2 * angle) + 7.7e-05 * np.sin(2 * angle)
    )  # fmt: skip
    phi = np.radians(latitude)
    sunset = np.arccos(np.clip(-np.tan(phi) * np.tan(declination), -1.0, 1.0))
    mean = np.cos(phi) * np.cos(declination) * np.sin(sunset) + sunset * np.sin(phi) * np.sin(declination)
    return 24.0 / np.pi * constant("climate", "solar_constant") / 1000.0 * distance * np.maximum(mean, 0.0)


def monthly_extraterrestrial(latitude):
    """Mean extraterrestrial irradiation of the twelve calendar months [kWh/m2/day].

    Parameters
    ----------
    latitude : float
        [degrees], north positive.

    Returns
    -------
    float64 array [12]
        January first.
    """
    days = daily_extraterrestrial(latitude, CALENDAR_YEAR.day_of_year)
    return np.bincount(CALENDAR_YEAR.month_of_day, days) / np.bincount(CALENDAR_YEAR.month_of_day)
