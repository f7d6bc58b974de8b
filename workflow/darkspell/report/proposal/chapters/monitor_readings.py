"""What the monitor will show, and how far to trust it."""

import numpy as np

from darkspell.core.messages import N_, _
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.localization import month_name
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.figures.number_format import name_in_words

OFTEN_LOW = (
    0.15  # share of years above which the tenth percentile is a level that many years reach; our choice
)
POINTS = N_("no points"), N_("{range} points")
HOURS = N_("no hours"), N_("{range} hours")
MONITOR_ROWS = (
    ("reading_error_p95_pct", N_("Error, exceeded 5 % of the time [points]")),
    ("off_5_points_h", N_("Off by more than 5 points [hours a year]")),
    ("off_10_points_h", N_("Off by more than 10 points [hours a year]")),
    ("off_20_points_h", N_("Off by more than 20 points [hours a year]")),
    ("missed_warning_h", N_("Missed warning [hours a year]")),
    ("false_alarm_h", N_("False alarm [hours a year]")),
    ("reset_days", N_("Days on which it finds the bank full [days a year]")),
    ("premature_reset_days", N_("Days on which it does so too early [days a year]")),
)


def section(results):
    """The section on the monitor.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    name = results.study.monitor
    blocks = [Paragraph(text) for text in (_depths(results), _trust(results, name)) if text]
    blocks += figure(results, "monitor_error")
    blocks += [table for table in (_months(results), _monitors(results)) if table]
    return Section(_heading(results, name), blocks)


def _row(results, monitor, statistic):
    rows = results.monitors
    if not len(rows):
        return None
    found = rows[(rows["monitor"] == monitor) & (rows["statistic"] == statistic)]
    return found.iloc[0] if len(found) else None


def _heading(results, name):
    label = say.given(name_in_words(name))
    error = _row(results, name, "reading_error_p95_pct")
    if error is None:
        return _("What the monitor will show")
    return _("Monitor “{label}” is within {mean} points of the true charge 95 % of the time").format(
        label=label, mean=_mean(error)
    )


def _depths(results):
    """Lowest charge of a year, as the display shows it and as it is."""
    true, read = (results.summary.get(f"annual_max_depth_{kind}") for kind in ("true", "reported"))
    if not true or not read:
        return ""
    return _(
        "In the lowest hour of a year the display will show {charge} %, while the bank holds "
        "{charge_2} % (eight years of ten). {lowest}"
    ).format(charge=_charge(read), charge_2=_charge(true), lowest=_lowest(results, true))


def _lowest(results, true):
    """How low the bank falls in a bad year, with the share of years that reach it: many may end at the cut-off."""
    lowest = 100.0 - true["value"]
    share = float((results.members["max_depth_true_pct"] >= true["value"] - 0.5).mean()) if (
        "max_depth_true_pct" in results.members) else 0.1  # fmt: skip
    if share > OFTEN_LOW:
        return _("In {share} of the years the bank falls to about {lowest:.0f} %.").format(
            share=say.percent(round(share, 2)), lowest=lowest
        )
    return _("In one year in ten the bank falls to {lowest:.0f} % or lower{interval}.").format(
        lowest=lowest, interval=_interval(true)
    )


def _charge(entry):
    """Range of a coming year of the lowest state of charge [%], from an entry of greatest depths."""
    return say.span(100.0 - entry["year_high"], 100.0 - entry["year_low"])


def _interval(entry):
    if entry["place_low"] is None or entry["place_high"] is None:
        return ""
    low, high = (f"{100 - entry[f'place_{end}']:.0f}" for end in ("high", "low"))
    return "" if low == high else " " + _("(95 % at this site: {low} to {high} %)").format(low=low, high=high)


def _trust(results, name):
    comfort, error = (_row(results, name, key) for key in ("missed_warning_h", "reading_error_p95_pct"))
    if comfort is None or error is None:
        return ""
    warn = results.study.monitors[name].warn_below_soc_pct
    parts = [
        _(
            "How far to trust it: 95 % of the time the reading is within {mean} points of the true "
            "charge, averaged over the years{bounds}. {one_year}"
        ).format(mean=_mean(error), bounds=_bounds(error), one_year=_one_year(error, POINTS)),
        _(
            "It misses a warning, showing more than {warn:g} % while less is left, for {mean} hours "
            "a year on average{bounds}. {one_year}"
        ).format(warn=warn, mean=_mean(comfort), bounds=_bounds(comfort), one_year=_one_year(comfort, HOURS)),
    ]
    gauges = [key for key, monitor in results.study.monitors.items() if monitor.kind == "gauge"]
    if gauges:
        labels = say.listed(f"“{say.given(name_in_words(key))}”" for key in gauges)
        parts.append(
            _(
                "{labels} only estimates the charge from the voltage: take it as a warning, not as a measurement."
            ).format(labels=labels)
        )
    return " ".join(parts)


def _mean(row):
    return say.rounded(row["mean"], row["mean_low"], row["mean_high"], least=0)


def _bounds(row):
    if row["mean_low"] == row["mean_high"]:
        return ""
    return " " + _("(95 % interval: {interval})").format(
        interval=say.between(row["mean_low"], row["mean_high"], least=0)
    )


def _one_year(row, words):
    """What a coming year may bring; `words` with no amount and with a range."""
    low, high = row["year_low"], row["year_high"]
    if not np.isfinite([low, high]).all():
        return ""
    nothing, some = map(_, words)
    spread = nothing if low == high == 0 else some.format(range=say.between(low, high))
    return _("In eight coming years of ten it is {spread}.").format(spread=spread)


def _months(results):
    read, true, full, deep = (
        results.month(name)
        for name in (
            "dawn_soc_reported_pct",
            "dawn_soc_true_pct",
            "days_with_full_charge",
            "max_depth_reported_pct",
        )
    )
    if not len(read):
        return None
    rows = [
        [
            month_name(month),
            month_band(read, month),
            month_band(true, month),
            month_band(deep, month, lambda depth: 100.0 - depth),
            month_band(full, month),
        ]
        for month in results.calendar.month_order + 1
    ]
    return Table(
        caption=_("Reading and true state of charge, by month"),
        header=[
            _("Month"),
            _("Reading at dawn, %"),
            _("In the bank at dawn, %"),
            _("Lowest reading, %"),
            _("Days with a full charge"),
        ],
        rows=rows,
        align="lrrrr",
        note=_(
            "A typical year (median), and in brackets the range of a coming year (eight years of "
            "ten). A reading at dawn is the mean of its month."
        ),
    )


def month_band(rows, month, turn=None):
    """Median and 80 % range of one month: ``61 (40\u201378)``.

    Parameters
    ----------
    rows : pandas.DataFrame
        Of months.csv, indexed by month, with p10, p50 and p90.
    month : int
        1-12.
    turn : callable, optional
        Applied to each value, such as depth to state of charge.

    Returns
    -------
    str
    """
    values = [rows[name][month] for name in ("p10", "p50", "p90")]
    values = sorted(map(turn, values)) if turn else values
    low, mid, high = (f"{value:.0f}" for value in values)
    return mid if low == high else f"{mid} ({low}\u2013{high})"


def _monitors(results):
    names = list(dict.fromkeys(results.monitors["monitor"])) if len(results.monitors) else []
    rows = []
    for statistic, label in MONITOR_ROWS:
        found = [_row(results, name, statistic) for name in names]
        if any(row is not None for row in found):
            rows.append([_(label), *(_cell(row) for row in found)])
    if not rows:
        return None
    labels = [sentence_of(name) for name in names]
    return Table(
        caption=_("How the monitors err"),
        header=["", *labels],
        rows=rows,
        align="l" + "r" * len(names),
        note=_(
            "Mean over the years, with its 95 % interval. A point is one per cent of the bank's "
            "charge. Missed warning: it shows more than its warning level while the bank holds less. "
            "False alarm: the reverse."
        ),
    )


def sentence_of(name):
    """A monitor's name for a table's head.

    Parameters
    ----------
    name : str
        Key of the monitor in the study.
    """
    return say.given(name_in_words(name))


def _cell(row):
    if row is None:
        return "–"
    if row["mean"] == 0 and row["mean_high"] <= 0.05:
        return _("none seen")
    return f"{_mean(row)} ({say.between(row['mean_low'], row['mean_high'], least=0)})"
