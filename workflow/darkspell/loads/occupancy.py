"""On which days of the calendar year a load is used, and by how much more with guests."""

import numpy as np

from darkspell.core.calendar import DAYS, MONTH_LENGTHS
from darkspell.study.days_and_months import day_numbers

MONTH_OF_DATE = np.repeat(np.arange(12), MONTH_LENGTHS)
FIRST_WEEKDAY = 2  # 1 January of the year whose sun the study takes (2025) is a Wednesday; Monday is 0


def weekday(calendar):
    """Day of the week of each calendar day, unbroken through the study year.

    Parameters
    ----------
    calendar : darkspell.core.calendar.Calendar

    Returns
    -------
    int array [365]
        Monday 0, 1 January first.
    """
    study_day = (np.arange(DAYS) - calendar.first_day) % DAYS
    return (FIRST_WEEKDAY + calendar.first_day + study_day) % 7


def on_days(days, calendar):
    """Calendar days that fall on some days of the week.

    Parameters
    ----------
    days : str
        As `darkspell.study.days_and_months.named_days` returns it.
    calendar : darkspell.core.calendar.Calendar

    Returns
    -------
    bool array [365]
        1 January first.
    """
    return np.isin(weekday(calendar), day_numbers(days))


def presence(people, calendar):
    """Where the people are on each calendar day.

    Parameters
    ----------
    people : darkspell.study.occupancy.Occupancy
    calendar : darkspell.core.calendar.Calendar

    Returns
    -------
    home : bool array [365]
        Somebody is there.
    more : float array [365]
        How much more the marked loads ask for; 0 without guests.
    guests : bool array [365]
    """
    home = np.zeros(DAYS, bool) if people.at_home is None else on_days(people.at_home, calendar)
    for stay in people.stays.values():
        home[stay.days] = True
    more, guests = np.zeros(DAYS), np.zeros(DAYS, bool)
    for absence in people.absences.values():
        home[absence.days] = False
    for visit in people.guests.values():
        more[visit.days] = visit.more_pct / 100.0
        guests[visit.days] = True
    return home | guests, more, guests


def use_by_date(row, people, calendar, left=False):
    """Factor on the energy of one load on each calendar day, 0 where it is not used.

    Parameters
    ----------
    row : darkspell.study.loads.Load
    people : darkspell.study.occupancy.Occupancy
    calendar : darkspell.core.calendar.Calendar
    left : bool
        True if the place is left to itself all year.

    Returns
    -------
    float32 array [365]
    """
    home, more, guests = presence(people, calendar)
    if left:
        home, more, guests = np.zeros(DAYS, bool), np.zeros(DAYS), np.zeros(DAYS, bool)
    used = np.isin(MONTH_OF_DATE, np.array(row.months) - 1) & on_days(row.days, calendar)
    used &= {"any": np.ones(DAYS, bool), "home": home, "away": ~home, "guests": guests}[row.when]
    factor = 1.0 + more if row.increases_with_guests else np.ones(DAYS)
    return (used * factor).astype(np.float32)
