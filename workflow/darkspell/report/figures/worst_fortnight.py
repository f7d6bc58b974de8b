"""A typical worst fortnight of a year, hour by hour: charge in the bank and on the display."""

import numpy as np

from darkspell.core.calendar import MONTH_NAMES
from darkspell.report.figures.labels import beside, depth_limits
from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.number_format import number
from darkspell.report.figures.style import ACCENT, INK, WORDS

DAYS = 14
PLOT = (13, 8, 108, 55)  # left, bottom, width, height in mm


def drawable(results):
    """Whether whole years were kept."""
    return results.hourly_members is not None


def typical_worst(true):
    """Choose the fortnight to draw.

    The worst fortnight of a year is the one with the lowest mean state of charge. Of the years given, the one whose
    worst fortnight is the median is taken (the lower one of two).

    Parameters
    ----------
    true : ndarray
        State of charge [%] by year and hour, shape [years, 8760].

    Returns
    -------
    year : int
        Row of `true`.
    first_day : int
        First day of the fortnight, 0..351, from midnight.
    """
    daily = true.reshape(len(true), 365, 24).mean(axis=2)
    total = np.cumsum(np.pad(daily, ((0, 0), (1, 0))), axis=1)
    means = (total[:, DAYS:] - total[:, :-DAYS]) / DAYS
    year = int(np.argsort(means.min(axis=1), kind="stable")[(len(true) - 1) // 2])
    return year, int(means[year].argmin())


def finding(results):
    """What the figure says; `Finding`."""
    true, read, first = _fortnight(results)
    lowest = number(true.min())
    start = _date(results, first)
    return Finding(
        title=f"In a typical worst fortnight, from {start}, the bank falls to {lowest} % of charge",
        note=f"State of charge hour by hour. {results.study.site.name}; one synthetic year of those kept whole.",
        caption=(
            f"The {DAYS} days with the lowest mean charge of a year; of {len(results.hourly_members[0])} years kept "
            "whole, the median one. Each day's rise is the sun, each night's fall the loads."
        ),
        alt=(
            f"Two lines over {DAYS} days from {start}. The bank falls to {lowest} %, the display to "
            f"{number(read.min())} %."
        ),
    )


def page(results):
    """The whole figure and its words; (Page, Finding)."""
    words = finding(results)
    true, read, first = _fortnight(results)
    sheet = Page(words, PLOT[1] + PLOT[3] + 4)
    ax = sheet.axes(*PLOT)
    day = np.arange(1, true.size + 1) / 24.0
    ax.plot(day, true, color=INK, lw=1.5)
    ax.plot(day, read, color=ACCENT, lw=1.0, ls=(0, (4, 1.5)))
    limits = depth_limits(ax, results.study.bank)
    ax.set_ylim(0, 103)
    ax.set_xlim(0, DAYS)
    ax.set_yticks(range(0, 101, 20), [f"{tick} %" for tick in range(0, 101, 20)])
    marks = range(0, DAYS, 3)
    ax.set_xticks(marks, [_date(results, first + mark, short=True) for mark in marks])
    ax.grid(axis="y")
    labels = [(true[-1], "in the bank", INK), (read[-1], "on the display", ACCENT)]
    labels = sorted(labels, key=lambda label: label[0]) + [(y, text, WORDS) for y, text, _ in limits]
    beside(ax, DAYS, labels, 0.5, 9.0, 3, 98)
    return sheet, words


def _fortnight(results):
    """Charge in the bank and on the display [%], shape [336], and the first day."""
    true, read = results.hourly_members
    year, first = typical_worst(true)
    hours = slice(24 * first, 24 * (first + DAYS))
    return true[year, hours], read[year, hours], first


def _date(results, day, short=False):
    month = int(results.calendar.month_of_day[day])
    first = results.calendar.study_day(month + 1, 1)
    name = MONTH_NAMES[month]
    return f"{day - first + 1} {name[:3] if short else name}"
