"""Which changes make a clear difference at this site, and which do not."""

import json

import numpy as np

from darkspell.core.messages import _
from darkspell.report.figures.layout import Finding, Page, row_name, text_width, wrapped
from darkspell.report.figures.number_format import (
    MOST_PLACES,
    bounds,
    counted,
    known,
    target_in_words,
    within,
)
from darkspell.report.figures.style import FAINT, GREY, INK, SMALL, WORDS
from darkspell.report.key_words import whatif_name
from darkspell.statistics.registry import TARGETS

KNOWLEDGE = ("climate", "load_uncertainty_pct", "engine")  # sections that say how well the site is known
OF_THE_BANK = ("bank.capacity_uncertainty_pct", "bank.property_uncertainty_pct")  # and keys that do
SECOND = "max_depth_true_pct"
ROW_MM, GAP_MM = 8.0, 4.0
MOST_ROWS = 10  # a longer list shows its two ends


def rows_of(results, statistic):
    """Rows of one statistic, the greatest fall first.

    Parameters
    ----------
    results : darkspell.report.results.Results
    statistic : str
        Key of a statistic.
    """
    table = results.whatifs
    return table[table["statistic"] == statistic].sort_values(["difference", "whatif"]).reset_index(drop=True)


def can_be_done(rows):
    """Rows whose change somebody can make: another source of the climate changes what is known, not the site.

    Parameters
    ----------
    rows : pandas.DataFrame
        Of whatifs.csv.
    """
    return rows[[not of_knowledge(json.loads(changes)) for changes in rows["changes"]]]


def of_knowledge(changes):
    """Whether a what-if changes only what is known, and neither site nor system.

    Parameters
    ----------
    changes : dict
        Dotted key to value.
    """
    return all(key.split(".")[0] in KNOWLEDGE or key in OF_THE_BANK for key in changes)


def finding(results):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.figures.layout.Finding
    """
    what, phrase, statistic = _compared(results)
    rows = rows_of(results, statistic)
    real = rows[rows["verdict"] == "real"]
    count, whole = counted(len(real), "{count} what-if", "{count} what-ifs"), len(rows)
    if not len(real):
        some = (
            _("The one what-if does not differ")
            if whole == 1
            else _("None of the {whole} what-ifs differs").format(whole=whole)
        )
        title = _("{some} clearly from the study in {what}").format(some=some, what=what)
    else:
        done = can_be_done(real) if len(can_be_done(real)) else real
        fewest = done.iloc[0] if done["difference"].iloc[0] < 0 else done.iloc[-1]
        change = _change(fewest, phrase)
        title = _("{whatif} changes {what} most: {change}").format(
            whatif=whatif_name(results.study, fewest["whatif"]), what=what, change=change
        )
        if fewest["difference"] < 0:
            title = _("{whatif} helps most: {change}").format(
                whatif=whatif_name(results.study, fewest["whatif"]), change=change
            )
        rest = _("; of {whole} what-ifs {real} differ{value} clearly from the study").format(
            whole=whole, real=len(real), value="s" * (len(real) == 1)
        )
        title += rest if whole > 1 else ""
        title = title.replace(f"of {whole} what-ifs {whole} differ", f"all {whole} what-ifs differ")
    return Finding(
        title=title,
        note=_("Difference from the study in {what} and in the year's deepest discharge. {scope}").format(
            what=what, scope=results.scope
        ),
        caption=(
            _(
                "Every what-if meets the same years as the study. A dot is the best guess of the "
                "difference, its bar what it may be at this site (95 %); a hollow dot: no clear "
                "difference. The study itself has {base} {phrase}. Left is less.{left_out}"
            ).format(base=_base(results, rows), phrase=phrase, left_out=_left_out(rows))
        ),
        alt=(
            _("Dots with bars for {count}; {count_2} clearly different.").format(
                count=counted(whole, "{count} what-if", "{count} what-ifs"), count_2=count
            )
            + " "
            + "; ".join(
                f"{whatif_name(results.study, row['whatif'])} {_change(row, phrase)}"
                for _index, row in _ends(rows).iterrows()
            )
            + "."
        ),
    )


def draw(ax, rows, title):
    """Differences with their intervals, a row a what-if.

    Parameters
    ----------
    ax : matplotlib Axes
    rows : pandas.DataFrame
        Of whatifs.csv, of one statistic, from top to bottom.
    title : str
        What is compared, with its unit.

    Returns
    -------
    matplotlib Axes
    """
    ax.axvline(0, color=GREY, lw=0.8, zorder=1)
    for place, row in rows.iterrows():
        real = row["verdict"] == "real"
        ax.hlines(place, row["low"], row["high"], color=INK if real else GREY, lw=1.6 if real else 1.0)
        ax.plot(row["difference"], place, "o", ms=5, mfc=INK if real else "white", mec=INK if real else GREY,
                zorder=3)  # fmt: skip
        text = _signed(row) if real else _("{signed}\nno clear difference").format(signed=_signed(row))
        ax.annotate(text, (1, place), (5, 0), xycoords=("axes fraction", "data"), textcoords="offset points",
                    va="center", size=SMALL, color=WORDS if real else GREY, linespacing=1.05,
                    annotation_clip=False)  # fmt: skip
    ax.set_xlim(*_limits(rows))
    ax.locator_params(axis="x", nbins=3)
    ax.set_ylim(len(rows) - 0.4, -0.6)
    ax.set_yticks(range(len(rows)), [])
    ax.tick_params(axis="y", length=0)
    ax.spines["left"].set_visible(False)
    for place in range(len(rows)):
        ax.axhline(place, color=FAINT, lw=0.4, zorder=0)
    ax.set_title(title, color=WORDS, pad=5)
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
    _index, phrase, statistic = _compared(results)
    rows, words = _ends(rows_of(results, statistic)), finding(results)
    second = rows_of(results, SECOND).set_index("whatif").reindex(rows["whatif"]).reset_index()
    names = [row_name(whatif_name(results.study, name)) for name in rows["whatif"]]
    left = 4 + 1.04 * max(text_width(line) for name in names for line in name.split("\n"))
    told = [numbers_mm(table) for table in (rows, second)]
    width = (157 - left - sum(told) - GAP_MM) / 2
    height = max(2, len(rows)) * ROW_MM
    heads = ["\n".join(wrapped(text, width + 0.8 * room)) for text, room in zip(
        (phrase, _("deepest discharge, points")), told, strict=True)]  # fmt: skip
    sheet = Page(words, 8 + height + 3 + 4 * max(head.count("\n") + 1 for head in heads))
    ax = draw(sheet.axes(left, 8, width, height), rows, heads[0])
    ax.set_yticks(range(len(rows)), names)
    at = left + width + told[0] + GAP_MM
    draw(sheet.axes(at, 8, width, height), second, heads[1])
    return sheet, words


def _ends(rows):
    """The rows shown: all, or the first and the last of a long list."""
    if len(rows) <= MOST_ROWS:
        return rows
    return rows.iloc[np.r_[: MOST_ROWS // 2, len(rows) - MOST_ROWS // 2 : len(rows)]].reset_index(drop=True)


def _left_out(rows):
    if len(rows) <= MOST_ROWS:
        return ""
    return " " + _("Shown are the {MOST_ROWS} at either end; the {rows} between are in the table.").format(
        MOST_ROWS=MOST_ROWS // 2, rows=len(rows) - MOST_ROWS
    )


def _compared(results):
    """What is compared, what follows a number of it, and its name in whatifs.csv."""
    name = results.study.target.statistic
    one = target_in_words(TARGETS[name].yearly)
    return one.words, one.phrase, one.yearly


def _base(results, rows):
    """Figure of the study itself, with the digits that its interval supports."""
    row = rows.iloc[0]
    entry = results.summary.get(row["statistic"]) or {}
    ends = (entry.get(f"place_{end}") for end in ("low", "high"))
    return within(row["study_value"], *(np.nan if end is None else end for end in ends))


def numbers_mm(rows):
    """Room for the numbers beside a panel [mm].

    Parameters
    ----------
    rows : pandas.DataFrame
        Rows of the table.
    """
    texts = [_signed(row) for _index, row in rows.iterrows()] + [_("no clear difference")]
    return 3 + 1.04 * max(text_width(text, SMALL) for text in texts)


def _change(row, phrase):
    """A difference in words: ``0.4 (0.2 to 0.9) fewer nights a year``."""
    less = row["difference"] < 0
    sign = -1 if less else 1
    value = known(sign * row["difference"], *sorted((sign * row["low"], sign * row["high"])))
    text = _("{value} fewer {phrase}") if less else _("{value} more {phrase}")
    return text.format(value=value, phrase=phrase)


def _signed(row):
    """A difference with its sign and its interval, as short as it supports."""
    numbers = [row["difference"], row["low"], row["high"]]
    if max(map(abs, numbers)) < 0.5 * 10.0**-MOST_PLACES:
        return _("no difference")
    value = within(*numbers)
    plus = "+" if row["difference"] > 0 and value != "0" else ""
    return f"{plus}{value} ({' to '.join(bounds(row['low'], row['high']))})"


def _limits(rows):
    """Ends of the axis: all bars, zero among them, and some air."""
    ends = np.concatenate([rows["low"], rows["high"], rows["difference"], [0.0]])
    low, high = np.nanmin(ends), np.nanmax(ends)
    air = 0.08 * (high - low) or 1.0
    return low - air, high + air
