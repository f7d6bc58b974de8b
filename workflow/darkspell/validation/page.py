"""The validation chapter as a document, written out like the proposal."""

import numpy as np

from darkspell.climate.record.quality_checks import ESTIMATED
from darkspell.report.document.document import Document
from darkspell.report.document.tree import Figure, Paragraph, Section, Table
from darkspell.validation.daily_storage import BANKS, RARE, WANTED
from darkspell.validation.figures import NAMES
from darkspell.validation.judge import SOURCES

ALARM = 0.05
# Share of cells within 0.6 to 1.7 [%], geometric mean, cells that the stated 90 % interval contains [%]: each station
# left out with all within 800 km, widths chosen without it (judge_climate.py, choose_widths.py in workflow/data).
LEFT_OUT = {
    "record": (97, 1.14, 93), "monthly": (82, 0.99, 89), "typical": (67, 0.93, 88), "atlas": (33, 0.95, 86),
    "satellite": (77, 1.13, 95),
}  # fmt: skip
ORDER = ("storage", "spells", "lags", "months")


def chapter(judged, heads, pictures, set_aside=()):
    """The document.

    Parameters
    ----------
    judged : list of darkspell.validation.judge.Judged
    heads : dict
        ``{(source, wanted): headline}``.
    pictures : dict
        ``{name: (path without ending, Finding)}``.

    set_aside : sequence of (str, str)
        Stations that were not judged, and why.

    Returns
    -------
    darkspell.report.document.document.Document
    """
    figures = {
        name: Figure(path, finding.title, finding.caption, finding.alt)
        for name, (path, finding) in pictures.items()
    }
    rejected = [one.station.name for one in judged if one.probability.get("record", 1.0) < ALARM]
    return Document(
        title="How far the weather may be believed",
        facts=[
            ("Stations", f"{len(judged)}: {', '.join(one.station.name for one in judged)}"),
            *([("Set aside", "; ".join(f"{name}: {reason}" for name, reason in set_aside))] if set_aside else []),
            ("Judged by", "loss of load on measured days, and on synthetic days of the same place"),
        ],
        opening=_opening(judged, heads),
        sections=[
            Section("Loss of load, synthetic over measured", [
                Paragraph(
                    "An array tilted ten degrees beyond the latitude feeds a constant load; it is sized so that the "
                    "measured record loses load on 1 % of days with two, four and seven days of storage. The same "
                    "system then meets a thousand synthetic years. A daily balance, without loss: what is judged is "
                    "the weather and nothing else."
                ),
                figures["storage"], _headlines(heads), _fitted_words(),
                *[_cells(judged, wanted) for wanted in (WANTED, RARE) if ("record", wanted) in heads],
            ]),
            Section("Dark spells, persistence and distribution, in one test a station", [
                Paragraph(_joint_words(judged, rejected) + _floors(judged)),
                figures["spells"], _joint(judged), figures["lags"],
            ]),
            Section("Monthly clearness of the atlas", [figures["months"]]),
        ],
        appendix=[Section("What was counted", [_counted(judged)]), Section("How to read this", [_how()])],
    )  # fmt: skip


def _opening(judged, heads):
    record, monthly, typical, atlas = (
        heads.get((source, WANTED)) for source in ("record", "monthly", "typical", "atlas")
    )
    lines = [
        Paragraph(
            "With a measured record of the place, the loss of load of synthetic years is "
            f"{record['mean']:.2f} times the measured one (geometric mean of {record['cells']} cells), and "
            f"{_pct(record['inside'])} of the cells lie within what the record itself may be off "
            "(90 % bootstrap interval).",
            "lead",
        ),
        Paragraph(
            f"With twelve monthly means it is {monthly['mean']:.2f} times, and {_pct(monthly['near'])} of the cells "
            f"lie between 0.6 and 1.7; with a typical year made of measured months {typical['mean']:.2f} times and "
            f"{_pct(typical['near'])}. The 90 % intervals that are stated hold the measured value in "
            f"{_pct(record['covered'])} (record), {_pct(monthly['covered'])} (means) and {_pct(typical['covered'])} "
            "(typical year) of the cells."
        ),
    ]
    if atlas:
        lines.append(
            Paragraph(
                f"With the atlas alone the median is {atlas['median']:.2f}, single places are off by much more; the "
                f"stated 90 % interval holds the measured value in {_pct(atlas['covered'])} of the cells (interval "
                f"score {atlas['score']:.1f}, {atlas['constant_score']:.1f} for the best interval of one width)."
            )
        )
    lines.append(
        Paragraph(
            "The stations' data are not part of this project; what is printed here are counts and ratios. A record "
            "of twenty to fifty years is itself a draw: the intervals beside the ratios say how far it may be off.",
            "note",
        )
    )
    return lines


def _headlines(heads):
    rows = []
    for (source, wanted), head in heads.items():
        rows.append([
            f"{NAMES[source]}, {100 * wanted:g} %", str(head["cells"]), f"{head['mean']:.2f}",
            f"{head['median']:.2f}", _pct(head["near"]), _pct(head["inside"]), _pct(head["covered"]),
            f"{head['score']:.2f}", f"{head['constant_score']:.2f}",
        ])  # fmt: skip
    return Table(
        caption="All cells together",
        header=["Source, measured loss", "Cells", "Geometric mean", "Median", "0.6 to 1.7",
                "In the record's interval", "Held as stated", "Interval score", "Of one width"],
        rows=rows,
        align="lrrrrrrrr",
        note="Loss of 0.1 % is 5 days in fourteen years and 19 in fifty-two, counted like the other: so few that a "
        "model without fault lies outside 0.6 to 1.7 in four cells of ten. Interval score of the logarithm "
        "(Gneiting & Raftery 2007): smaller is better; beside it that of the best interval of one width, known only "
        "after the fact.",
    )  # fmt: skip


def _cells(judged, wanted):
    order = list(reversed(SOURCES))
    rows = []
    for one in judged:
        cells = {(c["source"], c["bank"]): c for c in one.cells if c["wanted"] == wanted}
        if not cells:
            continue
        own = [
            f"{cells['record', bank]['record_low']:.2f}–{cells['record', bank]['record_high']:.2f}"
            for bank in BANKS
        ]
        ratios = [
            " / ".join(_ratio(cells[source, bank]["ratio"]) for bank in BANKS)
            if (source, BANKS[0]) in cells
            else "–"
            for source in order
        ]
        lossy = " / ".join(f"{cells['record', bank]['with_loss']}" for bank in BANKS)
        years = cells["record", BANKS[0]]["years"]
        rows.append([one.station.name, *ratios, " / ".join(own), f"{lossy} of {years}"])
    return Table(
        caption=f"Synthetic over measured at {100 * wanted:g} % of days, with {_banks()} days of storage",
        header=["Station", *(NAMES[source].capitalize() for source in order), "The record's own interval",
                "Years with a lost day"],
        rows=rows,
        align="l" + "r" * (len(order) + 2),
        note="" if wanted == WANTED else "Where one or two years hold all lost days, chance or a fault of the "
        "instrument in these decides the ratio.",
    )  # fmt: skip


def _ratio(value):
    return f"{value:.2f}" if value < 10 else f"{value:.0f}"


def _banks():
    return " / ".join(f"{bank:g}" for bank in BANKS)


def _joint_words(judged, rejected):
    start = (
        "Monthly means, spread between years, quantiles, spells of every length, the longest spell of a winter and "
        "the autocorrelation are held together against pseudo-records of the model, each as long as the measured "
        "one and with its holes. "
    )
    if not rejected:
        return f"{start}At none of {len(judged)} stations does the measured record lie outside 95 of 100 of them."
    expected = ALARM * len(judged)
    return (
        f"{start}The measured record lies outside 95 of 100 of them at {len(rejected)} of {len(judged)} stations "
        f"({', '.join(rejected)}), where chance alone would have {expected:.1f}."
    )


def _floors(judged):
    """Stations whose record has a floor of clearness."""
    names = [
        one.station.name
        for one in judged
        if any(ESTIMATED in fault.kind for fault in one.station.record.faults)
    ]
    if not names:
        return ""
    return (
        f" At {', '.join(names)} the dullest days of the record all stand at one clearness near 0.2, as irradiation "
        f"{ESTIMATED} does; the model has darker ones, and these records say too little of dull weather."
    )


def _joint(judged):
    rows = [
        [
            one.station.name,
            *(f"{one.probability[s]:.3f}" if s in one.probability else "–" for s in ("record", "monthly")),
            ", ".join(f"{name.replace('_', ' ')} {z:+.1f}" for name, z in one.farthest.get("record", [])),
        ]
        for one in judged
    ]
    return Table(
        caption="Probability that the model draws a record as far out as the measured one",
        header=[
            "Station",
            "Fitted on the record",
            "Twelve monthly means",
            "Farthest out (standard deviations)",
        ],
        rows=rows,
        align="lrrl",
        note="Spells by length in days, quantiles (q) of clearness in winter and in the year, lags in days.",
    )


def _counted(judged):
    rows = []
    for one in judged:
        for source, name in (("measured", "measured"), ("record", "fitted"), ("monthly", "monthly means")):
            values = one.statistics[source]
            rows.append([
                f"{one.station.name}, {name}", " ".join(f"{kt:.2f}".lstrip("0") for kt in values["kt"]),
                f"{values['dark_share']:.2f}", f"{values['longest'][0]:.0f} / {values['longest'][1]:.0f}",
                " ".join(f"{lag:.2f}".lstrip("0") for lag in values["lags"]),
                " ".join(f"{count:.1f}" for count in values["spells"]),
            ])  # fmt: skip
    return Table(
        caption="Clearness by month; dark days and spells of the four darkest months",
        header=["Station", "KT January to December", "Dark share", "Longest, median / 1 in 10",
                "Lags 1 2 3 5 10 20", "Spells a winter of 1, 2, ... 10, 11+ days"],
        rows=rows,
        align="llrrll",
    )  # fmt: skip


def _how():
    return Paragraph(
        "Dark: a clearness below 0.3. The record's own interval: its years resampled with replacement, a thousand "
        "times. The ratios are without the uncertainty of a source. Interval as stated: the share of cells whose "
        "measured loss is within the 90 % interval that the source's uncertainty gives to a record of so many "
        "years. Monthly means are the record's own here, so the uncertainty of means does not apply, and the "
        "sampling error that shows in them is removed. The typical year is made of the measured months closest to "
        "all years by their daily sunshine (statistic of Finkelstein & Schafer); published typical years weigh "
        "temperature, humidity and wind too, and are hourly. The files storage.csv, stations.csv and headline.csv "
        "next to this page contain every number."
    )


def _fitted_words():
    return Paragraph(
        "The constants of the model were fitted on 24 stations; those of them that are above were not left out here. "
        "With each station left out of the fits together with all others within 800 km, "
        f"{LEFT_OUT['monthly'][0]} % of the cells from twelve monthly means are within 0.6 to 1.7 (geometric mean "
        f"{LEFT_OUT['monthly'][1]:.2f}; the stated 90 % interval contains {LEFT_OUT['monthly'][2]} %), of the atlas "
        f"{LEFT_OUT['atlas'][0]} % ({LEFT_OUT['atlas'][1]:.2f}; {LEFT_OUT['atlas'][2]} %), of typical years "
        f"{LEFT_OUT['typical'][0]} % ({LEFT_OUT['typical'][1]:.2f}; {LEFT_OUT['typical'][2]} %), fitted on records "
        f"{LEFT_OUT['record'][0]} % ({LEFT_OUT['record'][1]:.2f}; {LEFT_OUT['record'][2]} %); satellite series near "
        f"stations {LEFT_OUT['satellite'][0]} % ({LEFT_OUT['satellite'][1]:.2f}; {LEFT_OUT['satellite'][2]} %). "
        "workflow/data/judge_climate.py prints these figures.",
        "note",
    )


def _pct(share):
    return f"{100 * np.round(share, 2):.0f} %"
