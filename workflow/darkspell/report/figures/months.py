"""Month by month: essential energy unserved, and how deep the bank goes."""

import numpy as np

from darkspell.core.messages import _
from darkspell.report.document.localization import month_name
from darkspell.report.figures.labels import beside, depth_limits, month_axis
from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.number_format import counted, known, number, sentence_list
from darkspell.report.figures.style import ACCENT, GREY, INK, SMALL, WORDS

UPPER, LOWER = (14, 54, 107, 24), (14, 7, 107, 38)
ALIKE = 0.25  # a month with this share of the worst month's loss is named too; our choice


def finding(results):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.figures.layout.Finding
    """
    energy, depth = results.month("eue_essential_kwh"), results.month("max_depth_true_pct")
    deepest = int(depth["p50"].idxmax()) if depth["p50"].notna().any() else int(depth.index[0])
    reached = number(100 - depth["p50"][deepest])
    depth_words = _("the bank is lowest in {month}, at {reached} % of charge in a typical year").format(
        month=month_name(deepest), reached=reached
    )
    worst = int(energy["mean"].idxmax())
    if energy["mean"][worst] <= 0:
        title = _("In {years} no essential load went unserved; {lowest}").format(
            years=counted(results.years, "{count} year", "{count} years"), lowest=depth_words
        )
    else:
        title = _("{weak}; {lowest}").format(weak=_weak(energy, worst), lowest=depth_words)
    return Finding(
        title=title,
        note=_("Unserved essential energy and lowest state of charge of each month. {scope}").format(
            scope=results.scope
        ),
        caption=(
            _(
                "Above: best guess, with its 95 % interval for this site. Below: typical year (median), with the "
                "range of eight "
                "years of ten."
            )
        ),
        alt=(
            _(
                "Two panels by month. {unserved} The median charge is lowest "
                "in {month}, {reached} %, and one year in ten falls below {lowest} % in that month."
            ).format(
                unserved=_missing_months(energy),
                month=month_name(deepest),
                reached=reached,
                lowest=number(100 - depth["p90"][deepest]),
            )
        ),
    )


def draw_unserved(ax, rows):
    """Best guess of the unserved essential energy by month with its interval.

    Parameters
    ----------
    ax : matplotlib Axes
    rows : pandas.DataFrame
        Of months.csv, indexed by month in the order of the study year.

    Returns
    -------
    matplotlib Axes
    """
    unit, scale = ("Wh", 1000.0) if rows[["place_high", "p90"]].max().max() < 1 else ("kWh", 1.0)
    place = np.arange(len(rows))
    value, low, high, p90 = (
        rows[name].to_numpy(float) * scale for name in ("value", "place_low", "place_high", "p90")
    )
    seen = rows["mean"].to_numpy(float) > 0
    ax.vlines(place[seen], low[seen], high[seen], color=INK, lw=1.4)
    ax.vlines(place[~seen], low[~seen], high[~seen], color=GREY, lw=0.8)
    ax.plot(place[seen], value[seen], "o", color=INK, ms=4)
    ax.plot(place[~seen], value[~seen], "o", mfc="white", mec=GREY, ms=3.5, clip_on=False, zorder=4)
    worse = p90 > 0
    ax.plot(place[worse] + 0.22, p90[worse], "^", mfc="white", mec=INK, ms=4)
    top = np.nanmax(np.concatenate([high, p90, [1e-9]]))
    ax.set_ylim(0, 1.12 * top)
    ax.grid(axis="y")
    ax.set_title(_("essential energy unserved, {unit} a month").format(unit=unit), color=WORDS, pad=5)
    labels = [
        (_("△ 1 year in 10 is worse"), WORDS, worse.any()),
        (_("● best guess, and how\nwell it is known"), WORDS, seen.any()),
        (_("○ none seen"), GREY, (~seen).any()),
    ]
    shown = [label[:2] for label in labels if label[2]]
    height = 0.98
    for text, colour in shown:
        ax.text(1.03, height, text, color=colour, size=SMALL, va="top", transform=ax.transAxes)
        height -= 0.06 + 0.145 * (1 + text.count("\n"))
    month_axis(ax, rows.index)
    ax.set_xticklabels([])  # the panel below has the months
    return ax


def draw_depth(ax, true, reported, bank):
    """Lowest state of charge of each month, in the bank and on its display.

    Parameters
    ----------
    ax : matplotlib Axes
    true, reported : pandas.DataFrame
        Rows of months.csv, indexed by month in the order of the study year.
    bank : darkspell.study Bank

    Returns
    -------
    matplotlib Axes
    """
    place = np.arange(len(true))
    for rows, shift, colour, mark in ((true, -0.14, INK, "o"), (reported, 0.14, ACCENT, "D")):
        ax.vlines(
            place + shift, 100 - rows["p90"], 100 - rows["p10"], color=colour, lw=2 if mark == "o" else 1.1
        )
        ax.plot(place + shift, 100 - rows["p50"], mark, color=colour, ms=4.5 if mark == "o" else 4,
                mfc=colour if mark == "o" else "white")  # fmt: skip
    ax.set_ylim(0, 100)
    limits = depth_limits(ax, bank)
    ax.set_yticks(range(0, 101, 20), [f"{tick} %" for tick in range(0, 101, 20)])
    ax.grid(axis="y")
    ax.set_title(_("lowest state of charge of the month"), color=WORDS, pad=5)
    month_axis(ax, true.index)
    last = (true.iloc[-1], reported.iloc[-1])
    labels = [
        (100 - _or(last[0]["p10"], 20), _("9 years in 10 lower"), WORDS),
        (100 - _or(last[0]["p50"], 40), _("in the bank"), INK),
        (100 - _or(last[1]["p50"], 60), _("on the display"), ACCENT),
        (100 - _or(last[0]["p90"], 80), _("1 year in 10 lower"), WORDS),
    ]
    edge = ax.get_xlim()[1]
    labels += [(*limit, edge) for limit in limits]
    return beside(ax, len(true) - 0.55, labels, 0.6, 10, 2, 97)


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
    sheet = Page(words, UPPER[1] + UPPER[3] + 9)
    draw_unserved(sheet.axes(*UPPER), results.month("eue_essential_kwh"))
    depths = (results.month(f"max_depth_{kind}_pct") for kind in ("true", "reported"))
    draw_depth(sheet.axes(*LOWER), *depths, results.study.bank)
    return sheet, words


def _weak(energy, worst):
    """The months with losses: those that lose at least a share `ALIKE` of what the worst one loses."""
    weak = energy.index[energy["mean"] >= ALIKE * energy["mean"][worst]]
    return _("Most unserved energy falls in {months}").format(
        months=sentence_list(month_name(int(month)) for month in weak)
    )


def _missing(row):
    """Best guess of the unserved energy of a month with its interval, in Wh below 1 kWh."""
    unit, scale = ("Wh", 1000) if row["place_high"] < 1 else ("kWh", 1)
    return known(row["value"] * scale, row["place_low"] * scale, row["place_high"] * scale, unit)


def _missing_months(energy):
    months = [month_name(month) for month in energy.index[energy["mean"] > 0]]
    most = month_name(energy["mean"].idxmax())
    if not months:
        return _("Unserved energy is zero in every month.")
    missing = _missing(energy.loc[energy["mean"].idxmax()])
    if len(months) == 12:
        return _("Unserved energy is seen in every month, most in {most}: best guess {missing}.").format(
            most=most, missing=missing
        )
    text = _("Unserved energy is seen in {months}, most in {most}: best guess {missing}.")
    return text.format(months=sentence_list(months), most=most, missing=missing)


def _or(value, other):
    return float(value) if np.isfinite(value) else other
