"""State of charge at dawn through the year, in the bank and on its monitor."""

import numpy as np

from darkspell.core.constants import constant
from darkspell.core.messages import _
from darkspell.report.document.localization import month_name
from darkspell.report.figures.labels import beside, depth_limits, month_axis
from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.number_format import known, name_in_words, number
from darkspell.report.figures.style import ACCENT, INK, INK_LIGHT, INK_MIDDLE, WORDS

PLOT = (15, 8, 99, 72)  # left, bottom, width, height in mm
SIDE = (117, 8, 41, 72)


def leanest_month(results):
    """Calendar month, 1-12, in which the lowest tenth of dawns holds least.

    Parameters
    ----------
    results : results.Results
    """
    return int(np.argmin([_of_month(results, "true", 10, month) for month in range(1, 13)])) + 1


def finding(results):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : results.Results
    """
    month, hour = leanest_month(results), constant("statistics", "dawn_hour")
    name, row = month_name(month), results.month("dawn_soc_true_pct").loc[month]
    middle, low = (number(_of_month(results, "true", q, month)) for q in (50, 10))
    read = number(_of_month(results, "reported", 50, month))
    mean = known(row["mean"], row["place_low"], row["place_high"], "%")
    return Finding(
        title=_title(name, low, middle),
        note=_("State of charge at {hour:02d}:00, a point a day, in % of present capacity. {scope}").format(
            hour=hour, scope=results.scope
        ),
        caption=(
            _(
                "State of charge at {hour:02d}:00 standard time, day by day. Half of the years are in "
                "the dark band, eight of ten in the light band; the dark line is the median. The bar on "
                "the right is the mean over the days of {name}. Orange: what “{monitor}” reads (median, "
                "thin lines: eight years of ten). The mean of all {name} dawns is {mean}, with its 95 % interval."
            ).format(hour=hour, name=name, monitor=name_in_words(results.study.monitor), mean=mean)
        ),
        alt=(
            _(
                "Line with two bands through the study year. The lowest tenth reaches down furthest in "
                "{name}, to {low} %, with a median of {middle} %; the monitor's median there is {read} "
                "%. Lines mark the lowest charge of normal use and cut-off."
            ).format(name=name, low=low, middle=middle, read=read)
        ),
    )


def _title(name, low, middle):
    if middle == low == "0":
        return _("On half of the {name} mornings or more the bank is empty").format(name=name)
    if middle == low:
        return _("On nine {name} dawns of ten the bank holds {low} % or more").format(name=name, low=low)
    held = _("is empty") if low == "0" else _("holds less than {low} %").format(low=low)
    return _("One {name} morning in ten the bank {held}; on a typical one {value}{middle} %").format(
        name=name, held=held, value="it holds " * (low == "0"), middle=middle
    )


def draw(ax, results):
    """Bands of the true state of charge and lines of the reading, a point a day.

    Parameters
    ----------
    ax : matplotlib Axes
    results : darkspell.report.results.Results

    Returns
    -------
    matplotlib Axes
    """
    day = np.arange(365) + 0.5
    for low, high, colour in ((10, 90, INK_LIGHT), (25, 75, INK_MIDDLE)):
        ax.fill_between(day, results.dawn("true", low), results.dawn("true", high), color=colour, lw=0)
    for percentile in (10, 90):
        ax.plot(day, results.dawn("reported", percentile), color=ACCENT, lw=0.5)
    ax.plot(day, results.dawn("true", 50), color=INK, lw=1.6)
    ax.plot(day, results.dawn("reported", 50), color=ACCENT, lw=1.1, ls=(0, (4, 1.5)))
    edges = [results.calendar.study_day(int(month) + 1, 1) for month in results.calendar.month_order]
    month_axis(ax, results.calendar.month_order + 1, [*edges, 365])
    ax.set_ylim(0, 103)
    ax.set_yticks(range(0, 101, 20), [f"{tick} %" for tick in range(0, 101, 20)])
    ax.grid(axis="y")
    return ax


def draw_slice(ax, results, month, limits=()):
    """The same percentiles averaged over the days of one month, each with its name.

    Parameters
    ----------
    ax : matplotlib Axes
        Shares its y axis with the main panel.
    results : darkspell.report.results.Results
    month : int
        Calendar month, 1-12.
    limits : sequence of (float, str, str)
        Labels of the lines that come in from the main panel.

    Returns
    -------
    matplotlib Axes
    """
    true = {q: _of_month(results, "true", q, month) for q in (10, 25, 50, 75, 90)}
    read = {q: _of_month(results, "reported", q, month) for q in (10, 50, 90)}
    for low, high, colour in ((10, 90, INK_LIGHT), (25, 75, INK_MIDDLE)):
        ax.fill_between([0, 5], true[low], true[high], color=colour, lw=0)
    ax.plot([0, 5], [true[50]] * 2, color=INK, lw=1.6)
    ax.plot([0, 5], [read[50]] * 2, color=ACCENT, lw=1.1, ls=(0, (4, 1.5)))
    for q in (10, 90):
        ax.plot([0, 5], [read[q]] * 2, color=ACCENT, lw=0.5)
    labels = [
        (true[90], _("1 dawn in 10 above"), WORDS),
        (true[75], _("half of the dawns"), WORDS),
        (true[50], _("median, {true} %").format(true=number(true[50])), INK),
        (read[50], _("monitor reads {read} %").format(read=number(read[50])), ACCENT),
        (true[10], _("1 dawn in 10 below"), WORDS),
    ]
    labels[1] = ((true[25] + true[50]) / 2 if true[50] - true[25] > 4 else true[25], *labels[1][1:])
    if true[90] - true[10] < 3:  # one year, say: no bands to name
        labels = labels[2:4]
    labels += [(*limit, PLOT[0] + PLOT[2] - SIDE[0]) for limit in limits]
    beside(ax, 5.3, labels, 3, 5.6, 3, 98)
    ax.text(0, 104, month_name(month), size=9, color=WORDS, va="bottom")
    ax.set_xlim(0, SIDE[2])
    ax.axis("off")
    return ax


def page(results):
    """The whole figure and its words; (Page, Finding).

    Parameters
    ----------
    results : results.Results
    """
    words = finding(results)
    sheet = Page(words, PLOT[1] + PLOT[3] + 5)
    ax = draw(sheet.axes(*PLOT), results)
    limits = depth_limits(ax, results.study.bank)
    draw_slice(sheet.axes(*SIDE, sharey=ax), results, leanest_month(results), limits)
    return sheet, words


def _of_month(results, which, percentile, month):
    """Mean of a daily percentile over the days of a month [%]."""
    return float(results.dawn(which, percentile)[results.calendar.month_of_day == month - 1].mean())
