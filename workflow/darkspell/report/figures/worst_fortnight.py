"""A typical worst fortnight of a year, hour by hour: charge in the bank and on the display, sun and loads."""

import numpy as np

from darkspell.core.messages import _
from darkspell.report.document.localization import month_name, month_short
from darkspell.report.figures.labels import beside, depth_limits
from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.number_format import number
from darkspell.report.figures.style import ACCENT, ACCENT_LIGHT, INK, INK_LIGHT, INK_MIDDLE, WORDS

DAYS = 14
POWER, CHARGE = (14, 8, 108, 22), (14, 39, 108, 41)  # left, bottom, width, height in mm
AT_CUT_OFF = 0.5  # points above the limit within which the bank counts as cut off, for the mark


def drawable(results):
    """Whether whole years were kept.

    Parameters
    ----------
    results : results.Results
    """
    return {"soc_true", "soc_reported"} <= set(results.hourly_members)


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
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : results.Results
    """
    hours, first = _fortnight(results)
    true, read = hours["soc_true"], hours["soc_reported"]
    lowest = number(true.min())
    start, end = _date(results, first), _date(results, first + DAYS - 1)
    energy = []
    if "sun" in hours:
        sun, load = (number(hours[name].sum() / 1000.0, 1) for name in ("sun", "load"))
        text = _("The sun offers {sun} kWh, the loads ask for {load} kWh.")
        energy.append(text.format(sun=sun, load=load))
    caption = _("The {days} days with the lowest mean charge of a year; median of {years} years.").format(
        days=DAYS, years=len(results.hourly_members["soc_true"])
    )
    alt = _(
        "Lines over {days} days from {start}. The bank falls to {lowest} %, the display to {read} %."
    ).format(days=DAYS, start=start, lowest=lowest, read=number(read.min()))
    return Finding(
        title=_(
            "In a typical worst fortnight, {start} to {end}, the bank falls to {lowest} % of charge"
        ).format(start=start, end=end, lowest=lowest),
        note=_("State of charge and power, hour by hour. {site}, one synthetic year.").format(
            site=results.place
        ),
        caption=" ".join([caption, *energy]),
        alt=" ".join([alt, *energy]),
    )


def page(results):
    """The whole figure and its words; (Page, Finding).

    Parameters
    ----------
    results : results.Results
    """
    words = finding(results)
    hours, first = _fortnight(results)
    with_power = "sun" in hours
    sheet = Page(words, CHARGE[1] + CHARGE[3] + 5 - (0 if with_power else CHARGE[1] - POWER[1]))
    left, bottom, width, height = CHARGE
    ax = sheet.axes(left, bottom if with_power else POWER[1], width, height)
    _draw_charge(ax, hours["soc_true"], hours["soc_reported"], results.study.bank)
    panels = [ax]
    if with_power:
        panels.append(sheet.axes(*POWER))
        _draw_power(panels[-1], hours["sun"], hours["load"])
        ax.set_xticklabels([])
    marks = range(0, DAYS, 2)
    for panel in panels:
        panel.set_xlim(0, DAYS)
        panel.set_xticks(marks)
    panels[-1].set_xticklabels(_dates(results, first, marks))
    return sheet, words


def _draw_charge(ax, true, read, bank):
    day = np.arange(1, true.size + 1) / 24.0
    dark = true <= 100.0 - bank.depth_limit_pct + AT_CUT_OFF
    if dark.any():
        ax.fill_between(day, 0, 103, where=dark, step="pre", color=ACCENT_LIGHT, lw=0, zorder=0.6)
    ax.plot(day, true, color=INK, lw=1.5)
    ax.plot(day, read, color=ACCENT, lw=1.0, ls=(0, (4, 1.5)))
    limits = depth_limits(ax, bank)
    ax.set_ylim(0, 103)
    ax.set_yticks(range(0, 101, 20), [f"{tick} %" for tick in range(0, 101, 20)])
    ax.grid(axis="y")
    ax.set_title(
        _("state of charge; shaded: loads cut off") if dark.any() else _("state of charge"),
        color=WORDS,
        pad=4,
    )
    labels = [(true[-1], _("in the bank"), INK), (read[-1], _("on the display"), ACCENT)]
    labels = sorted(labels, key=lambda label: label[0]) + [(y, text, WORDS) for y, text, _index in limits]
    beside(ax, DAYS, labels, 0.5, 9.0, 3, 98)


def _draw_power(ax, sun, load):
    day = np.arange(sun.size + 1) / 24.0
    ax.stairs(sun, day, fill=True, color=INK_LIGHT, zorder=1)
    ax.stairs(sun, day, color=INK_MIDDLE, lw=0.5, zorder=2)
    ax.stairs(load, day, color=INK, lw=0.9, zorder=3, baseline=None)
    top = 1.1 * max(sun.max(), load.max(), 1.0)
    ax.set_ylim(0, top)
    ax.locator_params(axis="y", nbins=4)
    ax.grid(axis="y")
    ax.set_title(_("power, W"), color=WORDS, pad=4)
    ends = [(0.12 * top, _("loads"), INK), (0.45 * top, _("sun offers"), INK_MIDDLE)]
    beside(ax, DAYS, [(y, text, WORDS) for y, text, _index in ends], 0.5, 0.2 * top, 0.05 * top, 0.95 * top)


def _fortnight(results):
    """Hours of the fortnight by name, shape [336] each, and its first day."""
    kept = results.hourly_members
    year, first = typical_worst(kept["soc_true"])
    hours = slice(24 * first, 24 * (first + DAYS))
    return {name: values[year, hours] for name, values in kept.items()}, first


def _date(results, day):
    number_in_month, month = _day_and_month(results, day)
    return _("{day} {month}").format(day=number_in_month, month=month_name(month))


def _dates(results, first, marks):
    """Labels of an axis: the month is named where it begins."""
    labels, named = [], None
    for mark in marks:
        day, month = _day_and_month(results, first + mark)
        labels.append(
            str(day) if month == named else _("{day} {month}").format(day=day, month=month_short(month))
        )
        named = month
    return labels


def _day_and_month(results, day):
    month = int(results.calendar.month_of_day[day]) + 1
    return day - results.calendar.study_day(month, 1) + 1, month
