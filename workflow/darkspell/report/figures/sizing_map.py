"""Which pairs of array and bank meet the target, how surely, and what they cost."""

import numpy as np

from darkspell.core.messages import _
from darkspell.report.document.localization import money
from darkspell.report.figures.labels import halo
from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.map_labels import name_lines, name_marks
from darkspell.report.figures.number_format import (
    counted,
    known,
    limit_in_words,
    number,
    plain,
)
from darkspell.report.figures.style import ACCENT, GREY, INK, SMALL, SURFACE, WORDS
from darkspell.report.figures.target_units import per_thousand, said

PLOT, BAR = (14, 12, 115, 82), (133, 12, 4, 82)
CHANCES = (0.5, 0.95)  # drawn besides the chance that is asked for
STEPS, FINER = (1, 3), (1, 1.5, 2, 3, 5, 7)


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
    table, target, study = results.sizing, results.study.target, results.study
    what, unit = said(target.statistic).words, said(target.statistic).unit
    limit = limit_in_words(target.at_most, unit)
    own = results.summary[target.statistic]
    ours = _("{array_wp} Wp and {capacity_ah} Ah").format(
        array_wp=plain(study.array_wp), capacity_ah=plain(study.bank.capacity_ah)
    )
    low, high = (np.nan if own[end] is None else own[end] for end in ("place_low", "place_high"))
    have = known(own["value"], low, high, unit, target.at_most)
    sure = int((table["probability_met"] >= 0.95).sum())
    meeting = counted(int(table["meets_target"].sum()), "{count} design meets", "{count} designs meet")
    return Finding(
        title=_title(table, study),
        note=(
            _(
                "{upper}{what} of each array and bank ({unit}); target: at most {limit}. As studied, "
                "{ours}: {have}. {scope}"
            ).format(
                upper=what[:1].upper(),
                what=what[1:],
                unit=unit,
                limit=limit,
                ours=ours,
                have=have,
                scope=results.scope,
            )
        ),
        caption=(
            _(
                "Each field is one design, run through the same years. On the thick line the chance that "
                "this site meets the target ({limit}) is the {chance_pct:g} % asked for; dashed lines have other "
                "chances. Larger arrays and banks have a higher chance. Thin lines join designs of equal cost "
                "({currency}).{again}"
            ).format(
                limit=limit,
                chance_pct=target.chance_pct,
                currency=study.document.currency,
                again=_again(target.full_charge),
            )
        ),
        alt=(
            _(
                "Map of {what} over array power and bank capacity, dark where there are many. {meeting} "
                "the target of {limit} with a chance of {chance_pct:g} % or more, {sure} with 95 %. The "
                "design as studied, {ours}, has {have}."
            ).format(
                what=what,
                meeting=meeting,
                limit=limit,
                chance_pct=target.chance_pct,
                sure=sure,
                ours=ours,
                have=have,
            )
        ),
    )


def _again(asked):
    """That the target has a second half, which the map does not show."""
    if asked is None:
        return ""
    return " " + _(
        "A full charge within {within_days} days in {years_pct} years of 100 is asked for as "
        "well: no line shows that, the marked design keeps it."
    ).format(within_days=plain(asked.within_days), years_pct=plain(asked.years_pct))


def _title(table, study):
    """The cheapest design that meets the target, or how far the best one falls short."""
    name, limit = study.target.statistic, study.target.at_most
    unit, phrase = said(name).unit, said(name).phrase
    chosen = table[table["chosen"].astype(bool)]
    if len(chosen):
        row = chosen.iloc[0]
        kept = _("chance that it meets the target {floor:.0f}\u00a0%").format(
            floor=min(np.floor(100 * row["probability_met"] + 1e-09), 99)
        )
        return _(
            "The cheapest design on target, {design} for {price}, leaves {value} {phrase}; {kept}"
        ).format(
            design=_design(row),
            price=money(row["cost"], study.document.currency),
            value=_value(row, name, study.target),
            phrase=phrase,
            kept=kept,
        )
    best = table.loc[table[name].idxmin()]
    none = (
        _("None of {table} designs keeps").format(table=len(table))
        if len(table) > 1
        else _("The one design looked at does not keep")
    )
    both = "" if study.target.full_charge is None else " " + _("and to its full charges")
    target = _("to {limit_in_words}{both}").format(limit_in_words=limit_in_words(limit, unit), both=both)
    which = _("the best") if len(table) > 1 else _("it")
    return _("{none} {target}; {which}, {design}, leaves {value} {phrase}").format(
        none=none,
        target=target,
        which=which,
        design=_design(best),
        value=_value(best, name, study.target),
        phrase=phrase,
    )


def draw(ax, bar, table, study):
    """The map with lines of equal chance of the target, costs and the two designs.

    Parameters
    ----------
    ax, bar : matplotlib Axes
        For the map and for the steps of its colours.
    table : pandas.DataFrame
        As sizing.csv.
    study : darkspell.study.Study

    Returns
    -------
    matplotlib Axes
    """
    from matplotlib import colormaps
    from matplotlib.colors import BoundaryNorm, ListedColormap

    name, limit = study.target.statistic, study.target.at_most
    array, bank = np.unique(table["array_wp"]), np.unique(table["bank_ah"])
    value, low, high, cost = (
        _grid(table, column) for column in (name, f"{name}_low", f"{name}_high", "cost")
    )
    levels = _levels(value, limit)
    shades = colormaps[SURFACE](np.linspace(0.0, 0.94, len(levels) - 1))
    norm = BoundaryNorm(levels, len(levels) - 1)
    shown = np.clip(value, levels[0], levels[-1] * 0.9999)
    ax.pcolormesh(_edges(array), _edges(bank), shown, cmap=ListedColormap(shades), norm=norm,
                  edgecolors="white", linewidth=0.3, rasterized=False)  # fmt: skip
    ax.set_xlim(*_edges(array)[[0, -1]])
    ax.set_ylim(*_edges(bank)[[0, -1]])
    chances, costs = [], []
    if min(value.shape) > 1:
        chances, costs = _contours(
            ax, array, bank, _grid(table, "probability_met"), cost, study.target.chance_pct / 100.0
        )
    elif value.size <= 6:
        _written(ax, array, bank, value, low, high)
    ax.set_xlabel(_("array, Wp"))
    ax.set_title(_("bank, Ah at the rated rate"), color=WORDS, pad=9)
    for sizes, axis in ((array, ax.xaxis), (bank, ax.yaxis)):
        if len(sizes) <= 6:
            axis.set_ticks(sizes, [plain(size) for size in sizes])
    for side in ax.spines.values():
        side.set_visible(False)
    _steps(bar, levels, shades, limit, said(name).unit)
    taken = _designs(ax, table, study, [path for path, _text, _needed in chances])
    name_lines(ax, [*chances, *costs], taken)
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
    words, results = finding(results), per_thousand(results)
    sheet = Page(words, PLOT[1] + PLOT[3] + 9)
    draw(sheet.axes(*PLOT), sheet.axes(*BAR), results.sizing, results.study)
    return sheet, words


def _design(row):
    return _("{array_wp} Wp and {bank_ah} Ah").format(
        array_wp=plain(row["array_wp"]), bank_ah=plain(row["bank_ah"])
    )


def _value(row, statistic, target):
    ends = row[f"{statistic}_low"], row[f"{statistic}_high"]
    return known(row[statistic], *ends, limit=target.at_most)


def _grid(table, column):
    """A column as float64 [banks, arrays], both ascending."""
    return table.pivot(index="bank_ah", columns="array_wp", values=column).to_numpy(float)


def _edges(sizes):
    """Borders of the fields, halfway between sizes; float64 [n + 1]."""
    if len(sizes) == 1:
        return np.array([0.75, 1.25]) * sizes[0]
    middle = (sizes[1:] + sizes[:-1]) / 2
    return np.concatenate([[1.5 * sizes[0] - 0.5 * sizes[1]], middle, [1.5 * sizes[-1] - 0.5 * sizes[-2]]])


def _levels(value, limit):
    """Steps 1, 3, 10, 30 ... over the values, from about a thirtieth of the target on; ascending."""
    largest = max(float(np.nanmax(value)), limit, 1e-6)
    smallest = max(float(np.nanmin(value)), limit / 30, largest / 1e4, 1e-9)
    decades = np.arange(np.floor(np.log10(smallest)), np.ceil(np.log10(largest)) + 1)
    steps = np.array([step * 10.0**decade for decade in decades for step in STEPS])
    inner = steps[(steps > smallest) & (steps < largest)]
    if len(inner) < 3:
        steps = np.array([step * 10.0**decade for decade in decades for step in FINER])
        inner = steps[(steps > smallest) & (steps < largest)]
    return np.concatenate(
        [[0.0], inner, [steps[steps >= largest][0] if (steps >= largest).any() else largest]]
    )


def _contours(ax, array, bank, chance, cost, asked):
    """Lines of equal chance that the site meets the target, over the fields' middles; costs thin below them.

    Returns the lines of chances and those of costs, as `name_lines` takes them.
    """
    lines = ax.contour(array, bank, cost, levels=6, colors=GREY, linewidths=0.6, zorder=3)
    costs = [(path, number(level), False) for level, path in _paths(lines)]
    height, chances = _log_odds(chance), []
    for level in sorted({*CHANCES, asked}, key=lambda level: level != asked):
        at = _log_odds(level)
        if not height.min() < at < height.max():
            continue
        thick = level == asked
        for rim, colour in ((1.6, "white"), (0.0, INK)):
            line = ax.contour(array, bank, height, levels=[at], colors=colour, zorder=4)
            width, dash = (2.0, "-") if thick else (0.9, "--")
            line.set(linewidth=width + rim, linestyle=dash if not rim else "-", alpha=0.7 if rim else 1)
        chances += [(path, f"{100 * level:g} %", thick) for _level, path in _paths(line)][:1]
    return chances, costs


def _paths(lines):
    """Levels of a contour with their longest lines, float64 [n, 2]."""
    for level, path in zip(lines.levels, lines.get_paths(), strict=True):
        parts = path.to_polygons(closed_only=False)
        if parts:
            yield level, max(parts, key=len)


def _log_odds(chance):
    """Log odds of a chance, on which sampled chances are nearly linear; certainty counts as 99.9 %."""
    kept = np.clip(chance, 0.001, 0.999)
    return np.log(kept / (1.0 - kept))


def _written(ax, array, bank, value, low, high):
    """Values in the fields, under the marks, where the fields are too few for a contour."""
    (_index, floor), columns = _edges(bank)[[-1, 0]], len(array)
    for (i, j), mean in np.ndenumerate(value):
        text = known(mean, low[i, j], high[i, j])
        text = text.replace(" (", "\n(") if columns > 1 else text
        ax.annotate(text, (array[j], bank[i] if columns == 1 else floor), (0, -9 if columns == 1 else 6),
                    textcoords="offset points", ha="center", va="top" if columns == 1 else "bottom",
                    size=SMALL, color=WORDS, path_effects=halo(), zorder=5)  # fmt: skip


def _designs(ax, table, study, lines):
    """Marks and labels of the design as studied and of the one chosen; boxes that they take."""
    own = study.array_wp, study.bank.capacity_ah
    chosen = table[table["chosen"].astype(bool)]
    marks = []
    if len(chosen):
        row = chosen.iloc[0]
        marks.append((row["array_wp"], row["bank_ah"], "o", ACCENT, _("cheapest that\nmeets the target")))
    (left, right), (bottom, top) = ax.get_xlim(), ax.get_ylim()
    if left <= own[0] <= right and bottom <= own[1] <= top:
        if marks and own == marks[0][:2]:
            marks = [(*own, "o", ACCENT, _("as studied: cheapest\nthat meets the target"))]
        else:
            marks.append((*own, "s", "white", _("as studied")))
    for x, y, mark, colour, _text in marks:
        ax.plot(x, y, mark, mfc=colour, mec="black", mew=1.2, ms=7, zorder=7)
    return name_marks(ax, [(x, y, text) for x, y, _mark, _colour, text in marks], lines)


def _steps(bar, levels, shades, limit, unit):
    """The colours with their limits, the target among them."""
    for index, shade in enumerate(shades):
        bar.axhspan(index, index + 1, fc=shade, ec="white", lw=0.3)
    at = np.interp(limit, levels, np.arange(len(levels)))
    bar.axhline(at, color=INK, lw=2)
    ticks = [place for place in range(len(levels)) if abs(place - at) > 0.45]
    bar.yaxis.tick_right()
    bar.set_yticks(
        [*ticks, at],
        [*(plain(levels[place]) for place in ticks), _("target {limit}").format(limit=plain(limit))],
    )
    bar.set_ylim(0, len(shades))
    bar.set_xticks([])
    bar.tick_params(axis="y", length=0, pad=3)
    bar.set_title(unit, size=SMALL, color=WORDS, loc="left", pad=9)
    for side in bar.spines.values():
        side.set_visible(False)
