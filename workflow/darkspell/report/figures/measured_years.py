"""Measured years against synthetic ones: how many years are worse than so much."""

import numpy as np

from darkspell.core.messages import _
from darkspell.report.figures.labels import halo
from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.number_format import counted, known, number
from darkspell.report.figures.style import ACCENT, INK, INK_LIGHT, SMALL, WORDS

BOXES = ((20, 13, 58, 52), (97, 13, 58, 52))
LOSS = ("lolh", "hours of the year without essential power")
LONGEST = ("longest_event_h", "longest time without it at one go, h")
DEPTH = ("max_depth_true_pct", "deepest discharge of the year, %")
DRAWS = 2000


def finding(results):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.figures.layout.Finding
    """
    run = _run(results)
    row = results.measured_comparison.set_index("statistic").loc["lolh"]
    measured, synthetic = (
        known(*(row[f"{kind}{end}"] for end in ("", "_low", "_high"))) for kind in ("measured", "simulated")
    )
    years = counted(len(run), "{count} measured year", "{count} measured years")
    if row["verdict"] == "same":
        title = _("{years} and the synthetic ones agree").format(years=years)
    else:
        title = (
            _("{years} lose more than the synthetic ones, beyond chance")
            if row["measured"] > row["simulated"]
            else _("{years} lose less than the synthetic ones, beyond chance")
        ).format(years=years)
    title = _("{title}: {measured} against {synthetic} hours a year without essential power").format(
        title=title, measured=measured, synthetic=synthetic
    )
    return Finding(
        title=title,
        note=_("Share of years that are worse than the value below. {scope}").format(scope=results.scope),
        caption=(
            _(
                "Each dot is a measured year, run as it was; the line is the share of synthetic years "
                "that are worse. The band is where {count} chosen at random from the synthetic ones would be, "
                "19 times "
                "in 20."
            ).format(count=counted(len(run), "{count} year", "{count} years"))
        ),
        alt=(
            _(
                "Two panels of falling curves, the first of hours without essential power. Of the "
                "measured years the worst is {worst}."
            ).format(worst=_worst(run))
        ),
    )


def draw(ax, measured, synthetic, names, title):
    """Share of years that are worse, measured and synthetic.

    Parameters
    ----------
    ax : matplotlib Axes
    measured, synthetic : float arrays [years]
    names : sequence of str
        Of the measured years.
    title : str
        What is shown, with its unit.

    Returns
    -------
    matplotlib Axes
    """
    count = len(measured)
    share = 100.0 * (np.arange(count, 0, -1) - 0.5) / count
    low, high = band(synthetic, count)
    ax.fill_betweenx(share, low, high, color=INK_LIGHT, lw=0)
    line = np.sort(synthetic)
    ax.plot(line, 100.0 * (np.arange(line.size, 0, -1) - 0.5) / line.size, color=INK, lw=1.4)
    order = np.argsort(measured, kind="stable")
    ax.plot(measured[order], share, "o", color=ACCENT, ms=4, mec="white", mew=0.4, clip_on=False, zorder=3)
    top = max(measured.max(), np.quantile(synthetic, 0.995), 1e-9)
    least = min(measured.min(), np.quantile(synthetic, 0.005))
    start = 0.0 if least < 0.3 * top else least - 0.08 * (top - least)
    ax.set_xlim(start, start + 1.06 * (top - start))
    ax.set_ylim(0, 100)
    worst = int(order[-1])
    left = measured[worst] > start + 0.6 * (top - start)
    ax.annotate(
        names[worst], (measured[worst], share[-1]), xytext=(-6 if left else 6, 2), textcoords="offset points",
        ha="right" if left else "left", va="bottom", size=SMALL, color=WORDS, path_effects=halo(), zorder=5,
    )  # fmt: skip
    ax.set_yticks(range(0, 101, 25), [f"{tick} %" for tick in range(0, 101, 25)])
    ax.grid(axis="y")
    ax.set_xlabel(title)
    return ax


def band(synthetic, count):
    """Where the sorted values of `count` years drawn from the synthetic ones lie 95 times of 100; two arrays.

    Parameters
    ----------
    synthetic : float array
        One statistic of the simulated years.
    count : int
        Number of measured years.
    """
    rng = np.random.default_rng(0)
    drawn = np.sort(rng.choice(np.asarray(synthetic, float), (DRAWS, count)), axis=1)
    return np.quantile(drawn, 0.025, axis=0), np.quantile(drawn, 0.975, axis=0)


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
    words, run = finding(results), _run(results)
    sheet = Page(words, 68)
    second = LONGEST if (run[LOSS[0]] > 0).mean() >= 0.5 else DEPTH
    for box, (column, title) in zip(BOXES, (LOSS, second), strict=True):
        ax = sheet.axes(*box)
        values = (table[column].to_numpy(float) for table in (run, results.members))
        draw(ax, *values, [str(name) for name in run["year"]], title)
        if column == LOSS[0]:
            ax.set_ylabel(_("years that are worse"))
    return sheet, words


def _run(results):
    return results.measured_years[results.measured_years["run"] == "yes"]


def _worst(run):
    worst = run.loc[run["lolh"].idxmax()]
    return _("{year} with {lolh} hours").format(year=worst["year"], lolh=number(worst["lolh"]))
