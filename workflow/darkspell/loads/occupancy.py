"""On which days of the calendar year a load is used, and by how much more with guests."""

import numpy as np

from darkspell.core.calendar import DAYS, MONTH_LENGTHS

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
    free = weekday(calendar) >= 5
    home = {"all_days": np.ones(DAYS, bool), "weekends": free, "weekdays": ~free}[people.at_home].copy()
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
    free = weekday(calendar) >= 5
    used = np.isin(MONTH_OF_DATE, np.array(row.months) - 1)
    used &= {"all": np.ones(DAYS, bool), "weekends": free, "weekdays": ~free}[row.days]
    used &= {"any": np.ones(DAYS, bool), "home": home, "away": ~home, "guests": guests}[row.when]
    factor = 1.0 + more if row.increases_with_guests else np.ones(DAYS)
    return (used * factor).astype(np.float32)
