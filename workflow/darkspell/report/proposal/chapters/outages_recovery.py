"""When loads do go dark: how long for, and how soon the bank is full again."""

from darkspell.core.calendar import MONTH_NAMES
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.figures.number_format import number
from darkspell.report.figures.recovery import days_in_words
from darkspell.statistics.recovery import AS_IT_CAME, BEGUN_EMPTY, FEWEST, RECOVERY_DAYS


def section(results):
    """The section on recovery, and on events by their length.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    months = list(results.calendar.month_order + 1)
    table = results.table("recovery")
    empty, came = (
        table[table["kind"] == kind].set_index("start_month").reindex(months)
        for kind in (BEGUN_EMPTY, AS_IT_CAME)
    )
    slow = int(empty["days_p50"].idxmax())
    row = empty.loc[slow]
    heading = f"Emptied in {MONTH_NAMES[slow - 1]}, the bank needs {days_in_words(row['days_p50'])} to be full again"
    blocks = [Paragraph(_recovery_text(empty, came, slow)), *figure(results, "recovery")]
    blocks.append(_recovery_table(months, empty, came))
    lengths = results.table("event_lengths")
    if len(lengths):
        blocks += [Paragraph(_lengths_text(lengths)), _lengths_table(lengths)]
    return Section(heading, blocks)


def _recovery_text(empty, came, slow):
    row = empty.loc[slow]
    known = ""
    if row["days_low"] == row["days_low"] and row["days_p50"] < RECOVERY_DAYS:
        known = f" (95 % interval: {_days(row['days_low'])} to {_days(row['days_high'])})"
    text = (
        f"Suppose the bank is empty at dawn and its loads are cut off. In {MONTH_NAMES[slow - 1]} it is full "
        f"again within {days_in_words(row['days_p50'])}{known} in half the cases, within "
        f"{days_in_words(row['days_p90'])} in 9 of 10, while the loads come back and go on."
    )
    if row["beyond_pct"] > 0:
        text += f" {say.percent(row['beyond_pct'] / 100.0)} of the cases take more than {RECOVERY_DAYS} days."
    told = (came["n"] >= FEWEST) & (came["days_p50"] > empty["days_p50"])
    if told.any() and told.sum() == (came["n"] >= FEWEST).sum():
        text += " After a real dull spell it takes longer, since dull weather often goes on."
    return text


def _days(value):
    return f"over {RECOVERY_DAYS}" if value >= RECOVERY_DAYS else number(value, 1 if value < 9.95 else 0)


def _recovery_table(months, empty, came):
    rows = []
    for month in months:
        one, other = empty.loc[month], came.loc[month]
        share = (
            "none seen"
            if other["n"] == 0
            else f"{say.percent(other['years_pct'] / 100.0)} "
            f"({say.between(other['years_pct_low'], other['years_pct_high'])})"
        )
        told = other["n"] >= FEWEST
        middle = f"{_days(one['days_p50'])} ({_days(one['days_low'])}–{_days(one['days_high'])})"
        if one["days_low"] != one["days_low"]:
            middle = _days(one["days_p50"])
        rows.append(
            [
                MONTH_NAMES[month - 1],
                middle,
                _days(one["days_p90"]),
                share,
                _days(other["days_p50"]) if told else "–",
                _days(other["days_p90"]) if told else "–",
            ]
        )
    return Table(
        caption="Days until the bank is full again, by the month in which it starts",
        header=[
            "Month",
            "From empty, half the time",
            "9 of 10 times",
            "Years that saw a deep dawn or a cut-off",
            "Then, half the time",
            "9 of 10 times",
        ],
        rows=rows,
        align="lrrrrr",
        note="In brackets 95 % intervals. A deep dawn lies beyond the planning depth. – stands where fewer than "
        f"{FEWEST} years saw one.",
    )


def span(low, high):
    """A class of lengths in words: ``1 to 2 hours``, ``over 72 hours``.

    Parameters
    ----------
    low, high : float
        Ends of the class [h].
    """
    low, high = int(low), int(high)
    if high > 8000:
        return f"over {low - 1} hours"
    return f"{low} to {high} hours"


def _lengths_text(lengths):
    if not (lengths["events"] > 0).any():
        return "In the years drawn no essential load went dark, not for an hour; the table says what they rule out."
    most = lengths.loc[lengths["events"].idxmax()]
    last = lengths[lengths["events"] > 0].iloc[-1]
    text = (
        f"Most losses of essential power last {span(most['from_h'], most['to_h'])}: "
        f"{say.rounded(most['events'], most['events_low'], most['events_high'])} a year."
    )
    if last["from_h"] != most["from_h"]:
        text += (
            f" The longest, {span(last['from_h'], last['to_h'])}, come in "
            f"{say.percent(last['years_pct'] / 100.0)} of the years."
        )
    return text


def _lengths_table(lengths):
    rows = [
        [
            span(row["from_h"], row["to_h"]),
            f"{say.rounded(row['events'], row['events_low'], row['events_high'])} "
            f"({say.between(row['events_low'], row['events_high'])})",
            f"{say.percent(row['years_pct'] / 100.0)} ({say.between(row['years_pct_low'], row['years_pct_high'])})",
            say.rounded(
                row["eue_essential_kwh"],
                row["eue_essential_kwh_low"],
                row["eue_essential_kwh_high"],
            ),
        ]
        for _, row in lengths.iterrows()
    ]
    return Table(
        caption="Times without essential power, by how long they last",
        header=["Length", "Events a year", "Years that have any", "Unserved, kWh a year"],
        rows=rows,
        align="lrrr",
        note="Means over the years, in brackets 95 % intervals.",
    )
