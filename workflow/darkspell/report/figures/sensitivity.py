"""Which inputs move the answer, and which of them are ours to choose."""

import numpy as np

from darkspell.core.messages import _
from darkspell.report.figures.layout import Finding, Page, row_name, text_width
from darkspell.report.figures.number_format import counted, known, name_in_words
from darkspell.report.figures.style import ACCENT, GREY, INK, SMALL, WORDS

ROW_MM = 9.0
WATCHED = {
    "short_nights": ("nights without essential power", "nights a year"),
    "lolh": ("hours without essential power", "hours a year"),
    "eue_kwh": ("unserved energy", "kWh a year"),
    "max_depth_true_pct": ("the year's deepest discharge", "points of depth"),
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
    rows = results.table("sensitivity")
    what, unit = WATCHED[rows["statistic"].iloc[0]]
    asked = results.study.sensitivity
    first = rows.iloc[0]
    whose = _("which can be chosen") if first["kind"] == "chosen" else _("which we do not know")
    unknown = rows.loc[rows["kind"] == "unknown", "share_pct"].sum()
    title = _(
        "{input}, {whose}, changes {what} most; {unknown:.0f}\u00a0% of all change comes from "
        "what we do not know"
    ).format(input=name_in_words(first["input"]), whose=whose, what=what, unknown=unknown)
    return Finding(
        title=title,
        note=(
            _(
                "Change of {what} over the whole range of one input, {unit}. {name}; {count}, {count_2} each."
            ).format(
                what=what,
                unit=unit,
                name=results.place,
                count=counted(asked.trajectories, "{count} starting point", "{count} starting points"),
                count_2=counted(asked.members, "{count} year", "{count} years"),
            )
        ),
        caption=(
            _(
                "A bar is the mean change over starting points all over the ranges, the line its 95 % "
                "interval. Full bars: can be "
                "chosen. Open bars: not known. Ranges are the study's own; a wider range makes a longer bar."
            )
        ),
        alt="; ".join(
            f"{name_in_words(r['input'])} {known(r['effect'], r['effect_low'], r['effect_high'])} {unit}"
            for _index, r in rows.iterrows()
        )
        + ".",
    )


def input_range(row):
    """The range of one input with the unit of its key: ``400 to 900 Wp``.

    Parameters
    ----------
    row : pandas.Series
        Row of the table.
    """
    from darkspell.study.key_tree import find

    place = find(row["key"].split("."))
    unit = "" if place is None or place.unit in ("", "-") else f" {place.unit}"
    return _("{low:g} to {high:g}{unit}").format(
        low=row["from"], high=row["to"], unit=unit.replace(" deg", "°")
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
    rows, words = results.table("sensitivity"), finding(results)
    unit = WATCHED[rows["statistic"].iloc[0]][1]
    names = [f"{row_name(name_in_words(r['input']))}\n{input_range(r)}" for _index, r in rows.iterrows()]
    texts = [known(r["effect"], r["effect_low"], r["effect_high"]) for _index, r in rows.iterrows()]
    texts = [
        f"{text}\n{'to choose' if kind == 'chosen' else 'not known'}"
        for text, kind in zip(texts, rows["kind"], strict=True)
    ]
    left = 4 + 1.04 * max(text_width(line) for name in names for line in name.split("\n"))
    right = 4 + 1.04 * max(text_width(line, SMALL) for text in texts for line in text.split("\n"))
    height = max(2, len(rows)) * ROW_MM
    sheet = Page(words, 12 + height)
    draw(sheet.axes(left, 10, 157 - left - right, height), rows, names, texts)
    sheet.figure.axes[0].set_xlabel(unit)
    return sheet, words


def draw(ax, rows, names, texts):
    """Bars with their intervals, a row an input; matplotlib Axes.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    rows : pandas.DataFrame
        Rows of sensitivity.csv, the largest effect first.
    names, texts : list of str
        Labels on the left and on the right of each row.
    """
    for place, (_index, row) in enumerate(rows.iterrows()):
        chosen = row["kind"] == "chosen"
        colour = INK if chosen else ACCENT
        ax.barh(place, row["effect"], 0.5, fc=colour if chosen else "white", ec=colour, lw=1.2, zorder=2)
        ax.hlines(place, row["effect_low"], row["effect_high"], color=GREY, lw=1.4, zorder=3)
        ax.annotate(texts[place], (1, place), (5, 0), xycoords=("axes fraction", "data"),
                    textcoords="offset points", va="center", size=SMALL, color=WORDS, linespacing=1.05,
                    annotation_clip=False)  # fmt: skip
    ax.set_yticks(range(len(rows)), names, linespacing=1.0)
    ax.tick_params(axis="y", length=0)
    ax.set_ylim(len(rows) - 0.5, -0.5)
    ax.set_xlim(0, 1.04 * (float(np.nanmax(rows["effect_high"])) or 1.0))
    ax.locator_params(axis="x", nbins=5)
    return ax
