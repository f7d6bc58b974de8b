"""How array and bank can replace each other: designs of equal risk."""

import numpy as np

from darkspell.core.messages import _
from darkspell.report.figures.labels import clear_labels, spread
from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.number_format import limit_in_words, plain
from darkspell.report.figures.style import ACCENT, GREY, INK, INK_LIGHT, INK_MIDDLE, SMALL, WORDS
from darkspell.report.figures.target_units import per_thousand, said

STEP = 5.0  # between the risks drawn; our choice
PLOT = (14, 12, 104, 78)


def curve(table, statistic, level, column=None):
    """Bank that gives each array a risk [Ah], between the sizes run; float64 [arrays], nan outside of them.

    Parameters
    ----------
    table : pandas.DataFrame
        As sizing.csv.
    statistic : str
        The target's.
    level : float
        Above 0, in the unit of the statistic.
    column : str, optional
        Column read in place of the mean, such as a bound of its interval.
    """
    surface = table.pivot(index="array_wp", columns="bank_ah", values=column or statistic)
    banks, found = surface.columns.to_numpy(float), np.full(len(surface), np.nan)
    tiny = level * 1e-3
    for place, row in enumerate(np.log(np.maximum(surface.to_numpy(float), tiny) / level)):
        good = np.flatnonzero(row <= 0)
        if good.size and good[0] > 0:
            above, below = row[good[0] - 1], row[good[0]]
            share = above / (above - below)
            found[place] = banks[good[0] - 1] + share * (banks[good[0]] - banks[good[0] - 1])
    return found


def drawable(results):
    """Whether the grid carries the target's curve over at least three arrays.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    bool
    """
    target, table = results.study.target, results.sizing
    if not len(table) or target.at_most <= 0:
        return False
    return int(np.isfinite(curve(table, target.statistic, target.at_most)).sum()) >= 3


def levels_of(results):
    """Risks whose curves the grid carries over three arrays or more, the target's among them.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    target, table = results.study.target, results.sizing
    levels = [target.at_most * factor for factor in (STEP, 1.0, 1 / STEP)]
    return [one for one in levels if np.isfinite(curve(table, target.statistic, one)).sum() >= 3]


def finding(results):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.figures.layout.Finding
    """
    results = per_thousand(results)
    table, target = results.sizing, results.study.target
    what, unit = said(target.statistic).words, said(target.statistic).unit
    arrays = np.unique(table["array_wp"])
    banks = curve(table, target.statistic, target.at_most)
    known = np.flatnonzero(np.isfinite(banks))
    small, large = known[0], known[-1]
    title = _(
        "By the best guess {arrays} Wp reach the target with about {banks} Ah, {arrays_2} Wp need about {banks_2} Ah"
    ).format(
        arrays=plain(arrays[large]),
        banks=plain(round(banks[large], -1)),
        arrays_2=plain(arrays[small]),
        banks_2=plain(round(banks[small], -1)),
    )
    return Finding(
        title=title,
        note=(
            _(
                "Bank that each array needs for the same {what} ({unit}), by the best guess; thick: "
                "{limit_in_words}, the target. {scope}"
            ).format(
                what=what, unit=unit, limit_in_words=limit_in_words(target.at_most, unit), scope=results.scope
            )
        ),
        caption=(
            _(
                "Each curve joins designs of the same best guess, between the sizes that were run. On the thick "
                "curve the chance of the target is about a half; the line of the chance asked for is in the map of "
                "sizes. In the band the 95 % interval for this site contains the target."
            )
        ),
        alt=_("Curves of equal {what} over array power and bank capacity. {title}.").format(
            what=what, title=title
        ),
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
    words, results = finding(results), per_thousand(results)
    sheet = Page(words, PLOT[1] + PLOT[3] + 9)
    draw(sheet.axes(*PLOT), results)
    return sheet, words


def draw(ax, results):
    """Curves, the target's with the band of this site, and the study's own and chosen designs; matplotlib Axes.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    results : darkspell.report.results.Results
    """
    table, study = results.sizing, results.study
    name, limit = study.target.statistic, study.target.at_most
    arrays, banks = np.unique(table["array_wp"]), np.unique(table["bank_ah"])
    low, high = (curve(table, name, limit, f"{name}_{bound}") for bound in ("low", "high"))
    lower = np.where(np.isfinite(low), low, banks[0])
    upper = np.where(np.isfinite(high), high, banks[-1])
    shown = np.isfinite(low) | np.isfinite(high)
    ax.fill_between(arrays, lower, upper, where=shown, color=INK_LIGHT, lw=0, zorder=1)
    ends = []
    for level in levels_of(results):
        bank, own = curve(table, name, level), level == limit
        ax.plot(arrays, bank, color=INK if own else INK_MIDDLE, lw=2.2 if own else 1.2, zorder=3)
        last = np.flatnonzero(np.isfinite(bank))[-1]
        words = limit_in_words(level, said(name).unit)
        words = _("target: {limit}").format(limit=words) if own else words
        ends.append((arrays[last], bank[last], words, own))
    ax.set_xlim(arrays[0], arrays[-1])
    ax.set_ylim(0, banks[-1])
    gap = 0.055 * banks[-1]
    at_edge = [end for end in ends if end[0] == arrays[-1]]
    for end, place in zip(at_edge, spread([end[1] for end in at_edge], gap, 0, banks[-1]), strict=True):
        ax.text(1.02, place, end[2], transform=ax.get_yaxis_transform(), size=SMALL, va="center",
                color=INK if end[3] else GREY)  # fmt: skip
    marks = [(study.array_wp, study.bank.capacity_ah, _("as studied"), "o")]
    chosen = table[table["chosen"].astype(bool)]
    marks += [
        (row["array_wp"], row["bank_ah"], _("cheapest on target"), "s") for _index, row in chosen.iterrows()
    ]
    marks = [mark for mark in marks if arrays[0] <= mark[0] <= arrays[-1] and mark[1] <= banks[-1]]
    for x, y, _index, shape in marks:
        ax.plot(x, y, shape, ms=6, mfc=ACCENT, mec="white", zorder=5, clip_on=False)
    named = [(x, y, text, INK if own else GREY) for x, y, text, own in ends if x < arrays[-1]]
    named += [(x, y, text, WORDS) for x, y, text, _index in marks]
    clear_labels(ax, named)
    ax.set_xlabel(_("array, Wp"))
    ax.set_title(_("bank, Ah at the rated rate"), color=WORDS, pad=9)
    return ax
