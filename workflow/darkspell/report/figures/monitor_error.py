"""How far the monitor's reading strays from the bank."""

import numpy as np

from darkspell.core.constants import constant
from darkspell.core.messages import _
from darkspell.report.figures.labels import beside, month_axis
from darkspell.report.figures.layout import MARGIN_MM, Finding, Page, row_name, text_width
from darkspell.report.figures.number_format import known, name_in_words
from darkspell.report.figures.style import ACCENT, ACCENT_LIGHT, FAINT, INK, SMALL, WORDS

UPPER_MM, ROW_MM = 50, 8.0
MOST_MONITORS = 6


def errors_of(results):
    """Rows of monitors.csv on the error in 95 % of hours, the monitor that the owner reads first.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    rows = results.monitors
    rows = rows[rows["statistic"] == "reading_error_p95_pct"].reset_index(drop=True)
    first = rows["monitor"] == results.study.monitor
    return rows.loc[[*rows.index[first], *rows.index[~first]]].head(MOST_MONITORS).reset_index(drop=True)


def finding(results):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.figures.layout.Finding
    """
    rows = errors_of(results)
    said = [f"{name_in_words(row['monitor'])}: {_error(row)}" for _index, row in rows.iterrows()]
    first = rows.iloc[0]
    title = _("The monitor {quoted} reads within {error} points of the true charge 95 % of the time").format(
        quoted=_quoted(first), error=_error(first)
    )
    if len(rows) > 1:
        title += _("; {quoted} within {error}").format(
            quoted=_quoted(rows.iloc[1]), error=_error(rows.iloc[1])
        )
    hour = constant("statistics", "dawn_hour")
    return Finding(
        title=title,
        note=_("Reading against true state of charge, in points of per cent. {scope}").format(
            scope=results.scope
        ),
        caption=(
            _(
                "Above: mean state of charge at {hour:02d}:00 of each month, in the bank (dark) and as "
                "{quoted} reads it (orange): median, with the range of eight years of ten. Below: the error, "
                "up or down, that "
                "is exceeded 5 % of the time; mean over the years with its 95 % interval (dark bar) and the "
                "range of eight "
                "years of ten (light bar)."
            ).format(hour=hour, quoted=_quoted(first))
        ),
        alt=(
            _(
                "Above, pairs of bars by month, true charge and reading. Below, a row a monitor: error "
                "exceeded 5 % of the time, in points. {join}."
            ).format(join="; ".join(said))
        ),
    )


def draw_months(ax, true, reported):
    """State of charge at dawn by month, in the bank and on the monitor.

    Parameters
    ----------
    ax : matplotlib Axes
    true, reported : pandas.DataFrame
        Rows of months.csv, indexed by month in the order of the study year.

    Returns
    -------
    matplotlib Axes
    """
    place = np.arange(len(true))
    for rows, shift, colour, mark in ((true, -0.14, INK, "o"), (reported, 0.14, ACCENT, "D")):
        dark = mark == "o"
        ax.vlines(place + shift, rows["p10"], rows["p90"], color=colour, lw=2 if dark else 1.1)
        ax.plot(place + shift, rows["p50"], mark, color=colour, ms=4, mfc=colour if dark else "white")
    lowest = np.nanmin([true["p10"], reported["p10"]], initial=100)
    floor = max(0, int(lowest - 5) // 20 * 20)
    ticks = range(floor, 101, 20 if floor < 60 else 10)
    ax.set_ylim(floor, 100 + 0.03 * (100 - floor))
    ax.set_yticks(ticks, [f"{tick} %" for tick in ticks])
    ax.grid(axis="y")
    ax.set_title(_("state of charge at dawn, mean of the month"), color=WORDS, pad=5)
    month_axis(ax, true.index)
    labels = [
        (float(np.nan_to_num(true["p50"].iloc[-1])) + 1, _("in the bank"), INK),
        (float(np.nan_to_num(reported["p50"].iloc[-1])) - 1, _("on the monitor"), ACCENT),
    ]
    return beside(ax, len(true) - 0.55, labels, 0.6, 0.09 * (100 - floor), floor, 99)


def draw_errors(ax, rows):
    """Error in 95 % of hours, a row a monitor.

    Parameters
    ----------
    ax : matplotlib Axes
    rows : pandas.DataFrame
        Of monitors.csv.

    Returns
    -------
    matplotlib Axes
    """
    for place, row in rows.iterrows():
        ax.axhline(place, color=FAINT, lw=0.4, zorder=0)
        ax.hlines(place, row["year_low"], row["year_high"], color=ACCENT_LIGHT, lw=6, zorder=1)
        ax.hlines(place, row["mean_low"], row["mean_high"], color=INK, lw=2, zorder=2)
        ax.plot(row["mean"], place, "o", color=INK, ms=5, zorder=3)
        ax.annotate(_error(row), (1, place), (6, 0), xycoords=("axes fraction", "data"),
                    textcoords="offset points", va="center", size=SMALL, color=WORDS)  # fmt: skip
    largest = np.nanmax(rows[["mean", "mean_high", "year_high"]].to_numpy(float), initial=1.0)
    ax.set_xlim(0, 1.05 * largest)
    ax.set_ylim(len(rows) - 0.4, -0.6)
    ax.set_yticks(range(len(rows)), _names(rows))
    ax.tick_params(axis="y", length=0)
    ax.spines["left"].set_visible(False)
    ax.set_title(_("error exceeded 5 % of the time, points"), color=WORDS, pad=5)
    return ax


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
    words, rows = finding(results), errors_of(results)
    lower = ROW_MM * len(rows)
    sheet = Page(words, 8 + lower + 19 + UPPER_MM + 7)
    months = (results.month(f"dawn_soc_{kind}_pct") for kind in ("true", "reported"))
    draw_months(sheet.axes(14, 8 + lower + 19, 112, UPPER_MM), *months)
    left = MARGIN_MM + 3 + 1.04 * max(text_width(line) for name in _names(rows) for line in name.split("\n"))
    draw_errors(sheet.axes(left, 8, 126 - left, lower), rows)
    return sheet, words


def _names(rows):
    """Names of the monitors with their kind, where the name does not say it."""
    words = zip(rows["monitor"], rows["kind"], strict=True)
    return [
        row_name(name_in_words(name) + (f" ({kind})" if kind not in name else ""), 60.0)
        for name, kind in words
    ]


def _error(row):
    return known(row["mean"], row["mean_low"], row["mean_high"])


def _quoted(row):
    return f"\u201c{name_in_words(row['monitor'])}\u201d"
