"""Causes of the uncertainty of each headline, and what the next better climate source would leave."""

import numpy as np

from darkspell.core.messages import N_, _
from darkspell.report.figures.layout import Finding, Page, text_width
from darkspell.report.figures.number_format import sentence_list, target_in_words
from darkspell.report.figures.style import ACCENT, GREY, INK, INK_LIGHT, SMALL, WORDS
from darkspell.statistics.registry import TARGETS

NAMES = {
    "short_nights": N_("Nights without\nessential power"),
    "lolh": N_("Hours without\nessential power"),
    "eue_kwh": N_("Energy not delivered"),
    "longest_event_h": N_("Longest time\nwithout power"),
    "longest_full_charge_interval_days": N_("Longest time\nwithout a full bank"),
    "spilled_kwh": N_("Unused\nsolar energy"),
}
PARTS = (
    ("loads", N_("loads"), ACCENT, ""),
    ("climate", N_("climate source"), INK, ""),
    ("bank", N_("bank"), GREY, ""),
    ("weather", N_("weather of the year"), INK_LIGHT, ""),
    ("sampling", N_("number of years"), "white", "////"),
)
SOURCES = {"monthly": N_("twelve monthly values of sunshine"), "measured": N_("years of measured sunshine")}
SHORT = {"monthly": N_("monthly values"), "measured": N_("measured years")}
LEAST_SHARE = 0.005  # of the variance, that the title names; half a per cent
TOP = -0.68  # of the rows' axis: room for a label above the first
ROW_MM, LEAST = 11.5, 0.02  # the axis of ratios begins no lower
TENS, BETWEEN = (0.1, 1, 10, 100, 1000), (0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20)
MANY_TIMES = 100  # an axis of ratios this wide has a label at each power of ten only; our choice


def told(results):
    """Rows of uncertainty.csv that the figure shows: what is known, in the order of `NAMES`.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    rows = results.table("uncertainty")
    if not len(rows):
        return rows
    rows = rows.set_index("figure").reindex([name for name in NAMES if name in set(rows["figure"])])
    return rows[
        np.isfinite(rows["place_low"]) & np.isfinite(rows["place_share_climate"]) & (rows["value"] > 0.0)
    ]


def drawable(results):
    """Whether enough parameter draws were drawn, and enough was lost, to tell anything.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    bool
    """
    return len(told(results)) > 0


def shares(row, kind):
    """Shares of one bar in the order of `PARTS`; kind is "place" or "year".

    Parameters
    ----------
    row : pandas.Series
        A row of uncertainty.csv.
    kind : {"place", "year"}
    """
    return [float(row.get(f"{kind}_share_{part}", 0.0)) for part, *_index in PARTS]


def finding(results, rows):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : darkspell.report.results.Results
    rows : pandas.DataFrame
        Rows of the table.

    Returns
    -------
    darkspell.report.figures.layout.Finding
    """
    target = results.study.target.statistic
    key = TARGETS[target].yearly
    row = rows.loc[key] if key in rows.index else rows.iloc[0]
    what = target_in_words(target).words if key in rows.index else _(NAMES[rows.index[0]]).replace("\n", " ")
    order = sorted(
        ((row[f"place_share_{part}"], name) for part, name, *_index in PARTS if part != "weather"),
        reverse=True,
    )
    named = [(100 * share, _(name)) for share, name in order if share >= LEAST_SHARE]
    first = _("{share:.0f}\u00a0% of the uncertainty of the {what} comes from the {name}")
    others = _("{share:.0f}\u00a0% from the {name}")
    parts = [
        (others if at else first).format(share=share, name=name, what=what)
        for at, (share, name) in enumerate(named)
    ]
    better = _(SOURCES.get(row["next_source"], ""))
    caption = _(
        "Upper bar of each pair: the uncertainty of the long-run average at this site. Lower "
        "bar: what makes one coming year differ from the average. Right: 95 % interval of the average, divided by "
        "its best estimate, cut at {LEAST}"
    ).format(LEAST=LEAST) + (
        _("; dark: as it is, grey: with {better}.").format(better=better) if better else "."
    )
    return Finding(
        title=sentence_list(parts),
        note=_("Shares of the variance, and 95 % intervals. {scope}").format(scope=results.scope),
        caption=caption,
        alt="; ".join(_alt(name, row) for name, row in rows.iterrows()) + ".",
    )


def _alt(name, row):
    parts = ", ".join(
        f"{_(words)} {100 * row[f'place_share_{part}']:.0f} %"
        for part, words, *_index in PARTS
        if part != "weather"
    )
    return _("{replace}: {parts}; {year_share_weather:.0f} % of one year is weather").format(
        replace=_(NAMES[name]).replace(chr(10), " "),
        parts=parts,
        year_share_weather=100 * row["year_share_weather"],
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
    rows = told(results)
    words = finding(results, rows)
    left = 4 + 1.04 * max(text_width(line) for name in rows.index for line in _(NAMES[name]).split("\n"))
    height = max(2, len(rows)) * ROW_MM
    sheet = Page(words, 21 + height)
    middle = 0.5 * (157 - left) + 4
    bars = sheet.axes(left, 14, middle - 17, height)
    draw_shares(bars, rows)
    bars.set_yticks(range(len(rows)), [_(NAMES[name]) for name in rows.index])
    draw_intervals(sheet.axes(left + middle, 14, 157 - left - middle, height), rows)
    return sheet, words


def draw_shares(ax, rows):
    """Two bars a headline, of shares; matplotlib Axes.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    rows : pandas.DataFrame
        Rows of the table.
    """
    for place, (_index, row) in enumerate(rows.iterrows()):
        for kind, shift in (("place", -0.19), ("year", 0.19)):
            start = 0.0
            for share, (_index, _index, colour, hatch) in zip(shares(row, kind), PARTS, strict=True):
                ax.barh(
                    place + shift,
                    share,
                    0.33,
                    start,
                    fc=colour,
                    ec=GREY if hatch else colour,
                    hatch=hatch,
                    lw=0.5,
                )
                start += share
    for text, shift in ((_("average"), -0.19), (_("one year"), 0.19)):
        ax.annotate(text, (1, shift), (3, 0), textcoords="offset points", va="center", size=SMALL, color=GREY,
                    annotation_clip=False)  # fmt: skip
    _legend(ax)
    ax.set_xlim(0, 1)
    ax.set_xticks([0, 0.5, 1], ["0", "50", "100 %"])
    ax.set_xlabel(_("share of the variance"))
    ax.set_ylim(len(rows) - 0.5, TOP)
    ax.tick_params(axis="y", length=0)
    return ax


def _legend(ax):
    """Names of the parts in a line above the bars, each behind a patch of its colour."""
    from matplotlib.patches import Patch

    patches = [
        Patch(fc=colour, ec=GREY if hatch else colour, hatch=hatch, label=_(name))
        for _index, name, colour, hatch in PARTS
    ]
    ax.figure.legend(
        handles=patches, loc="lower left", bbox_to_anchor=(0.012, ax.get_position().y1 + 0.005), ncol=5,
        frameon=False, fontsize=SMALL, handlelength=1.2, columnspacing=1.4, borderpad=0.0, borderaxespad=0.0,
    )  # fmt: skip


def draw_intervals(ax, rows):
    """Intervals over the value, as they are and with the next better source; matplotlib Axes.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    rows : pandas.DataFrame
        Rows of the table.
    """
    for place, (_index, row) in enumerate(rows.iterrows()):
        for shift, low, high, colour, width in (
            (-0.12, row["place_low"], row["place_high"], INK, 2.6),
            (0.12, row["next_low"], row["next_high"], GREY, 1.4),
        ):
            if np.isfinite(low) and row["next_source"] != "none" or colour == INK:
                ends = np.maximum(np.array([low, high]) / row["value"], LEAST)
                ax.plot(ends, [place + shift] * 2, color=colour, lw=width, solid_capstyle="butt")
    ax.axvline(1.0, color=GREY, lw=0.8, zorder=0)
    ax.set_xscale("log")
    better = _(SHORT.get(rows["next_source"].iloc[0], ""))
    for text, shift, colour in (
        (_("as it is"), -0.2, INK),
        (better and _("with {better}").format(better=better), 0.2, GREY),
    ):
        if text:
            ax.text(0.02, shift, text, transform=ax.get_yaxis_transform(), size=SMALL, color=colour,
                    va="bottom" if shift < 0 else "top",
                    bbox={"fc": "white", "ec": "none", "pad": 0.6})  # fmt: skip
    low, high = ax.get_xlim()
    steps = TENS if high > MANY_TIMES * low else BETWEEN
    ticks = [tick for tick in steps if low <= tick <= high]
    ax.set_xticks(ticks, [f"{tick:g}" for tick in ticks])
    ax.minorticks_off()
    ax.set_xlabel(_("times the best guess"), color=WORDS)
    ax.set_yticks([])
    ax.set_ylim(len(rows) - 0.5, TOP)
    return ax
