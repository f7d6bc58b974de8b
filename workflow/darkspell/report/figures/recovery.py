"""How many days a bank takes to be full again, by the month in which it was emptied."""

import numpy as np

from darkspell.core.messages import _
from darkspell.report.document.localization import month_name
from darkspell.report.figures.labels import beside, month_axis
from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.number_format import number
from darkspell.report.figures.style import GREY, INK, INK_MIDDLE, WORDS
from darkspell.statistics.recovery import AS_IT_CAME, BEGUN_EMPTY, FEWEST, RECOVERY_DAYS

PANEL = (14, 8, 107, 58)


def rows_of(results, kind):
    """Rows of one kind in the order of the study year, indexed by month.

    Parameters
    ----------
    results : results.Results
    kind : str
        Value of the column ``kind`` of recovery.csv.
    """
    table = results.table("recovery")
    return table[table["kind"] == kind].set_index("start_month").reindex(results.calendar.month_order + 1)


def days_in_words(days):
    """``4 days``, ``a day or less``, ``more than 120 days``.

    Parameters
    ----------
    days : float
    """
    if days >= RECOVERY_DAYS:
        return _("more than {RECOVERY_DAYS} days").format(RECOVERY_DAYS=RECOVERY_DAYS)
    return (
        _("a day or less")
        if days <= 1.0
        else _("{days} days").format(days=number(days, 1 if days < 9.95 else 0))
    )


def finding(results):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.figures.layout.Finding
    """
    empty, came = rows_of(results, BEGUN_EMPTY), rows_of(results, AS_IT_CAME)
    slow, quick = int(empty["days_p50"].idxmax()), int(empty["days_p50"].idxmin())
    middle, late = (days_in_words(empty[name][slow]) for name in ("days_p50", "days_p90"))
    told = int((came["n"] >= FEWEST).sum())
    return Finding(
        title=_(
            "Emptied in {month} the bank is full again within {middle} in half the cases and within "
            "{late} in 9 of 10; in {month_2} within {days_in_words} in half"
        ).format(
            month=month_name(slow),
            middle=middle,
            late=late,
            month_2=month_name(quick),
            days_in_words=days_in_words(empty["days_p50"][quick]),
        ),
        note=_("Days until the bank is full again, by the month of the start. {scope}").format(
            scope=results.scope
        ),
        caption=(
            _(
                "Dark: the bank is empty, its loads cut off, at dawn on days 1, 11 and 21 of each "
                "month; loads are reconnected as it charges. The mark is the median, the thick bar "
                "its 95 % interval, the thin bar the range of 8 cases in 10. Hollow: from a cut-off, or a dawn "
                "below the usual "
                "lowest charge, of the simulated years to the next full charge; only months in which {FEWEST} "
                "years or "
                "more had one. Followed for {RECOVERY_DAYS} days."
            ).format(FEWEST=FEWEST, RECOVERY_DAYS=RECOVERY_DAYS)
        ),
        alt=_(
            "Marks with bars by month. Middle case {middle} in {month}, one in ten takes {late}; "
            "hollow marks in {told} months."
        ).format(middle=middle, month=month_name(slow), late=late, told=told),
    )


def draw(ax, empty, came):
    """Days by month, begun empty and as they came.

    Parameters
    ----------
    ax : matplotlib Axes
    empty, came : pandas.DataFrame
        From `rows_of`.

    Returns
    -------
    matplotlib Axes
    """
    place = np.arange(len(empty))
    ax.vlines(place - 0.13, empty["days_p10"], empty["days_p90"], color=INK_MIDDLE, lw=1.2)
    ax.vlines(place - 0.13, empty["days_low"], empty["days_high"], color=INK, lw=3)
    ax.plot(place - 0.13, empty["days_p50"], "o", color=INK, ms=4.5)
    seen = (came["n"] >= FEWEST).to_numpy()
    ax.vlines(place[seen] + 0.17, came["days_p10"][seen], came["days_p90"][seen], color=GREY, lw=0.9)
    ax.plot(place[seen] + 0.17, came["days_p50"][seen], "o", mfc="white", mec=GREY, ms=4.5)
    top = max(empty["days_p90"].max(), came["days_p90"][seen].max() if seen.any() else 0.0, 1.0)
    ax.set_ylim(0, 1.08 * top)
    ax.grid(axis="y")
    ax.set_title(_("days until full again"), color=WORDS, pad=5)
    month_axis(ax, empty.index)
    last = empty.iloc[-1]
    labels = [
        (last["days_p90"], _("1 case in 10\ntakes longer"), INK_MIDDLE),
        (last["days_p50"], _("from empty,\nmedian"), INK),
    ]
    if seen.any():
        at = int(np.flatnonzero(seen)[-1])
        labels.append((float(came["days_p50"].iloc[at]), _("as it happened,\nmedian"), GREY, at + 0.3))
    return beside(ax, len(empty) - 0.7, labels, 0.5, 0.16 * top, 0.06 * top, 1.02 * top)


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
    draw(sheet.axes(*PANEL), rows_of(results, BEGUN_EMPTY), rows_of(results, AS_IT_CAME))
    return sheet, words
