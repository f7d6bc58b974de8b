"""How long the place may be left to itself, by the day of leaving."""

import numpy as np

from darkspell.core.messages import _
from darkspell.report.document.localization import month_name
from darkspell.report.figures.labels import beside
from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.number_format import counted, number
from darkspell.report.figures.style import GREY, INK, INK_LIGHT, INK_MIDDLE, WORDS
from darkspell.simulation.unattended import days_that_last

PANEL = (15, 11, 98, 58)
SHADES = (INK, "#5f7fa8", INK_MIDDLE)
DASHES = ("-", (0, (5, 1.5)), (0, (1.5, 1.5)))


def finding(results):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.figures.layout.Finding
    """
    asked, table = results.study.occupancy.unattended, results.table("unattended")
    found = days_that_last(table, asked.probability_pct / 100.0)
    month = min(found, key=lambda m: found[m])
    held, dependable = found[month]
    chance = _("{probability_pct} years of 100").format(probability_pct=number(asked.probability_pct))
    if held >= asked.longest_days:
        title = _(
            "Left on any of these dates, nothing goes dark for {longest_days} days or longer in {chance}"
        ).format(longest_days=asked.longest_days, chance=chance)
    else:
        title = _(
            "Left on 1 {month}, nothing goes dark for {count} in {chance} (95 % certain: {dependable})"
        ).format(
            month=month_name(month),
            count=counted(held, "{count} day", "{count} days"),
            chance=chance,
            dependable=dependable,
        )
    return Finding(
        title=title,
        note=_(
            "Share of years in which nothing has gone dark yet, by days since people left. {scope}"
        ).format(scope=results.scope),
        caption=(
            _(
                "Everybody leaves at noon on the first of the month with the bank full. Loads and chargers that need "
                "people stop. Shown are the months with the shortest, the longest and a middle time; the band "
                "is the 95 % "
                "interval of the shortest. The dotted line is the probability asked for."
            )
        ),
        alt=_("Falling curves.")
        + " "
        + "; ".join(
            _("from {month} {count}{value}").format(
                month=month_name(m),
                count=counted(days[0], "{count} day", "{count} days"),
                value=" or more" * (days[0] >= asked.longest_days),
            )
            for m, days in found.items()
        )
        + " "
        + _("with {chance}.").format(chance=chance),
    )


def shown(table):
    """Start months that last shortest, in between and longest, without repeats; list of int.

    Parameters
    ----------
    table : pandas.DataFrame
    """
    total = table.groupby("start_month")["probability"].sum().sort_values(kind="stable")
    places = dict.fromkeys((0, len(total) - 1, len(total) // 2))
    return [int(total.index[place]) for place in places]


def draw(ax, table, asked):
    """Curves of the start months shown.

    Parameters
    ----------
    ax : matplotlib Axes
    table : pandas.DataFrame
        As unattended.csv.
    asked : darkspell.study.occupancy.Unattended

    Returns
    -------
    matplotlib Axes
    """
    labels, last, lowest = [], asked.longest_days, 1.0
    for month, colour, dash in zip(shown(table), SHADES, DASHES, strict=False):
        rows = table[table["start_month"] == month].sort_values("days")
        days, share, low, high = (
            np.r_[start, rows[name].to_numpy(float)]
            for start, name in ((0, "days"), (1, "probability"), (1, "low"), (1, "high"))
        )
        if not labels:
            ax.fill_between(days, low, high, color=INK_LIGHT, alpha=0.75, lw=0, zorder=1)
            lowest = min(lowest, low.min())
        ax.plot(days, share, color=colour, ls=dash, zorder=3)
        lowest = min(lowest, share.min())
        labels.append((share[-1], _("from 1 {month}").format(month=month_name(month)), colour))
    level = asked.probability_pct / 100.0
    ax.axhline(level, color=GREY, lw=0.7, ls=(0, (1, 2)), zorder=2)
    floor = np.floor(10 * min(lowest, level) - 0.1) / 10 if min(lowest, level) > 0.7 else 0.0
    ax.set_xlim(0, last)
    ax.set_ylim(floor, 1 + 0.03 * (1 - floor))
    ticks = np.linspace(floor, 1, 6)
    ax.set_yticks(ticks, [f"{number(100 * tick)} %" for tick in ticks])
    ax.grid(axis="y")
    ax.set_xlabel(_("days since everybody left"))
    zoomed = " " + _("(scale from {floor} %)").format(floor=number(100 * floor)) if floor else ""
    ax.set_title(_("years in which nothing has gone dark{zoomed}").format(zoomed=zoomed), color=WORDS, pad=5)
    labels.append(
        (
            level,
            _("asked for, {probability_pct} %").format(probability_pct=number(asked.probability_pct)),
            GREY,
        )
    )
    return beside(ax, 1.01 * last, labels, 0.05 * last, 0.08 * (1 - floor), floor, 1 + 0.02 * (1 - floor))


def page(results):
    """The whole figure and its words; (Page, Finding).

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    page : darkspell.report.figures.layout.Page
    finding : darkspell.report.figures.layout.Finding
    """
    words = finding(results)
    sheet = Page(words, PANEL[1] + PANEL[3] + 7)
    draw(sheet.axes(*PANEL), results.table("unattended"), results.study.occupancy.unattended)
    return sheet, words
