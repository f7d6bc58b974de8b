"""Dates of the study year: "MM-DD", and spans of days that may pass New Year."""

from typing import Annotated

from pydantic import StringConstraints, field_validator

from darkspell.core.calendar import DAYS, MONTH_LENGTHS
from darkspell.study.base import Section, key

CalendarDate = Annotated[str, StringConstraints(pattern=r"^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$")]


def month_and_day(date):
    """Month and day of a date.

    Parameters
    ----------
    date : str
        "MM-DD".

    Returns
    -------
    month, day : int

    Raises
    ------
    ValueError
        If the month has no such day.
    """
    month, day = (int(part) for part in date.split("-"))
    if day > MONTH_LENGTHS[month - 1]:
        raise ValueError(f'has "{date}", which no study year has; give a day that the month has')
    return month, day


def day_of_year(date):
    """Calendar day of the year.

    Parameters
    ----------
    date : str
        "MM-DD".

    Returns
    -------
    int
        0 to 364.
    """
    month, day = month_and_day(date)
    return int(MONTH_LENGTHS[: month - 1].sum()) + day - 1


class Span(Section):
    """Days from the first to the last, both included."""

    first: CalendarDate = key('First day, "MM-DD".')
    last: CalendarDate = key('Last day, "MM-DD"; if it is before the first day, it is in the next year.')

    @field_validator("first", "last")
    @classmethod
    def _exists(cls, date):
        month_and_day(date)
        return date

    @property
    def days(self):
        """Calendar days of the year, 0-364, in order."""
        first = day_of_year(self.first)
        length = (day_of_year(self.last) - first) % DAYS + 1
        return [(first + day) % DAYS for day in range(length)]


def shared_days(spans):
    """Pairs of spans that have days in common.

    Parameters
    ----------
    spans : dict
        Spans with first and last day, by name.
    """
    names = list(spans)
    return [
        (one, other)
        for at, one in enumerate(names)
        for other in names[at + 1 :]
        if set(spans[one].days) & set(spans[other].days)
    ]
