"""How long the bank carries the loads through dull weather."""

import numpy as np

from darkspell.core.calendar import MONTH_NAMES
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.tree import Paragraph, Section, Table

LEVELS = (0.95, 0.90, 0.50)
HEADS = ("19 of 20 times", "9 of 10 times", "half the time")


def section(results):
    """The section on dull weeks."""
    pictures = [*figure(results, "autonomy"), *figure(results, "state_of_charge")]
    if not len(results.autonomy):
        text = "How long the bank lasts from a given day was not worked out."
        return Section("The dull weeks", [Paragraph(text), *pictures])
    sun, dark = (_curves(results.autonomy, kind) for kind in ("with_sun", "dark"))
    blocks = [Paragraph(_text(results, sun, dark)), *pictures, _table(results, sun, dark)]
    return Section(_heading(results, sun, dark), blocks)


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
    held = {month: days_held(days, mean, level) for month, (days, mean, *_) in curves.items()}
    totals = {month: float(mean.sum()) for month, (_, mean, *_) in curves.items()}
    month = min(held, key=lambda m: (held[m], totals[m]))
    return month, held[month]


def _most(curves):
    return int(max(days[-1] for days, *_ in curves.values()))


def _heading(results, sun, dark):
    month, held = _weakest(sun, 0.9)
    name = MONTH_NAMES[month - 1]
    if held >= _most(sun):
        return (
            f"From any day of the year, a full bank carries the loads past {_most(sun)} days, 9 times of 10"
        )
    return f"Weakest in {name}: begun full, the bank lasts at least {_days(held)}, 9 times of 10"


def _text(results, sun, dark):
    month, held = _weakest(sun, 0.9)
    most = _most(sun)
    parts = [
        "Take the bank as full on some evening, and ask how many days pass before an essential load goes "
        "dark."
    ]
    if held >= most:
        parts.append(
            f"With such sun as dull weather leaves, {most} days pass in at least 9 cases of 10 whatever "
            f"the month "
            f"begun in; {MONTH_NAMES[month - 1]} is the weakest."
        )
    else:
        parts.append(
            f"With such sun as dull weather leaves, it is weakest from {MONTH_NAMES[month - 1]}: "
            f"{_days(held)} at least in 9 cases of 10."
        )
    if dark:
        blind, carried = _weakest(dark, 0.9)
        parts.append(
            f"Without any charge at all, as under snow, it is {_days(carried)} in 9 cases of 10 from "
            f"{MONTH_NAMES[blind - 1]}, where that is shortest. The span between the two is the sun that "
            f"comes "
            "through the clouds."
        )
    return " ".join(parts)


def _table(results, sun, dark):
    rows = []
    for month in results.calendar.month_order + 1:
        if month in sun:
            cells = [_known(*sun[month], level) for level in LEVELS]
            if dark:
                cells.append(_known(*dark[month], 0.9) if month in dark else "–")
            rows.append([MONTH_NAMES[month - 1], *cells])
    header = ["Begun in", *HEADS]
    align = "lrrr"
    if dark:
        header, align = [*header, "no sun at all, 9 of 10 times"], align + "r"
    return Table(
        caption="Days that a full bank lasts at least, by the month begun in",
        header=header,
        rows=rows,
        align=align,
        note="In brackets what the 95 % interval of the probability allows; one number alone means that it "
        f"allows no other. The count stops at {_most(sun)} days.",
    )


def _known(days, mean, low, high, level):
    held, least, most = (days_held(days, curve, level) for curve in (mean, low, high))
    end = int(days[-1])
    text = f"{held}+" if held >= end else f"{held}"
    upper = f"{most}+" if most >= end else f"{most}"
    return text if least == most else f"{text} ({least}–{upper})"


def _days(count):
    return "less than a day" if count == 0 else say.count_of(count, "day")
