"""What the years bring: the bank's capacity, and the target as it wears."""

import numpy as np

from darkspell.core.messages import _
from darkspell.report.figures.labels import beside
from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.number_format import known, number, plain, target_in_words
from darkspell.report.figures.style import ACCENT, GREY, INK, INK_LIGHT, INK_MIDDLE, SMALL, WORDS

STAGES = ("commissioning", "mid-life", "end of life")
UPPER, LOWER = (16, 63, 104, 42), (16, 11, 104, 38)


def finding(results):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.figures.layout.Finding
    """
    table = results.table("ageing").set_index("stage")
    end = table.loc["end of life"]
    worn = _("worn out after about {years}").format(years=_years(end))
    if "target missed" not in table.index:
        title = _("The bank is {worn}, and meets the target until then").format(worn=worn)
    elif table.loc["target missed", "years"] == 0:
        missed = _("The target is missed from the beginning")
        if table.loc["commissioning", "value"] <= table.loc["target missed", "value"]:
            missed = _("Whether the target is met at first is not sure enough")
        title = _("{missed}; the bank is {worn}").format(missed=missed, worn=worn)
    else:
        title = _("The target stops being met after about {years}; the bank is {worn}").format(
            years=_years(table.loc["target missed"]), worn=worn
        )
    what = target_in_words(results.study.target.statistic).words
    return Finding(
        title=title,
        note=_("Capacity of the bank over the years, and {what} at three stages of its life. {scope}").format(
            what=what, scope=results.scope
        ),
        caption=(
            _(
                "Above: capacity over rated in a typical bank of the kind; the band holds 8 banks of 10, "
                "since like banks do not live alike. Below: the target's statistic with the bank new, in "
                "mid-life and worn, each with what it may be at this site (95 %), at the years of a "
                "typical bank, joined by straight lines. The years follow from rated lives of the kind, "
                "not of a make."
            )
        ),
        alt="; ".join(
            _("{stage}: {capacity_pct} % after {years} years, {what} {known}").format(
                stage=stage,
                capacity_pct=number(row["capacity_pct"]),
                years=number(row["years"], 0),
                what=what,
                known=known(row["value"], row["low"], row["high"]),
            )
            for stage, row in table.loc[list(STAGES)].iterrows()
        ),
    )


def draw_capacity(ax, table):
    """Capacity over the years, with its spread and the year in which the target stops being met.

    Parameters
    ----------
    ax : matplotlib Axes
    table : pandas.DataFrame
        As ageing.csv, indexed by stage.

    Returns
    -------
    matplotlib Axes
    """
    stages = table.loc[list(STAGES)]
    capacity = stages["capacity_pct"].to_numpy(float)
    ax.fill_betweenx(capacity, stages["years_low"], stages["years_high"], color=INK_LIGHT, lw=0, zorder=1)
    ax.plot(stages["years"], capacity, color=INK, zorder=3)
    ax.plot(stages["years"], capacity, "o", color=INK, ms=4.5, zorder=4, clip_on=False)
    end, span = float(stages["years_high"].iloc[-1]), capacity[0] - capacity[-1]
    ax.set_xlim(0, 1.03 * end)
    ax.set_ylim(capacity[-1] - 0.22 * span, capacity[0] + 0.3 * span)
    ticks = np.unique(np.round(capacity))
    ax.set_yticks(ticks, [f"{number(tick)} %" for tick in ticks])
    ax.grid(axis="y")
    ax.set_title(_("capacity over rated"), color=WORDS, pad=5)
    if "target missed" in table.index:
        missed = table.loc["target missed"]
        at = missed["capacity_pct"]
        ax.hlines(at, missed["years_low"], missed["years_high"], color=ACCENT, lw=1.6, zorder=5)
        ax.plot(missed["years"], at, "D", mfc="white", mec=ACCENT, ms=5, zorder=6, clip_on=False)
        where = (7, 7)
        ax.annotate(
            _("target missed"),
            (missed["years"], at),
            where,
            textcoords="offset points",
            color=ACCENT,
            size=SMALL,
        )
    labels = [(capacity[-1] + 0.3 * span, _("8 banks of 10"), INK_MIDDLE), (capacity[-1], "worn", INK)]
    return beside(ax, 1.035 * end, labels, 0.04 * end, 0.13 * span, capacity[-1] - 0.1 * span, capacity[0])


def draw_target(ax, table, at_most, what, last):
    """The target's statistic at the three stages, and the target itself.

    Parameters
    ----------
    ax : matplotlib Axes
    table : pandas.DataFrame
        As ageing.csv, indexed by stage.
    at_most : float
        The target, in the statistic's unit.
    what : str
        What is counted, with its unit.
    last : float
        End of the axis of years.

    Returns
    -------
    matplotlib Axes
    """
    stages = table.loc[list(STAGES)]
    ax.plot(stages["years"], stages["value"], color=INK_MIDDLE, lw=0.9, ls=(0, (4, 2)), zorder=2)
    ax.vlines(stages["years"], stages["low"], stages["high"], color=INK, lw=1.4, clip_on=False)
    ax.plot(stages["years"], stages["value"], "o", color=INK, ms=4.5, zorder=4, clip_on=False)
    ax.axhline(at_most, color=GREY, lw=0.8)
    top = 1.1 * max(float(stages["high"].max()), at_most, 1e-9)
    ax.set_xlim(0, last)
    ax.set_ylim(0, top)
    ax.grid(axis="y")
    ax.set_title(what, color=WORDS, pad=5)
    ax.set_xlabel(_("years since now"))
    return beside(
        ax,
        last * 1.005,
        [(at_most, _("target, {at_most}").format(at_most=plain(at_most)), GREY)],
        0.04 * last,
        0.1 * top,
        0,
        top,
    )


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
    words, table = finding(results), results.table("ageing").set_index("stage")
    sheet = Page(words, UPPER[1] + UPPER[3] + 7)
    upper = draw_capacity(sheet.axes(*UPPER), table)
    target = results.study.target
    what = f"{target_in_words(target.statistic).words}, {target_in_words(target.statistic).unit}"
    draw_target(sheet.axes(*LOWER), table, target.at_most, what, upper.get_xlim()[1])
    return sheet, words


def _years(row):
    """``22 years (8 banks of 10: 16 to 31)``."""
    low, high = number(row["years_low"]), number(row["years_high"])
    return _("{years} years (8 banks of 10: {low} to {high})").format(
        years=number(row["years"]), low=low, high=high
    )
