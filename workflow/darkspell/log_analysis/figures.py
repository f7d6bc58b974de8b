"""Two figures: the log's days against those expected, and what differs with its interval."""

import numpy as np

from darkspell.log_analysis.classification import DIFFERS, FITS
from darkspell.log_analysis.report_text import NAMES, interval, value
from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.style import ACCENT, FAINT, GREY, INK, INK_LIGHT, INK_MIDDLE, SMALL, WORDS


def days_page(comparison, place):
    """Charge in and out by day, the log over the bands of the design; page and finding."""
    bands = np.quantile(comparison.expected, [0.1, 0.25, 0.5, 0.75, 0.9], axis=0)
    logged, dates = comparison.logged, comparison.hours.dates
    outside = [_outside(bands[:, :, side], logged[:, side]) for side in (0, 1)]
    weather = "the weather of these dates" if comparison.weather_known else "the climate of these dates"
    finding = Finding(
        title=_days_title(outside),
        note=f"Charge into and out of the bank by day, Ah; the design under {weather}. {place}",
        caption=(
            "Orange: the log. Half of the simulated days of the system as designed lie in the dark "
            "band, eight of ten in the light one, the line is the middle. "
            "Days with more than two hours missing are left out."
        ),
        alt=f"Two panels by date, charge in above and charge out below. {_days_title(outside)}.",
    )
    page = Page(finding, 92)
    for side, (words, bottom) in enumerate((("charge in", 51), ("charge out", 8))):
        ax = page.axes(13, bottom, 134, 37)
        _band(ax, dates, bands[:, :, side], logged[:, side])
        ax.text(0.0, 1.03, f"{words}, Ah a day", transform=ax.transAxes, color=WORDS, size=SMALL)
        _date_axis(ax, dates, labelled=side == 1)
    return page, finding


def _band(ax, dates, bands, logged):
    x = np.arange(dates.size)
    ax.fill_between(x, bands[0], bands[4], color=INK_LIGHT, lw=0)
    ax.fill_between(x, bands[1], bands[3], color=INK_MIDDLE, lw=0)
    ax.plot(x, bands[2], color=INK, lw=1.0)
    ax.plot(x, logged, color=ACCENT, lw=1.2, marker="o", ms=1.8)
    top = np.nanmax([np.nanmax(bands[4]), np.nanmax(logged, initial=0.0)])
    ax.set_ylim(0, 1.08 * max(top, 1.0))
    ax.set_xlim(-0.5, dates.size - 0.5)


def _date_axis(ax, dates, labelled):
    step = max(1, int(np.ceil(dates.size / 6)))
    at = np.arange(0, dates.size, step)
    names = [dates[i].item().strftime("%-d %b %Y" if i == 0 else "%-d %b") for i in at]
    ax.set_xticks(at, names if labelled else [])


def _outside(bands, logged):
    good = np.isfinite(logged)
    if not good.any():
        return 0.0, 0.0
    return float((logged[good] > bands[4][good]).mean()), float((logged[good] < bands[0][good]).mean())


def _days_title(outside):
    parts = []
    for (above, below), words in zip(outside, ("into", "out of"), strict=True):
        share, way = (above, "more") if above > 0.3 else (below, "less")
        if share > 0.3:
            days = f"on {100 * share:.0f} days of 100 {way}"
            parts.append(f"{days} went {words} the bank than on nine designed days of ten")
    if not parts:
        return "The log's days lie where the design's days lie"
    text = "; ".join(parts)
    return text[0].upper() + text[1:]


def intervals_page(comparison, place):
    """What differs and what cannot be told: an interval each against what is ordinary; page and finding."""
    found = comparison.found
    differing = [NAMES[one.name].lower() for one in found if one.state == DIFFERS]
    title = f"Differs from the design: {', '.join(differing)}" if differing else "Nothing is shown to differ"
    finding = Finding(
        title=title,
        note=f"Intervals (95 %) in units of what is ordinary; the band reaches one such unit either way. {place}",
        caption=(
            "Each bar is the 95 % interval of one thing, its distance from the design measured in its own ordinary "
            "tolerance. A bar clear of the band differs; one near it is as designed; a long one cannot be told."
        ),
        alt="Five horizontal bars against a central band. "
        + " ".join(f"{NAMES[one.name]}: {one.state}." for one in found),
    )
    page = Page(finding, 12 + 11 * len(found))
    ax = page.axes(50, 8, 66, 4 + 11 * len(found) - 6)
    reach = 6.0
    ax.axvspan(-1, 1, color=INK_LIGHT, lw=0)
    ax.axvline(0, color=GREY, lw=0.7)
    for row, one in enumerate(reversed(found)):
        _bar(ax, row, one, reach)
    ax.set_xlim(-reach, reach)
    ax.set_ylim(-0.6, len(found) - 0.4)
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    ax.set_xticks([-5, -1, 0, 1, 5], ["5 below", "", "design", "", "5 above"])
    return page, finding


def _bar(ax, row, one, reach):
    ax.text(-1.08 * reach, row, NAMES[one.name].replace("Charge efficiency set", "Charge efficiency set\n"),
            ha="right", va="center", size=SMALL, color=WORDS)  # fmt: skip
    colour = ACCENT if one.state == DIFFERS else INK if one.state == FITS else FAINT
    if np.isfinite(one.low):
        low, middle, high = (
            np.clip((part - one.design) / one.tolerance, -reach, reach)
            for part in (one.low, one.middle, one.high)
        )
        ax.plot([low, high], [row, row], color=colour, lw=5, solid_capstyle="butt", zorder=3)
        ax.plot([middle], [row], marker="|", ms=11, color=WORDS, zorder=4)
    words = f"{value(one, one.middle)} ({interval(one)})\n{one.state}" if np.isfinite(one.low) else one.state
    ax.text(1.06 * reach, row, words, ha="left", va="center", size=SMALL, color=WORDS, linespacing=1.1)
