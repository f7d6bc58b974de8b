"""The study year: 365 days of 24 hours in local standard time, begun in the sunny half."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from darkspell.core.messages import N_

HOURS = 8760
DAYS = 365
MONTH_LENGTHS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
MONTH_NAMES = (
    N_("January"), N_("February"), N_("March"), N_("April"), N_("May"), N_("June"),
    N_("July"), N_("August"), N_("September"), N_("October"), N_("November"), N_("December"),
)  # fmt: skip
WARM_UP_HOURS = 60 * 24


@dataclass(frozen=True)
class Calendar:
    """Position of each hour of the study year in the calendar.

    Parameters
    ----------
    start_month : int
        Calendar month (1-12) on whose first day the study year begins.
    """

    start_month: int = 7

    @cached_property
    def first_day(self):
        """Calendar day of the year (0-364) with which the study year begins."""
        return int(MONTH_LENGTHS[: self.start_month - 1].sum())

    @cached_property
    def day_of_year(self):
        """Calendar day of the year, 1-365, of each study day; shape [365]."""
        return (np.arange(DAYS) + self.first_day) % DAYS + 1

    @cached_property
    def month_of_day(self):
        """Calendar month, 0-11, of each study day; shape [365]."""
        return np.repeat(np.arange(12), MONTH_LENGTHS)[self.day_of_year - 1]

    @cached_property
    def day_of_hour(self):
        """Study day, 0-364, of each hour; shape [8760]."""
        return np.arange(HOURS) // 24

    @cached_property
    def hour_of_day(self):
        """Hour of the day, 0-23, labelled by its beginning; shape [8760]."""
        return np.arange(HOURS) % 24

    @cached_property
    def month_of_hour(self):
        """Calendar month, 0-11, of each hour; shape [8760]."""
        return self.month_of_day[self.day_of_hour]

    @cached_property
    def night_of_hour(self):
        """Night, 0-364, of each hour, noon to noon, named by the day of its evening; shape [8760].

        The first morning belongs to the night before the year, which is the last of the (wrapped) year.
        """
        return (np.arange(HOURS) - 12) // 24 % DAYS

    @cached_property
    def month_order(self):
        """Calendar months, 0-11, in the order of the study year; shape [12]."""
        return (np.arange(12) + self.start_month - 1) % 12

    def study_day(self, month, day):
        """Study day of a calendar date.

        Parameters
        ----------
        month : int or int array
            1 to 12.
        day : int or int array
            Day of the month, 1 to 31.

        Returns
        -------
        int or int array
            0 to 364.
        """
        calendar_day = int(MONTH_LENGTHS[: month - 1].sum()) + day - 1
        return (calendar_day - self.first_day) % DAYS

    def label(self, day):
        """Readable date of a study day.

        Parameters
        ----------
        day : int
            0 to 364.

        Returns
        -------
        str
            Such as ``3 December``.
        """
        calendar_day = int(self.day_of_year[day]) - 1
        month = int(self.month_of_day[day])
        return f"{calendar_day - int(MONTH_LENGTHS[:month].sum()) + 1} {MONTH_NAMES[month]}"
