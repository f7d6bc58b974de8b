"""Who carried the load: energy taken from every source, by month."""

import numpy as np

from darkspell.core.messages import _
from darkspell.report.document.localization import month_name
from darkspell.report.figures.labels import beside, month_axis
from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.number_format import name_in_words, number, sentence_list
from darkspell.report.figures.style import ACCENT, ACCENT_LIGHT, GREY, INK, INK_LIGHT, INK_MIDDLE, WORDS

PANEL = (14, 8, 104, 62)
SUN = ((INK, ""), (INK_MIDDLE, ""), (INK_LIGHT, ""), ("white", "...."), ("white", "xxxx"))
OTHERS = ((ACCENT, ""), (ACCENT_LIGHT, "////"), ("white", "\\\\\\\\"), (GREY, ""), ("white", "++++"))


def drawable(results):
    """Whether there is more than one source to tell apart.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    bool
    """
    return results.table("energy_sources")["source"].nunique() > 1


def stacked(results):
    """Sources in the order of the table, arrays first: list of (name, kind, rows by month of the study year).

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    order = results.calendar.month_order + 1
    parts = [
        (name, kind, rows.set_index("month").reindex(order))
        for (name, kind), rows in results.table("energy_sources").groupby(["source", "kind"], sort=False)
    ]
    return sorted(parts, key=lambda part: part[1] != "array")


def finding(results):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.figures.layout.Finding
    """
    parts = stacked(results)
    year = {name: float(rows["taken_kwh"].sum()) for name, _index, rows in parts}
    others = [(name, rows) for name, kind, rows in parts if kind != "array"]
    total = max(sum(year.values()), 1e-9)
    if others:
        brought = sum(rows["taken_kwh"] for _index, rows in others)
        month = int(brought.idxmax())
        whole = sum(rows["taken_kwh"] for _index, _index, rows in parts)
        share = 100 * float(brought[month] / max(whole[month], 1e-9))
        sun = 100 * (1 - float(brought.sum()) / total)
        title = _(
            "{sun} of the year's energy is solar; the rest helps most in {month}, with {share} of that month"
        ).format(sun=_percent(sun), month=month_name(month), share=_percent(share))
    else:
        best = max(year, key=year.get)
        title = _("“{best}” gives {year} of the year's energy").format(
            best=name_in_words(best), year=_percent(100 * year[best] / total)
        )
    told = sentence_list(
        _("{name} {kwh} kWh").format(name=name_in_words(name), kwh=number(kwh, 0 if kwh >= 10 else 1))
        for name, kwh in year.items()
    )
    return Finding(
        title=title,
        note=_("Energy that loads and bank took from each source, kWh a month. {scope}").format(
            scope=results.scope
        ),
        caption=(
            _(
                "Means over the years; the thin bar at the top of each part is its 95 % interval. The short "
                "line is the energy "
                "demand of all loads; the part above it is lost in the bank."
            )
        ),
        alt=_("Stacked bars by month. In a year: {told}.").format(told=told),
    )


def draw(ax, parts, asked):
    """Stacked bars by month.

    Parameters
    ----------
    ax : matplotlib Axes
    parts : list of (str, str, pandas.DataFrame)
        From `stacked`.
    asked : float array [12]
        Energy asked for in each month, in the order of the study year [kWh]; not a number where unknown.

    Returns
    -------
    matplotlib Axes
    """
    place, floor, labels = np.arange(12), np.zeros(12), []
    looks = {True: iter(SUN * 5), False: iter(OTHERS * 9)}
    for name, kind, rows in parts:
        colour, hatch = next(looks[kind == "array"])
        taken = rows["taken_kwh"].to_numpy(float)
        edge = "white" if not hatch and colour != "white" else INK if kind == "array" else ACCENT
        ax.bar(place, taken, 0.72, floor, color=colour, hatch=hatch, edgecolor=edge, lw=0.4, zorder=2)
        low, high = (floor + rows[f"taken_kwh_{end}"].to_numpy(float) for end in ("low", "high"))
        ax.vlines(place + 0.27, low, high, color=WORDS, lw=0.7, zorder=3)
        text = INK if kind == "array" else ACCENT
        labels.append((floor[-1] + taken[-1] / 2, name_in_words(name), text))
        floor = floor + taken
    ax.hlines(asked, place - 0.45, place + 0.45, color=WORDS, lw=1.2, zorder=4)
    top = max(floor.max(), np.nanmax(asked) if np.isfinite(asked).any() else 0.0, 1e-6)
    ax.set_ylim(0, 1.08 * top)
    ax.grid(axis="y")
    ax.set_title(_("kWh a month"), color=WORDS, pad=5)
    month_axis(ax, parts[0][2].index)
    if np.isfinite(asked[-1]):
        labels.append((asked[-1], _("demand"), WORDS, 11.45))
    return beside(ax, 11.4, labels, 0.6, 0.075 * top, 0.03 * top, 1.04 * top)


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
    sheet = Page(words, PANEL[1] + PANEL[3] + 7)
    asked = results.month("demand_kwh")["mean"].to_numpy(float)
    draw(sheet.axes(*PANEL), stacked(results), asked)
    return sheet, words


def _percent(share):
    return (
        f"{number(share, 0 if share >= 9.5 else 1)} %" if 0 < share < 99.5 or share == 100 else _edge(share)
    )


def _edge(share):
    return "none" if share == 0 else _("over 99 %")
