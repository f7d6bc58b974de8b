"""When loads do go dark: how long for, and how soon the bank is full again."""

from darkspell.core.messages import _
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.localization import month_name
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.figures.number_format import number
from darkspell.report.figures.recovery import days_in_words
from darkspell.statistics.recovery import AS_IT_CAME, BEGUN_EMPTY, FEWEST, RECOVERY_DAYS

HALF = 0.5  # share above which "most" is said


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
    heading = _("Emptied in {month}, the bank needs {days_in_words} to be full again").format(
        month=month_name(slow), days_in_words=days_in_words(row["days_p50"])
    )
    blocks = [Paragraph(_recovery_text(empty, came, slow)), *figure(results, "recovery")]
    blocks.append(_recovery_table(months, empty, came, 100 - results.study.bank.planning_depth_pct))
    lengths = results.table("event_lengths")
    if len(lengths):
        blocks += [Paragraph(_lengths_text(lengths)), _lengths_table(results, lengths)]
    return Section(heading, blocks)


def _recovery_text(empty, came, slow):
    row = empty.loc[slow]
    known = ""
    if row["days_low"] == row["days_low"] and row["days_p50"] < RECOVERY_DAYS:
        known = " " + _("(95 % interval: {days} to {days_2})").format(
            days=_days(row["days_low"]), days_2=_days(row["days_high"])
        )
    text = _(
        "Suppose the bank is empty at dawn and its loads are cut off. In {month} it is full "
        "again within {days_in_words}{known} in half the cases, within {days_in_words_2} in 9 of "
        "10. The loads are reconnected on the way and run on."
    ).format(
        month=month_name(slow),
        days_in_words=days_in_words(row["days_p50"]),
        known=known,
        days_in_words_2=days_in_words(row["days_p90"]),
    )
    if row["beyond_pct"] > 0:
        text += " " + _("{beyond_pct} of the cases take more than {RECOVERY_DAYS} days.").format(
            beyond_pct=say.percent(row["beyond_pct"] / 100.0), RECOVERY_DAYS=RECOVERY_DAYS
        )
    told = (came["n"] >= FEWEST) & (came["days_p50"] > empty["days_p50"])
    if told.any() and told.sum() == (came["n"] >= FEWEST).sum():
        text += " " + _(
            "After a dull spell in the simulated weather it takes longer, since dull weather often goes on."
        )
    return text


def _days(value):
    return (
        _("over {RECOVERY_DAYS}").format(RECOVERY_DAYS=RECOVERY_DAYS)
        if value >= RECOVERY_DAYS
        else number(value, 1 if value < 9.95 else 0)
    )


def _recovery_table(months, empty, came, usual):
    rows = []
    for month in months:
        one, other = empty.loc[month], came.loc[month]
        share = (
            _("none seen")
            if other["n"] == 0
            else f"{say.rounded(*(other[f'years_pct{end}'] for end in ('', '_low', '_high')))} % "
            f"({say.between(other['years_pct_low'], other['years_pct_high'])})"
        )
        told = other["n"] >= FEWEST
        middle = f"{_days(one['days_p50'])} ({_days(one['days_low'])}–{_days(one['days_high'])})"
        if one["days_low"] != one["days_low"]:
            middle = _days(one["days_p50"])
        rows.append(
            [
                month_name(month),
                middle,
                _days(one["days_p90"]),
                share,
                _days(other["days_p50"]) if told else "–",
                _days(other["days_p90"]) if told else "–",
            ]
        )
    return Table(
        caption=_("Days until the bank is full again, by the month in which it starts"),
        header=[
            _("Month"),
            _("From empty, half the time"),
            _("9 of 10 times"),
            _("Years with a very low dawn or a cut-off"),
            _("Then, half the time"),
            _("9 of 10 times"),
        ],
        rows=rows,
        align="lrrrrr",
        note=_(
            "In brackets 95 % intervals. A very low dawn is below the usual lowest charge, {usual:g} %. – means that "
            "fewer than {FEWEST} years saw one."
        ).format(FEWEST=FEWEST, usual=usual),
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
        return _("over {low} hours").format(low=low - 1)
    return _("{low} to {high} hours").format(low=low, high=high)


def _lengths_text(lengths):
    if not (lengths["events"] > 0).any():
        return _(
            "In the simulated years no essential load went dark, not for an hour; the table says what "
            "they rule out."
        )
    most = lengths.loc[lengths["events"].idxmax()]
    last = lengths[lengths["events"] > 0].iloc[-1]
    part = float(most["events"] / lengths["events"].sum())
    lead = _("Most losses of essential power last {range}: {share} of them.")
    if part <= HALF:
        lead = _("Losses of essential power most often last {range}: {share} of them.")
    text = lead.format(range=span(most["from_h"], most["to_h"]), share=say.percent(round(part, 2)))
    if last["from_h"] != most["from_h"]:
        text += " " + _("The longest last {range}.").format(range=span(last["from_h"], last["to_h"]))
    return text


def _lengths_table(results, lengths):
    """Events and energy by length, scaled so that they add up to the best guesses of the year."""
    times, energy = (best_guess_over_mean(results, key) for key in ("events", "eue_essential_kwh"))
    total = float(lengths["events"].sum())
    rows = []
    for _index, row in lengths.iterrows():
        events, low, high = (times * row[name] for name in ("events", "events_low", "events_high"))
        unserved = (energy * row[f"eue_essential_kwh{end}"] for end in ("", "_low", "_high"))
        share = say.percent(float(row["events"]) / total) if total else "–"
        known = f"{say.rounded(events, low, high)} ({say.between(low, high)})"
        rows.append([span(row["from_h"], row["to_h"]), share, known, say.rounded(*unserved)])
    return Table(
        caption=_("Times without essential power, by how long they last"),
        header=[_("Length"), _("Share"), _("Events a year"), _("Unserved, kWh a year")],
        rows=rows,
        align="lrrr",
        note=_(
            "Each row has its share of the average; the rows add up to the best guess of the year (headline "
            "figures). In brackets the sampling error, 95 %."
        ),
    )


def best_guess_over_mean(results, key):
    """Best guess of a loss over its mean of years [-]: what scales a part of the mean to a part of the best guess.

    Parameters
    ----------
    results : darkspell.report.results.Results
    key : str
        Of a headline.
    """
    entry = results.summary.get(key) or {}
    return entry["value"] / entry["mean"] if entry.get("mean") else 1.0
