"""The year with people as they are, and with people who save while the monitor reads low."""

import numpy as np

from darkspell.core.messages import _
from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.number_format import known, number
from darkspell.report.figures.style import GREY, INK, SMALL, WORDS

ROW_MM, LEFT_MM, PANEL_MM = 15.0, 50, 55
SHOWN = {
    "short_nights": ("nights without power a year", "nights"),
    "lolh": ("hours without power a year", "hours"),
    "eue_kwh": ("energy not delivered a year", "kWh"),
    "max_depth_true_pct": ("deepest discharge of a year", "%"),
}


def finding(results):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.figures.layout.Finding
    """
    rows, rule = results.table("saving").set_index("statistic"), results.study.occupancy.saving
    nights, days = rows.loc["short_nights"], float(rows.loc["saving_days", "with"])
    spared = _("no nights without power for certain")
    if nights["verdict"] == "real" and nights["difference"] < 0:
        spared = _("{known} nights without power").format(
            known=known(-nights["difference"], -nights["high"], -nights["low"])
        )
    return Finding(
        title=_("{days} days of saving a year spare {spared}").format(
            days=number(days, 0 if days >= 3 else 1), spared=spared
        ),
        note=_("A year without (dot) and with saving (ring); losses are best guesses. {scope}").format(
            scope=results.scope
        ),
        caption=(
            _(
                "Once the monitor reads below {below_soc_pct} % at 18:00, people use {less_pct} % less "
                "until it reads {until_soc_pct} % again, on the same years. Right: the difference with its 95 "
                "% interval. Each "
                "row has a scale of its own, from zero."
            ).format(
                below_soc_pct=number(rule.below_soc_pct),
                less_pct=number(rule.less_pct),
                until_soc_pct=number(rule.until_soc_pct),
            )
        ),
        alt="; ".join(
            _("{what}: {loc} without, {loc_2} with saving").format(
                what=what, loc=number(rows.loc[name, "without"], 2), loc_2=number(rows.loc[name, "with"], 2)
            )
            for name, (what, _index) in SHOWN.items()
        ),
    )


def draw(ax, row, what, unit):
    """One statistic without and with saving, on a line from zero.

    Parameters
    ----------
    ax : matplotlib Axes
    row : pandas.Series
        Of saving.csv.
    what, unit : str

    Returns
    -------
    matplotlib Axes
    """
    before, after = float(row["without"]), float(row["with"])
    ax.plot([before, after], [0, 0], color=INK, lw=1.2, zorder=2)
    ax.plot(before, 0, "o", color=INK, ms=5, zorder=3, clip_on=False)
    ax.plot(after, 0, "o", mfc="white", mec=INK, ms=5, zorder=4, clip_on=False)
    top = max(before, after)
    ax.set_xlim(0, 1.1 * top if top > 0 else 1.0)
    ax.set_ylim(-1, 1)
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    ax.locator_params(axis="x", nbins=5)
    ax.tick_params(axis="x", labelsize=SMALL, labelcolor=GREY)
    ax.text(-0.03, 0.5, what, transform=ax.transAxes, ha="right", va="center", color=WORDS)
    text = known(row["difference"], row["low"], row["high"], unit) if np.isfinite(row["low"]) else ""
    ax.text(1.04, 0.5, text, transform=ax.transAxes, va="center", size=SMALL, color=WORDS)
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
    words, rows = finding(results), results.table("saving").set_index("statistic")
    sheet = Page(words, len(SHOWN) * ROW_MM + 3)
    for place, (name, labels) in enumerate(SHOWN.items()):
        bottom = (len(SHOWN) - 1 - place) * ROW_MM + 6
        draw(sheet.axes(LEFT_MM, bottom, PANEL_MM, 7), rows.loc[name], *labels)
    return sheet, words
