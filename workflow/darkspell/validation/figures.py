"""Figures of the validation chapter: storage test, dark spells, persistence, monthly clearness."""

import numpy as np

from darkspell.report.figures.layout import Finding, Page
from darkspell.report.figures.number_format import counted
from darkspell.report.figures.style import ACCENT, FAINT, GREY, INK, INK_LIGHT, SMALL, WORDS
from darkspell.validation.daily_storage import BANKS, WANTED

LOOKS = {
    "record": {"color": INK, "marker": "o", "mfc": INK},
    "monthly": {"color": ACCENT, "marker": "D", "mfc": "white"},
    "typical": {"color": ACCENT, "marker": "s", "mfc": ACCENT, "ms": 3},
    "atlas": {"color": GREY, "marker": "^", "mfc": "white"},
}
NAMES = {
    "record": "fitted on the record", "monthly": "twelve monthly means", "typical": "typical year of its months",
    "atlas": "atlas alone",
}  # fmt: skip
KEYS = (("record",), ("monthly", "typical"), ("atlas",))  # by panel
ROW_MM, PANEL_MM, ACROSS = 5.2, 30.0, 4
NEAR = (0.6, 1.7)
SHOWN = (0.08, 12.0)


def storage_page(judged, heads):
    """Synthetic over measured loss of load, a row a station, a panel a bank.

    Parameters
    ----------
    judged : list of darkspell.validation.judge.Judged
    heads : dict
        All stations together, by source and wanted share.

    Returns
    -------
    (Page, Finding)
    """
    head = heads["record"]
    words = Finding(
        title=(
            f"Fitted on the record, {_of_ten(head['inside'])} of {head['cells']} cells lie within what the record "
            f"itself may be off; with twelve monthly means {_of_ten(heads['monthly']['near'])} lie within a factor "
            "of 1.7"
        ),
        note="Loss of load, synthetic over measured; arrays sized so that the measured record loses 1 % of days.",
        caption=(
            "One is right; the bar is the 90 % bootstrap interval of the record's own share, so that a perfect "
            "model too would miss it in one case of ten. Marks at the edge lie beyond it. Lines at 0.6 and 1.7."
        ),
        alt="Dots by station and storage, ratios on a logarithmic axis; the table below holds every number.",
    )
    height = ROW_MM * len(judged)
    sheet = Page(words, height + 22)
    for column, bank in enumerate(BANKS):
        ax = sheet.axes(31 + 43 * column, 13, 40, height)
        draw_storage(ax, judged, bank)
        if column == 0:
            ax.set_yticks(range(len(judged)), [one.station.name for one in judged])
        _legend(ax, column)
    return sheet, words


def draw_storage(ax, judged, bank):
    """Ratios of one bank, a row a station; the record's own interval as a bar.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    judged : list of darkspell.validation.judge.Judged
    bank : str
        Key of the bank.
    """
    for limit in NEAR:
        ax.axvline(limit, color=FAINT, lw=0.6)
    ax.axvline(1.0, color=GREY, lw=0.8)
    for row, one in enumerate(judged):
        cells = [cell for cell in one.cells if (cell["bank"], cell["wanted"]) == (bank, WANTED)]
        if cells:
            ax.plot(
                [cells[0]["record_low"], cells[0]["record_high"]], [row, row], color=INK_LIGHT, lw=5, zorder=1
            )
        for cell in cells:
            at = np.clip(cell["ratio"], 1.2 * SHOWN[0], SHOWN[1] / 1.2)
            ax.plot(at, row, **({"ls": "", "ms": 4, "zorder": 3, "clip_on": False} | LOOKS[cell["source"]]))
    ax.set_xscale("log")
    ax.set_xlim(*SHOWN)
    ax.set_xticks([0.1, 0.3, 1, 3, 10], ["0.1", "0.3", "1", "3", "10"])
    ax.minorticks_off()
    ax.set_ylim(len(judged) - 0.5, -0.7)
    ax.set_yticks(range(len(judged)), [""] * len(judged))
    ax.tick_params(axis="y", length=0)
    ax.set_xlabel(f"{bank:g} days of storage", color=WORDS)
    return ax


def _legend(ax, column):
    for line, source in enumerate(reversed(KEYS[column])):
        mark = {"o": "\u25cf", "D": "\u25c7", "s": "\u25a0", "^": "\u25b3"}[LOOKS[source]["marker"]]
        ax.annotate(
            f"{mark} {NAMES[source]}", (0.0, 1.0), (0, 3 + 10 * line), xycoords="axes fraction",
            textcoords="offset points", color=LOOKS[source]["color"], size=SMALL, va="bottom",
        )  # fmt: skip


def spells_page(judged):
    """How often a dark spell lasts at least so long, measured and synthetic.

    Parameters
    ----------
    judged : list of darkspell.validation.judge.Judged

    Returns
    -------
    (Page, Finding)
    """
    worst = [_tail(one.statistics["record"]["spells"])[5] / max(_tail(one.statistics["measured"]["spells"])[5], 0.02)
             for one in judged if _tail(one.statistics["measured"]["spells"])[5] > 0.1]  # fmt: skip
    middle = float(np.median(worst)) if worst else float("nan")
    words = Finding(
        title=(
            f"Dark spells of six days and more come {middle:.1f} times as often in synthetic winters as in "
            f"measured ones, in the middle of {_stations(len(worst))} that have them"
        ),
        note="Runs of days with a clearness below 0.3, a winter (four darkest months), by least length in days.",
        caption="Dots measured, dark line fitted on the record, orange line from twelve monthly means.",
        alt="Small panels of falling curves, a station each; measured dots lie about the lines.",
    )
    return _small(words, judged, _draw_spells)


def lags_page(judged):
    """Autocorrelation of daily clearness, measured and synthetic.

    Parameters
    ----------
    judged : list of darkspell.validation.judge.Judged

    Returns
    -------
    (Page, Finding)
    """
    gap = [one.statistics["record"]["lags"][0] - one.statistics["measured"]["lags"][0] for one in judged]
    words = Finding(
        title=(
            f"From one day to the next synthetic clearness resembles itself as measured clearness does, within "
            f"{np.sqrt(np.mean(np.square(gap))):.2f} (RMS over {_stations(len(judged))})"
        ),
        note="Autocorrelation of daily clearness about its monthly mean, by lag in days.",
        caption="Dots measured, dark line fitted on the record, orange line from twelve monthly means.",
        alt="Small panels, a station each, of autocorrelation falling with lag.",
    )
    return _small(words, judged, _draw_lags)


def months_page(judged):
    """Monthly clearness, measured and of the atlas.

    Parameters
    ----------
    judged : list of darkspell.validation.judge.Judged

    Returns
    -------
    (Page, Finding)
    """
    ratio = np.array([one.statistics["atlas"]["kt"] / one.statistics["measured"]["kt"]
                      for one in judged if "atlas" in one.statistics])  # fmt: skip
    error = 100 * np.sqrt(np.mean(np.log(ratio) ** 2)) if ratio.size else float("nan")
    words = Finding(
        title=f"The built-in atlas misses monthly clearness by {error:.0f} % (RMS), in either direction",
        note="Mean daily clearness by calendar month, January to December.",
        caption="Dots measured, grey line the atlas after its annual correction.",
        alt="Small panels, a station each, of monthly clearness.",
    )
    return _small(words, judged, _draw_months)


def _small(words, judged, draw):
    """Small panels, a station each."""
    rows = -(-len(judged) // ACROSS)
    sheet = Page(words, rows * (PANEL_MM + 13) + 2)
    for at, one in enumerate(judged):
        row, column = divmod(at, ACROSS)
        ax = sheet.axes(10 + 38 * column, 8 + (rows - 1 - row) * (PANEL_MM + 13), 31, PANEL_MM)
        draw(ax, one)
        ax.set_title(one.station.name, color=WORDS, pad=3)
        ax.grid(axis="y")
    return sheet, words


def _draw_spells(ax, one):
    days = np.arange(1, 12)
    for source in ("monthly", "record"):
        ax.plot(days, np.maximum(_tail(one.statistics[source]["spells"]), 1e-3), color=LOOKS[source]["color"])
    measured = _tail(one.statistics["measured"]["spells"])
    ax.plot(
        days[measured > 0], measured[measured > 0], "o", color=INK, ms=3.5, mec="white", mew=0.4, zorder=4
    )
    ax.set_yscale("log")
    ax.set_ylim(0.02, 60)
    ax.set_yticks([0.1, 1, 10], ["0.1", "1", "10"])
    ax.minorticks_off()
    ax.set_xticks([1, 3, 5, 7, 9, 11], ["1", "3", "5", "7", "9", "11+"])


def _tail(counts):
    """Runs a winter of at least 1, 2, ... 11 days."""
    return np.cumsum(np.asarray(counts)[::-1])[::-1]


def _draw_lags(ax, one):
    lags = [1, 2, 3, 5, 10, 20]
    for source in ("monthly", "record"):
        ax.plot(lags, one.statistics[source]["lags"], color=LOOKS[source]["color"])
    ax.plot(lags, one.statistics["measured"]["lags"], "o", color=INK, ms=3.5, mec="white", mew=0.4, zorder=4)
    ax.set_xscale("log")
    ax.set_xticks(lags, [str(lag) for lag in lags])
    ax.minorticks_off()
    ax.set_ylim(-0.05, 0.7)
    ax.set_yticks([0, 0.2, 0.4, 0.6])


def _draw_months(ax, one):
    months = np.arange(1, 13)
    if "atlas" in one.statistics:
        ax.plot(months, one.statistics["atlas"]["kt"], color=GREY)
    ax.plot(months, one.statistics["measured"]["kt"], "o", color=INK, ms=3.5, mec="white", mew=0.4, zorder=4)
    ax.set_xticks(months, list("JFMAMJJASOND"))
    ax.set_ylim(0.15, 0.8)
    ax.set_yticks([0.2, 0.4, 0.6, 0.8])


def _of_ten(share):
    return "all" if share > 0.99 else f"{100 * share:.0f} %"


def _stations(count):
    return counted(count, "{count} station", "{count} stations")
