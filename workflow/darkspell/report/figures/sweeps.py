"""Sweeps over two keys as maps: the target's statistic in every step."""

import numpy as np

from darkspell.core.calendar import HOURS
from darkspell.core.messages import _
from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.number_format import not_zero, number, places, plain, target_in_words
from darkspell.report.figures.style import GREY, SMALL, SURFACE, WORDS
from darkspell.report.key_words import key_words
from darkspell.report.units import key_value
from darkspell.statistics.registry import TARGETS
from darkspell.study.sweeps import steps_of_sweeps

MOST_MAPS = 3  # of one page
MOST_WRITTEN = 100  # fields with their numbers; more would be too small to read
LEFT, WIDTH, CELL_MM, GAP_MM, MOST_MM = 24, 128, 9.0, 22.0, 90.0
DARKEST = 0.94  # of the colour scale
LIGHT_ON_DARK = 0.45  # share of the scale above which numbers are white


def maps_of(results):
    """Sweeps over exactly two keys with numbers in both, at most `MOST_MAPS`.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    dict of tuple
        Title to: the two keys, their values, and the rows of sweeps.csv of the target's statistic by step.
    """
    table, found = results.table("sweeps"), {}
    if not len(table):
        return found
    statistic = TARGETS[TARGETS[results.study.target.statistic].yearly].yearly
    rows = table[table["statistic"] == statistic]
    for title, keys in results.study.sweeps.items():
        steps = [changes for _index, _index, changes in steps_of_sweeps({title: keys})]
        numeric = all(_is_number(value) for changes in steps for value in changes.values())
        if len(keys) == 2 and numeric and min(len({step[key] for step in steps}) for key in keys) > 1:
            found[title] = tuple(keys), rows[rows["sweep"] == title]
    return dict(list(found.items())[:MOST_MAPS])


def drawable(results):
    """Whether there is a sweep to map.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    return bool(maps_of(results))


def finding(results):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.figures.layout.Finding
    """
    maps, words = maps_of(results), target_in_words(TARGETS[results.study.target.statistic].yearly)
    keys, rows = next(iter(maps.values()))
    best = rows.loc[rows["whatif_value"].idxmin()]
    base = rows["study_value"].iloc[0]
    named = [(key_words(key)[0], *key_value(best[key], key_words(key)[1])) for key in keys]
    step = "; ".join(f"{label}: {plain(value)} {unit}".strip() for label, value, unit in named)
    value, own = (not_zero(one, places(one, np.nan, np.nan)) for one in (best["whatif_value"], base))
    limit = _limit(results)
    bold = (
        ""
        if limit is None
        else " " + _("Bold: at most {limit}, the target, by the best guess.").format(limit=plain(limit))
    )
    alike = int((rows["whatif_value"] == best["whatif_value"]).sum())
    which = _("The best of {rows} steps ({step}) has").format(rows=len(rows), step=step)
    if alike > 1:
        which = _("{alike} of {rows} steps ({step} among them) have").format(
            alike=alike, rows=len(rows), step=step
        )
    return Finding(
        title=_("{which} {value} {phrase}; the study has {own}").format(
            which=which, value=value, phrase=words.phrase, own=own
        ),
        note=_("Best guess of {words} in each step. {scope}").format(words=words.words, scope=results.scope),
        caption=_(
            "Every step meets the same years as the study. Dark is many.{bold} Intervals are in sweeps.csv."
        ).format(bold=bold),
        alt="; ".join(
            _("Map of {words} over {label} and {label_2}, {min} to {max}").format(
                words=words.words,
                label=_label(one[0]),
                label_2=_label(one[1]),
                min=number(table["whatif_value"].min()),
                max=number(table["whatif_value"].max()),
            )
            for one, table in maps.values()
        )
        + ".",
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
    words, maps = finding(results), maps_of(results)
    heights = [min(MOST_MM, CELL_MM * rows[keys[1]].nunique()) for keys, rows in maps.values()]
    sheet, bottom = Page(words, sum(heights) + GAP_MM * len(heights)), 12.0
    for (keys, rows), height in zip(reversed(maps.values()), reversed(heights), strict=True):
        draw(sheet.axes(LEFT, bottom, WIDTH, height), keys, rows, _limit(results))
        bottom += height + GAP_MM
    return sheet, words


def draw(ax, keys, rows, limit=None):
    """One map.

    Parameters
    ----------
    ax : matplotlib Axes
    keys : tuple of str
        Of the horizontal and the vertical axis.
    rows : pandas.DataFrame
        Steps with the two keys and ``whatif_value``.
    limit : float, optional
        Values up to it are bold.

    Returns
    -------
    matplotlib Axes
    """
    from matplotlib import colormaps
    from matplotlib.colors import ListedColormap

    grid = rows.pivot(index=keys[1], columns=keys[0], values="whatif_value")
    values = grid.to_numpy(float)
    shades = ListedColormap(colormaps[SURFACE](np.linspace(0.0, DARKEST, 256)))
    share = np.sqrt(values / (values.max() or 1.0))  # small losses are told apart too
    ax.pcolormesh(share, cmap=shades, vmin=0.0, vmax=1.0, edgecolors="white", linewidth=0.5)
    if values.size <= MOST_WRITTEN:
        for (row, column), value in np.ndenumerate(values):
            bold = limit is not None and value <= limit
            ax.text(column + 0.5, row + 0.5, not_zero(value, places(value, np.nan, np.nan)), ha="center",
                    va="center", size=SMALL, weight="bold" if bold else "normal",
                    color="white" if share[row, column] > LIGHT_ON_DARK else WORDS)  # fmt: skip
    for axis, key, steps in ((ax.xaxis, keys[0], grid.columns), (ax.yaxis, keys[1], grid.index)):
        names = [plain(key_value(step, key_words(key)[1])[0]) for step in steps]
        axis.set_ticks(np.arange(len(names)) + 0.5, names)
        axis.set_tick_params(length=0)
    ax.set_xlabel(_label(keys[0], unit=True))
    ax.set_title(_label(keys[1], unit=True), color=GREY, loc="left", pad=5)
    for side in ax.spines.values():
        side.set_visible(False)
    return ax


def _limit(results):
    """The target's limit in the unit of the yearly statistic; None where the target is of another statistic."""
    target = results.study.target
    if target.statistic == "lolp":
        return target.at_most * HOURS
    return target.at_most if TARGETS[target.statistic].yearly == target.statistic else None


def _label(key, unit=False):
    words, of = key_words(key)
    of = key_value(0.0, of)[1]
    return f"{words}, {of}" if unit and of else words


def _is_number(value):
    return isinstance(value, int | float) and not isinstance(value, bool)
