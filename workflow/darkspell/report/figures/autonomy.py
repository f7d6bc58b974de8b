"""How long a full bank carries the essential loads, without any sun and with the sun that comes."""

import numpy as np

from darkspell.core.messages import _
from darkspell.report.document.localization import month_name
from darkspell.report.figures.labels import beside, halo
from darkspell.report.figures.layout import Finding, Page, text_width
from darkspell.report.figures.number_format import number, plain
from darkspell.report.figures.style import GREY, INK, INK_LIGHT, SMALL, WORDS

SURE = 0.9
LEFT, RIGHT = (15, 12.5, 45, 58.5), (77, 12.5, 54, 58.5)
NAMED_AT = (0.3, 0.65)
LIGHTER = "#5f7fa8"


def months_of(table, kind):
    """Start months in which a full bank lasts shortest and longest; (int, int), calendar months 1-12.

    By the days that `SURE` of the starts last, as the text says it; then by the mean.

    Parameters
    ----------
    table : pandas.DataFrame
        autonomy.csv.
    kind : str
        ``with_sun`` or ``dark``.
    """
    means = table[table["kind"] == kind].groupby("start_month")["probability"].sum()
    months = sorted(means.index, key=lambda month: (days_at(table, kind, month)[0], means[month]))
    return int(months[0]), int(months[-1])


def curve(table, kind, month):
    """Days and probability with its bounds, from day 0 on; four arrays [61].

    Parameters
    ----------
    table : pandas.DataFrame
        autonomy.csv.
    kind : str
        ``with_sun`` or ``dark``.
    month : int
        Starting month, 1 to 12.
    """
    rows = table[(table["kind"] == kind) & (table["start_month"] == month)].sort_values("days")
    days = np.concatenate([[0], rows["days"]])
    return days, *(
        np.concatenate([[1.0], rows[name].to_numpy(float)]) for name in ("probability", "low", "high")
    )


def days_at(table, kind, month, share=SURE):
    """Days that at least `share` of the starts last: value and bounds; (int, int, int).

    Parameters
    ----------
    table : pandas.DataFrame
        autonomy.csv.
    kind : str
        ``with_sun`` or ``dark``.
    month : int
        Starting month, 1 to 12.
    share : float
        Probability [-].
    """
    days, *levels = curve(table, kind, month)
    return tuple(int(days[np.nan_to_num(level) >= share].max()) for level in levels)


def finding(results):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.figures.layout.Finding
    """
    table, horizon = results.autonomy, int(results.autonomy["days"].max())
    (sunny, _index), (dark, dark_best) = (months_of(table, kind) for kind in ("with_sun", "dark"))
    long, short = days_at(table, "with_sun", sunny), days_at(table, "dark", dark)
    title = _(
        "A bank that is full in {month} lasts {range} with simulated weather, 9 times in 10; without "
        "any sun, {range_2} in {month_2}"
    ).format(
        month=month_name(sunny),
        range=_span(long, horizon),
        range_2=_span(short, horizon),
        month_2=month_name(dark),
    )
    if sunny == dark:
        title = _(
            "A bank that is full in {month} lasts {range} with simulated weather and {range_2} without any "
            "sun, 9 times "
            "in 10"
        ).format(month=month_name(sunny), range=_span(long, horizon), range_2=_span(short, horizon))
    return Finding(
        title=title,
        note=_(
            "Share of starts without an unserved essential hour, by days since a full bank. {scope}"
        ).format(scope=results.scope),
        caption=(
            _(
                "The bank is full at 18:00 on days 1, 11 and 21 of each month and followed to the first hour in "
                "which an essential load goes unserved, for {horizon} days at most. Left: no charging at "
                "all. Right: with the weather of the synthetic years. Shown are the months with the shortest "
                "and the longest "
                "time; the band is the 95 % interval at this site."
            ).format(horizon=horizon)
        ),
        alt=(
            _(
                "Two panels of falling curves. Without sun, 9 starts of 10 last {range} in {month} and "
                "{range_2} in {month_2}. With sun, {range_3} in {month_3}."
            ).format(
                range=_span(short, horizon),
                month=month_name(dark),
                range_2=_span(days_at(table, "dark", dark_best), horizon),
                month_2=month_name(dark_best),
                range_3=_span(long, horizon),
                month_3=month_name(sunny),
            )
        ),
    )


def draw(ax, table, kind, last, floor=0.0):
    """Survival curves of the worst and the best start month.

    Parameters
    ----------
    ax : matplotlib Axes
    table : pandas.DataFrame
        As autonomy.csv.
    kind : str
        ``dark`` or ``with_sun``.
    last : int
        Last day shown.
    floor : float
        Where the axis of shares begins [-].

    Returns
    -------
    matplotlib Axes
    """
    ends = []
    for month, colour, dash in _shown(table, kind):
        days, share, low, high = curve(table, kind, month)
        keep = days <= last
        ax.fill_between(days[keep], low[keep], high[keep], color=INK_LIGHT, alpha=0.75, lw=0, zorder=1)
        ax.plot(days[keep], share[keep], color=colour, ls=dash, zorder=3)
        ends.append((month, colour, share[keep][-1], np.interp(-np.array(NAMED_AT), -share, days)))
    ax.axhline(SURE, color=GREY, lw=0.6, ls=(0, (2, 2)), zorder=2)
    ax.set_xlim(0, last)
    ax.set_ylim(floor, 1 + 0.03 * (1 - floor))
    step = 0.2 if floor < 0.5 else 0.05 if floor < 0.85 else 0.02
    ticks = np.arange(1, floor - 1e-9, -step)
    ax.set_yticks(ticks, [f"{number(100 * tick)} %" for tick in ticks])
    ax.grid(axis="y")
    ax.set_xlabel(_("days"))
    ax.locator_params(axis="x", integer=True, nbins=5)
    return _named(ax, ends, last, floor)


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
    words, table = finding(results), results.autonomy
    sheet = Page(words, LEFT[1] + LEFT[3] + 7)
    dark = draw(sheet.axes(*LEFT), table, "dark", _last_day(table, "dark"))
    dark.set_title(_("no sun at all"), size=9, color=WORDS, pad=6)
    floor = _floor(table)
    sun = draw(sheet.axes(*RIGHT), table, "with_sun", _last_day(table, "with_sun"), floor)
    zoomed = " " + _("(scale from {floor} %)").format(floor=number(100 * floor)) if floor else ""
    sun.set_title(_("with the simulated weather{zoomed}").format(zoomed=zoomed), size=9, color=WORDS, pad=6)
    return sheet, words


def _shown(table, kind):
    worst, best = months_of(table, kind)
    lines = [(worst, INK, "-")]
    return lines + [(best, LIGHTER, (0, (5, 1.5)))] if best != worst else lines


def _named(ax, ends, last, floor):
    """Names of the curves: at their ends if they are still up there, beside their fall if not."""
    height = 1 - floor
    if floor == 0 and all(end <= 0.02 for *_index, end, _index in ends):
        for place, (month, colour, _index, fall) in enumerate(sorted(ends, key=lambda end: end[3][0])):
            name, x = month_name(month), fall[place]
            before = place == 0 and text_width(name, SMALL) + 3 < x / last * LEFT[2]
            ax.text(x + (-0.03 if before else 0.05) * last, NAMED_AT[place], name, color=colour, size=SMALL,
                    ha="right" if before else "left", va="center", path_effects=halo())  # fmt: skip
        return ax
    labels = [
        (max(end, floor), _("from {month}").format(month=month_name(month)), colour)
        for month, colour, end, _index in ends
    ]
    return beside(ax, last * 1.01, labels, 0.06 * last, 0.07 * height, floor, 1 + 0.02 * height)


def _last_day(table, kind):
    """Last day worth showing: two beyond the one on which the longest-lasting month ends."""
    rows = table[(table["kind"] == kind) & (table["probability"] > 0.005)]
    horizon = int(table["days"].max())
    last = int(rows["days"].max()) if len(rows) else 1
    return horizon if last >= horizon else min(horizon, max(4, last + 2 + last // 3))


def _floor(table):
    """Where the axis of the panel with sun begins: 0, unless everything stays far above."""
    rows = table[(table["kind"] == "with_sun") & table["start_month"].isin(months_of(table, "with_sun"))]
    lowest = float(np.nanmin(rows["low"])) if rows["low"].notna().any() else 0.0
    return np.floor(10 * lowest - 0.1) / 10 if lowest > 0.7 else 0.0


def _span(days, horizon):
    """Days with their interval: ``6 (5 to 7) days``."""
    value, low, high = days
    if value >= horizon:
        known = " " + _("({low} at this site at the least)").format(low=plain(low)) if low < horizon else ""
        return _("{horizon} days or more{known}").format(horizon=horizon, known=known)
    unit = _("day") if value == 1 else _("days")
    if low == value == high:
        return f"{value} {unit}"
    upper = _("{horizon} or more").format(horizon=horizon) if high >= horizon else str(high)
    return _("{value} {unit} ({low} to {upper})").format(value=value, unit=unit, low=low, upper=upper)
