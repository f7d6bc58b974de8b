"""How long the bank carries the loads through dull weather."""

import numpy as np

from darkspell.core.messages import N_, _
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.localization import month_name
from darkspell.report.document.tree import Paragraph, Section, Table

LEVELS = (0.95, 0.90, 0.50)
HEADS = (N_("19 times in 20"), N_("9 times in 10"), N_("half the time"))


def section(results):
    """The section on dull weeks, with its table, for the annex.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    if not len(results.autonomy):
        text = _("How long the bank lasts from a given day was not worked out.")
        return Section(_("The dull weeks"), [Paragraph(text)])
    sun, dark = (_curves(results.autonomy, kind) for kind in ("with_sun", "dark"))
    pictures = [*figure(results, "autonomy"), *figure(results, "state_of_charge")]
    blocks = [Paragraph(_text(results, sun, dark)), *pictures, _table(results, sun, dark)]
    return Section(_heading(results, sun, dark), blocks)


def summary(results):
    """The same for the client: what a dull spell does, a bad fortnight, and the weak months.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    pictures = [block for name in ("worst_fortnight", "balance", "months") for block in figure(results, name)]
    if not len(results.autonomy):
        return Section(_("The year"), pictures)
    sun, dark = (_curves(results.autonomy, kind) for kind in ("with_sun", "dark"))
    return Section(_heading(results, sun, dark), [Paragraph(_text(results, sun, dark)), *pictures])


def days_held(days, curve, level):
    """Longest span of days that passes with at least a given probability.

    Parameters
    ----------
    days : int array
        Ascending.
    curve : float array
        Probability that no essential hour goes unserved within so many days [-].
    level : float
        Probability wanted [-].

    Returns
    -------
    int
        0 if not even the shortest does.
    """
    short = np.flatnonzero(np.asarray(curve) < level)
    if not short.size:
        return int(days[-1])
    return 0 if short[0] == 0 else int(days[short[0] - 1])


def _curves(autonomy, kind):
    """By start month: days, probability, low, high."""
    rows = autonomy[autonomy["kind"] == kind].sort_values("days")
    return {
        int(month): tuple(part[name].to_numpy() for name in ("days", "probability", "low", "high"))
        for month, part in rows.groupby("start_month")
    }


def _weakest(curves, level):
    """Start month with the fewest days at a level, and those days."""
    held = {month: days_held(days, mean, level) for month, (days, mean, *_index) in curves.items()}
    totals = {month: float(mean.sum()) for month, (_index, mean, *_index) in curves.items()}
    month = min(held, key=lambda m: (held[m], totals[m]))
    return month, held[month]


def _most(curves):
    return int(max(days[-1] for days, *_index in curves.values()))


def _heading(results, sun, dark):
    month, held = _weakest(sun, 0.9)
    if held >= _most(sun):
        return _("A full bank lasts {days} days or more in any month, 9 times in 10").format(days=_most(sun))
    return _("A bank that is full in {month} lasts {days} or more, 9 times in 10").format(
        month=month_name(month), days=_days(held)
    )


def _text(results, sun, dark):
    _month, held = _weakest(sun, 0.9)
    parts = [
        _("This is with simulated weather, followed for {days} days.").format(days=_most(sun))
        if held >= _most(sun)
        else _("This is with simulated weather; no month has fewer days.")
    ]
    if dark:
        blind, carried = _weakest(dark, 0.9)
        alike = {days_held(days, curve, 0.9) for days, curve, *_bounds in dark.values()} == {carried}
        text = (
            _("Without any charge, {days}, 9 times in 10, in any month.")
            if alike
            else _("Without any charge, {days}, 9 times in 10, if it is full in {month}; no month has fewer.")
        )
        parts.append(text.format(days=_days(carried), month=month_name(blind)))
    return " ".join(parts)


def _table(results, sun, dark):
    rows = []
    for month in results.calendar.month_order + 1:
        if month in sun:
            cells = [_known(*sun[month], level) for level in LEVELS]
            if dark:
                cells.append(_known(*dark[month], 0.9) if month in dark else "–")
            rows.append([month_name(month), *cells])
    header = [_("Full in"), *map(_, HEADS)]
    align = "lrrr"
    if dark:
        header, align = [*header, _("no sun at all, 9 times in 10")], align + "r"
    return Table(
        caption=_("Days that a full bank lasts or more, by month"),
        header=header,
        rows=rows,
        align=align,
        note=_("In brackets what it may be at this site (95 %). The count stops at {most} days.").format(
            most=_most(sun)
        ),
    )


def _known(days, mean, low, high, level):
    held, least, most = (days_held(days, curve, level) for curve in (mean, low, high))
    end = int(days[-1])
    text = f"{held}+" if held >= end else f"{held}"
    upper = f"{most}+" if most >= end else f"{most}"
    return text if least == most else f"{text} ({least}–{upper})"


def _days(count):
    return _("less than a day") if count == 0 else say.count_of(count, "{count} day", "{count} days")
