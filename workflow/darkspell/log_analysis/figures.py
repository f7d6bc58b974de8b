"""Two figures: the log's days over the design's bands, and the interval of each cause."""

import numpy as np

from darkspell.log_analysis import log_facts, report_text
from darkspell.log_analysis.classification import DIFFERS, FITS
from darkspell.log_analysis.design_bands import WORDS as QUANTITIES
from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.style import ACCENT, FAINT, GREY, INK, INK_LIGHT, INK_MIDDLE, SMALL, WORDS

REACH = 6.0  # tolerances shown either way


def days_page(comparison, site):
    """Daily quantity of the log over the bands of the design; page and finding.

    Parameters
    ----------
    comparison : darkspell.log_analysis.compare.Comparison
    site : str
        Name of the site.
    """
    bands, dates = comparison.bands, comparison.hours.dates
    weather = "the weather of these dates" if comparison.weather.known else "the climate of these dates"
    words, title = QUANTITIES[bands.quantity], log_facts.band_title(comparison)
    finding = Finding(
        title=title,
        note=f"{words[0].upper()}{words[1:]}, {log_facts.unit(bands)}; the design under {weather}. {site}",
        caption=(
            "Orange: the log. Half of the simulated days of the system as designed are in the dark band, eight in "
            "ten in the light band; the line is the median. Days with more than four hours missing are left out."
            f"{log_facts.moved_bands(bands)}"
        ),
        alt=f"The log's {words} by date, over bands of the design. {title}.",
    )
    page = Page(finding, 62)
    ax = page.axes(13, 8, 134, 50)
    x = np.arange(dates.size)
    ax.fill_between(x, bands.bands[0], bands.bands[4], color=INK_LIGHT, lw=0)
    ax.fill_between(x, bands.bands[1], bands.bands[3], color=INK_MIDDLE, lw=0)
    ax.plot(x, bands.bands[2], color=INK, lw=1.0)
    ax.plot(x, bands.logged, color=ACCENT, lw=1.2, marker="o", ms=1.8)
    ax.set_xlim(-0.5, dates.size - 0.5)
    if bands.quantity == "lowest_voltage":
        cut_off_line(ax, comparison.seen.cut_off, bands.logged)
    else:
        ax.set_ylim(bottom=0.0)
    step = max(1, int(np.ceil(dates.size / 6)))
    at = np.arange(0, dates.size, step)
    ax.set_xticks(at, [dates[i].item().strftime("%-d %b %Y" if i == 0 else "%-d %b") for i in at])
    return page, finding


def cut_off_line(ax, cut_off, logged):
    """The study's cut-off, where it lies within the picture; its words in the half that the log is further from.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    cut_off : float
        [V].
    logged : float64 array [days]
        Lowest voltage of each day [V]; NaN where not known.
    """
    low, high = ax.get_ylim()
    if not low < cut_off < high:
        return
    ax.axhline(cut_off, color=GREY, lw=0.8, ls="--")
    apart, half = np.abs(logged - cut_off), (logged.size + 1) // 2
    left = np.nanmin(apart[:half], initial=np.inf) > np.nanmin(apart[half:], initial=np.inf)
    at, side = (0, "left") if left else (logged.size - 1, "right")
    ax.text(
        at, cut_off, f"the study's cut-off, {cut_off:.1f} V", ha=side, va="bottom", size=SMALL, color=WORDS
    )


def intervals_page(comparison, site):
    """Interval of each cause against what is ordinary; page and finding.

    Parameters
    ----------
    comparison : Comparison
    site : str
        Its name.
    """
    found = comparison.verdicts
    differing = [report_text.NAMES[one.name].lower() for one in found if one.state == DIFFERS]
    title = f"Differs from the study: {', '.join(differing)}" if differing else "Nothing is shown to differ"
    finding = Finding(
        title=title,
        note=f"95 % intervals by cause, and what is ordinary of each. {site}",
        caption=(
            "Each bar is the 95 % interval of one cause; the grey band is what is ordinary of it. A bar outside the "
            "band differs; a short one in or near it is as designed; a long bar cannot be told."
        ),
        alt=f"{len(found)} horizontal bars, each against a band of what is ordinary. "
        + " ".join(f"{report_text.NAMES[one.name]}: {one.state}." for one in found),
    )
    page = Page(finding, 12 + 11 * len(found))
    ax = page.axes(50, 8, 66, 11 * len(found) - 2)
    ax.axvline(0, color=GREY, lw=0.7)
    for row, one in enumerate(reversed(found)):
        _bar(ax, row, one)
    ax.set_xlim(-REACH, REACH)
    ax.set_ylim(-0.6, len(found) - 0.4)
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    ax.set_xticks([-5, 0, 5], ["below", "study", "above"])
    return page, finding


def _bar(ax, row, one):
    name = report_text.NAMES[one.name].replace("shown when", "shown\nwhen")
    name = f"{name}\n(ordinary {report_text.ordinary(one)})"
    ax.text(-1.08 * REACH, row, name, ha="right", va="center", size=SMALL, color=WORDS, linespacing=1.1)
    band = [(part - one.design) / one.tolerance for part in one.ordinary]
    ax.fill_between(band, row - 0.5, row + 0.5, color=INK_LIGHT, lw=0)
    colour = ACCENT if one.state == DIFFERS else INK if one.state == FITS else FAINT
    if np.isfinite(one.low):
        low, middle, high = (
            np.clip((part - one.design) / one.tolerance, -REACH, REACH)
            for part in (one.low, one.middle, one.high)
        )
        ax.plot([low, high], [row, row], color=colour, lw=5, solid_capstyle="butt", zorder=3)
        beyond = low == high  # the whole interval lies off the picture
        mark = ("<" if middle < 0 else ">") if beyond else "|"
        ax.plot(
            [middle], [row], marker=mark, ms=7 if beyond else 11, color=colour if beyond else WORDS, zorder=4,
            clip_on=False,
        )  # fmt: skip
    words = f"{report_text.interval(one)}\n{one.state}" if np.isfinite(one.low) else one.state
    ax.text(1.06 * REACH, row, words, ha="left", va="center", size=SMALL, color=WORDS, linespacing=1.1)
