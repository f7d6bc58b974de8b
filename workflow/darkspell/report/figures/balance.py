"""Month by month: what the sun offers, what the loads ask for, what is left over and what is missing."""

import numpy as np

from darkspell.core.calendar import MONTH_LENGTHS
from darkspell.core.messages import _
from darkspell.report.document.localization import month_name
from darkspell.report.figures.labels import beside, month_axis
from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.number_format import counted, number, sentence_list
from darkspell.report.figures.style import ACCENT, GREY, INK, INK_LIGHT, SMALL, WORDS

PLOT = (14, 15, 108, 44)  # left, bottom, width, height in mm
COLUMNS = ("array_kwh", "spilled_kwh", "demand_kwh", "eue_kwh")


def drawable(results):
    """Whether the table of months has all that the balance needs.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    return all(results.month(name)["mean"].notna().all() for name in COLUMNS)


def daily(results):
    """Energy on an average day of each month, mean over the years, in the order of the study year [kWh/day].

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    offered, unused, demand, unserved : numpy.ndarray
        Energy that the sun offers at the bank, the part of it that nothing takes, energy that the loads ask for, the
        part of it not delivered; shape [12].
    """
    order = results.calendar.month_order
    days = MONTH_LENGTHS[order]
    taken, unused, demand, unserved = (results.month(name)["mean"].to_numpy(float) / days for name in COLUMNS)
    return taken + unused, unused, demand, unserved


def finding(results):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.figures.layout.Finding
    """
    offered, unused, demand, unserved = daily(results)
    order = results.calendar.month_order + 1
    short = [month_name(month) for month in order[offered < demand]]
    ratio = offered / np.maximum(demand, 1e-9)
    least = int(ratio.argmin())
    times = number(ratio[least], 1 if ratio[least] < 9.95 else 0)
    share = 100 * unused.sum() / max(offered.sum(), 1e-9)
    tightest = _("{month} is the tightest month: the sun offers {times} times the demand").format(
        month=month_name(order[least]), times=times
    )
    title = (
        tightest
        if not short
        else _("In {items} the sun offers less than the loads ask for").format(items=sentence_list(short))
        if len(short) <= 3
        else _("In {count} the sun offers less than the loads ask for").format(
            count=counted(len(short), "{count} month", "{count} months")
        )
    )
    most = int(unserved.argmax())
    missing = (
        _("Nothing is missing in any month")
        if unserved[most] <= 0
        else _("Most is missing in {month}, {unserved} Wh a day").format(
            month=month_name(order[most]), unserved=number(1000 * unserved[most])
        )
    )
    return Finding(
        title=title,
        note=_("Energy on an average day of each month, average of all years. {scope}").format(
            scope=results.scope
        ),
        caption=(
            _(
                "Of what the sun offers, {share} % is unused (pale bars): the bank is "
                "full. Missing: demand that is not delivered."
            ).format(share=number(share))
        ),
        alt=(
            _(
                "By month, two marks: what the sun offers and what the loads ask for. {title}. "
                "{missing}. Over the year {share} % of the sun's energy is unused."
            ).format(title=title, missing=missing, share=number(share))
        ),
    )


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
    sheet = Page(words, PLOT[1] + PLOT[3] + 6)
    ax = sheet.axes(*PLOT)
    offered, unused, demand, unserved = (1000.0 * energy for energy in daily(results))
    draw(ax, offered, unused, demand, results.calendar.month_order + 1)
    _unserved_row(ax, unserved)
    return sheet, words


def draw(ax, offered, unused, demand, order):
    """Two marks a month joined by a line: dark where the sun suffices, in the accent where it does not.

    Parameters
    ----------
    ax : matplotlib Axes
    offered, unused, demand : numpy.ndarray
        [Wh/day], shape [12].
    order : numpy.ndarray
        Calendar months 1-12 in the order of the study year.

    Returns
    -------
    matplotlib Axes
    """
    at = np.arange(12)
    ax.vlines(at, offered - unused, offered, color=INK_LIGHT, lw=7, zorder=1)
    ax.vlines(at, np.minimum(offered, demand), np.maximum(offered, demand), lw=1.2, zorder=2,
              color=[INK if a >= b else ACCENT for a, b in zip(offered, demand, strict=True)])  # fmt: skip
    ax.plot(at, offered, "o", mfc="white", mec=INK, ms=5, zorder=4)
    ax.plot(at, demand, "s", color=INK, ms=4, zorder=3)
    top = 1.1 * max(offered.max(), demand.max())
    ax.set_ylim(0, top)
    ax.grid(axis="y")
    ax.set_title(_("Wh on an average day"), color=WORDS, pad=5)
    month_axis(ax, order)
    ends = [(offered[-1], _("the sun offers"), WORDS), (demand[-1], _("the loads ask for"), WORDS)]
    if unused[-1] > 0.04 * top:
        ends.insert(0, (offered[-1] - unused[-1] / 2, _("unused"), GREY))
    ends = sorted(ends, key=lambda end: end[0])
    return beside(ax, 11.3, ends, 0.6, 0.11 * top, 0.03 * top, 0.98 * top)


def _unserved_row(ax, unserved):
    """Unserved energy of each month under its name [Wh/day]."""
    texts = ["–" if value == 0 else "<1" if value < 0.5 else number(value) for value in unserved]
    for month, text in enumerate(texts):
        colour = ACCENT if unserved[month] >= 0.5 else GREY
        ax.text(month, -0.24, text, transform=ax.get_xaxis_transform(), ha="center", va="center", size=SMALL,
                color=colour, clip_on=False)  # fmt: skip
    ax.text(11.9, -0.24, _("missing"), transform=ax.get_xaxis_transform(), va="center", size=SMALL,
            color=WORDS, clip_on=False)  # fmt: skip
