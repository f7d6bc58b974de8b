"""How the monitors stray as the last full charge recedes."""

import numpy as np

from darkspell.core.messages import _
from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.number_format import name_in_words
from darkspell.report.figures.style import ACCENT, ACCENT_LIGHT, GREY, INK, SMALL, WORDS

MOST_MONITORS = 4
LEAST_SHARE = 0.05  # per cent of hours, below which a class is not drawn
BODY_MM = 52
MINUS, DASH = "\u2212", "\u2013"


def rows_of(results):
    """Rows by days since full of the monitors drawn, the owner's first; list of (name, DataFrame).

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    drift = results.table("monitor_error_percentiles")
    drift = drift[(drift["by"] == "days_since_full") & (drift["share_pct"] >= LEAST_SHARE)]
    names = sorted(drift["monitor"].unique(), key=lambda name: name != results.study.monitor)
    return [(name, drift[drift["monitor"] == name].reset_index(drop=True)) for name in names[:MOST_MONITORS]]


def finding(results):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.figures.layout.Finding
    """
    monitors = rows_of(results)
    said = [_said(name, rows) for name, rows in monitors]
    shown, title = "; ".join(said), "; ".join(said[:2])
    return Finding(
        title=title[:1].upper() + title[1:],
        note=_("Reading minus true charge, in points, by whole days since the bank was full. {scope}").format(
            scope=results.scope
        ),
        caption=(
            _(
                "Each panel is one monitor on the same years. The line is the middle hour, the dark band "
                "holds half of the hours and the light band eight of ten; above zero the monitor shows "
                "more than there is."
            )
        ),
        alt=_("Panels of bands around zero, one a monitor, by days since full. {shown}.").format(shown=shown),
    )


def _said(name, rows):
    last = rows.iloc[-1]
    return _("{name}: {range} points on the day of a full charge, {range_2} after {days}").format(
        name=name_in_words(name), range=_span(rows.iloc[0]), range_2=_span(last), days=_days(last["group"])
    )


def _span(row):
    low, high = (_signed(row[key]) for key in ("p10", "p90"))
    return low if low == high else _("{low} to {high}").format(low=low, high=high)


def _signed(value):
    points = round(float(value))
    return "0" if points == 0 else f"{points:+d}".replace("-", MINUS)


def _days(group):
    group = str(group)
    if group.endswith("+"):
        return _("{group} days or more").format(group=group[:-1])
    return (_("{range} day") if group == "1" else _("{range} days")).format(range=_dashed(group))


def _from(group):
    """Where a class of days begins, short enough for narrow panels."""
    return str(group).split("-")[0]


def _dashed(group):
    return str(group).replace("-", DASH)


def draw_drift(ax, rows, limits):
    """Bands of one monitor's error by class of days since full.

    Parameters
    ----------
    ax : matplotlib Axes
    rows : pandas.DataFrame
        Of monitor_error_percentiles.csv.
    limits : (float, float)
        Of the error [points], shared by the panels.

    Returns
    -------
    matplotlib Axes
    """
    place = np.arange(len(rows))
    ax.fill_between(place, rows["p10"], rows["p90"], color=ACCENT_LIGHT, lw=0)
    ax.fill_between(place, rows["p25"], rows["p75"], color=ACCENT, alpha=0.55, lw=0)
    ax.plot(place, rows["p50"], color=INK, lw=1.4)
    ax.axhline(0, color=GREY, lw=0.8)
    ax.set_ylim(*limits)
    ax.set_xlim(-0.2, max(len(rows) - 0.8, 0.2))
    ax.set_xticks(place, [_from(group) for group in rows["group"]], size=SMALL)
    ax.grid(axis="y")
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
    words, monitors = finding(results), rows_of(results)
    sheet = Page(words, BODY_MM + 20)
    everything = np.concatenate([rows[["p10", "p90"]].to_numpy().ravel() for _index, rows in monitors])
    reach = max(2.0, 1.1 * float(np.nanmax(np.abs(everything), initial=0)))
    width = (160 - 14 - 4 - 6 * (len(monitors) - 1)) / len(monitors)
    for at, (name, rows) in enumerate(monitors):
        ax = sheet.axes(14 + at * (width + 6), 12, width, BODY_MM)
        draw_drift(ax, rows, (-reach, reach))
        ax.set_title(name_in_words(name), color=WORDS, pad=5)
        if at:
            ax.set_yticklabels([])
        ax.set_xlabel(_("days since full, from"), color=WORDS)
        for place, word in ((0.98, _("reads too high")), (0.02, _("reads too low"))):
            if at == 0:
                ax.text(
                    0.03, place, word, transform=ax.transAxes, va="top" if place > 0.5 else "bottom", size=SMALL,
                    color=WORDS,
                )  # fmt: skip
    return sheet, words
