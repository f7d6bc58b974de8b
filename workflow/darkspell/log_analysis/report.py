"""The comparison written out: text for the terminal, a table, and one page that needs nothing but itself."""

from pathlib import Path

import numpy as np

from darkspell.core.atomic_files import replacing, write_table, write_text
from darkspell.log_analysis import log_facts, next_steps
from darkspell.log_analysis import report_text as words
from darkspell.report.wording import given

CAUTION = (
    "A log tells how a system behaves, not whether it is safe. Before touching bank or wiring follow the local "
    "code, and leave work on them to a licensed practitioner."
)
LIMIT = (
    "The intervals allow for other banks, other daily courses of the loads and errors of the weather record, as far "
    "as they are ordinary. They do not allow for what the study leaves out, such as a charger that it does not list."
)


def text(study, comparison, colour=False):
    """The answer for a terminal; str.

    Parameters
    ----------
    study : Study
    comparison : Comparison
    colour : bool
        With bold words for a terminal.
    """
    dates = comparison.hours.dates
    head = f"{given(study.document.title)}: {given(comparison.name)}, {dates[0]} to {dates[-1]}"
    bold, plain = ("\x1b[1m", "\x1b[0m") if colour else ("", "")
    lines = [
        f"{bold}{head}{plain}",
        "",
        *(f"  {name}: {value}" for name, value in log_facts.facts(comparison)),
    ]
    if comparison.seen.run_down:
        lines[1:1] = ["", log_facts.summary(comparison)]
    lines += ["", *words.answer(comparison)]
    if words.causes_stated(comparison):
        width = max(len(name) for name in words.NAMES.values())
        lines += ["", f"{'Against the study:':{width + 2}}  {'in this log':>18}  {'ordinary':>18}"]
        lines += [
            f"  {words.NAMES[one.name]:{width}}  {words.interval(one):>18}  {words.ordinary(one):>18}  {one.state}"
            for one in comparison.verdicts
        ]
        lines += ["", words.meaning(comparison)]
    for head, part in (
        ("Next:", next_steps.steps(comparison)),
        ("Cannot be told:", words.untold(comparison)),
    ):
        if part:
            lines += ["", head, *(f"  {i}. {one}" for i, one in enumerate(part, 1))]
    lines += ["", given(words.weather(comparison))]
    lines += _for_the_next_log(comparison)
    if comparison.notes:
        lines += ["", "What was read:", *(f"  {given(note)}" for note in comparison.notes)]
    return "\n".join(lines) + "\n"


def _for_the_next_log(comparison):
    """What to log next time, unless it is a numbered step already; list of str."""
    return [
        part
        for part in [next_steps.log_next(comparison)]
        if part and part not in next_steps.steps(comparison)
    ]


def table(comparison):
    """Facts and causes, one row each; pandas table of the CSV.

    Parameters
    ----------
    comparison : Comparison
    """
    import pandas as pd

    seen, bands = comparison.seen, comparison.bands
    gap = 0 if not seen.longest_gap else seen.longest_gap[0]
    facts = [
        ("lowest_voltage", "V", seen.lowest_voltage),
        ("hours_below_cut_off", "h", seen.hours_below),
        ("lowest_reading", "-", seen.lowest_soc),
        ("days", "d", seen.days),
        ("days_with_full_charge", "d", np.nan if seen.full_days is None else seen.full_days),
        ("longest_without_full_charge", "d", np.nan if seen.full_days is None else gap),
        ("gaps", "-", seen.gaps.count),
        ("nights_stopped", "nights", seen.gaps.nights_stopped),
        ("days_outside_band", "-", bands.outside),
        ("days_outside_band_1_in_20", "-", bands.most),
    ]
    rows = [{"quantity": name, "unit": unit, "value": value} for name, unit, value in facts]
    if words.causes_stated(comparison):
        rows += [
            {
                "quantity": one.name, "unit": "A" if one.name == "offset" else "-", "design": one.design,
                "value": one.middle, "low": one.low, "high": one.high,
                "ordinary_low": one.ordinary[0],
                "ordinary_high": one.ordinary[1], "verdict": one.state,
            }
            for one in comparison.verdicts
        ]  # fmt: skip
    columns = [
        "quantity",
        "unit",
        "value",
        "design",
        "low",
        "high",
        "ordinary_low",
        "ordinary_high",
        "verdict",
    ]
    return pd.DataFrame(rows, columns=columns)


def write(study, comparison, folder):
    """Write page, table and figures of one log; path of the page.

    Parameters
    ----------
    study : darkspell.study.Study
    comparison : darkspell.log_analysis.compare.Comparison
    folder : pathlib.Path
        The study's results; files go to ``logs/`` in it.
    """
    from darkspell.report.document.html import html

    stem = page_stem(comparison.name)
    out = Path(folder) / "logs"
    figures = _figures(study, comparison, out / stem)
    write_table(out / f"{stem}.csv", table(comparison))
    write_text(out / f"{stem}.html", html(document(study, comparison, figures)))
    return out / f"{stem}.html"


def page_stem(name):
    """Name of a log's page and figures: plain letters, digits, _ and - of the log's own, at most 60.

    Parameters
    ----------
    name : str
        File name of the log.

    Returns
    -------
    str
    """
    kept = "".join(
        letter if letter.isascii() and (letter.isalnum() or letter in "_-") else "_"
        for letter in Path(name).stem
    )
    return kept[:60].strip("_") or "log"


def _figures(study, comparison, base):
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    from darkspell.log_analysis.figures import days_page, intervals_page
    from darkspell.report.figures.style import look

    out = []
    asked = [("days", days_page)] if log_facts.has_days(comparison) else []
    if words.causes_stated(comparison):
        asked.append(("differs", intervals_page))
    with look():
        for name, make in asked:
            page, finding = make(comparison, given(study.site.name))
            FigureCanvasAgg(page.figure)
            path = base.with_name(f"{base.name}_{name}")
            for kind, meta in (("png", {"Software": None}), ("svg", {"Date": None, "Creator": None})):
                with replacing(path.with_suffix(f".{kind}")) as temporary:
                    page.figure.savefig(temporary, format=kind, metadata=meta)
            out.append((path, finding, round(page.head, 4)))
    return out


def document(study, comparison, figures):
    """The page as a tree; `darkspell.report.document.document.Document`."""
    from darkspell.report.document.document import Document
    from darkspell.report.document.tree import Figure, Listing, Paragraph, Section

    dates = comparison.hours.dates
    pictures = [
        Figure(path, finding.title, f"{finding.note.rstrip('.')}. {finding.caption}", finding.alt, head)
        for path, finding, head in figures
    ]
    own = pictures[:1] if log_facts.has_days(comparison) else []
    seen, weeks = [_facts_table(comparison), *own], _weeks_table(comparison)
    sections = [Section("What the log shows", seen)]
    steps, untold = next_steps.steps(comparison), words.untold(comparison)
    if len(pictures) > len(own):
        told = [*pictures[len(own) :], Paragraph(words.meaning(comparison))]
        sections.append(Section("Against the study", told))
    if steps:
        sections.append(Section("Next steps", [Listing(steps, ordered=True)]))
    if untold:
        sections.append(Section("What this log cannot tell", [Listing(untold)]))
    if weeks is not None:
        sections.append(Section("Charge and energy by week", [weeks]))
    about = [Paragraph(given(words.weather(comparison)))]
    about += [Paragraph(part) for part in _for_the_next_log(comparison)]
    if comparison.notes:
        about.append(Listing([given(note) for note in comparison.notes]))
    sections.append(Section("Weather, and what was read", about))
    keep = [Paragraph(CAUTION)] if not comparison.inferred else [Paragraph(LIMIT), Paragraph(CAUTION)]
    sections.append(Section("What to keep in mind", keep))
    return Document(
        title=f"What the log shows: {given(study.document.title)}",
        facts=[
            ("For", given(study.document.client)),
            ("Place", given(study.site.name)),
            ("Log", f"{given(comparison.name)}, {dates[0]} to {dates[-1]}"),
        ],
        opening=[
            Paragraph(log_facts.summary(comparison), "lead"),
            *(Paragraph(part) for part in words.answer(comparison)),
            *([Paragraph(given(study.document.note), "note")] if study.document.note else []),
        ],
        sections=sections,
    )


def _facts_table(comparison):
    from darkspell.report.document.tree import Table

    rows = [[name, value] for name, value in log_facts.facts(comparison)]
    return Table("What needs no model", ["", "in this log"], rows, "ll")


def _weeks_table(comparison):
    from darkspell.report.document.tree import Table
    from darkspell.report.figures.number_format import number

    weeks = comparison.seen.weeks
    if not weeks:
        return None
    energy = any(np.isfinite(week.wh_in) for week in weeks)
    header = ["week from", "Ah in", "Ah out", *(["kWh in", "kWh out"] if energy else []), "hours logged"]
    rows = []
    for week in weeks:
        parts = [number(week.ah_in, 0), number(week.ah_out, 0)]
        if energy:
            parts += [number(week.wh_in / 1000.0, 2), number(week.wh_out / 1000.0, 2)]
        rows.append([str(week.first), *parts, f"{week.hours}"])
    return Table(
        "In and out of the bank", header, rows, "l" + "r" * (len(header) - 1), None,
        "Net current of the bank; what the loads take while the sun serves them does not pass the shunt.",
    )  # fmt: skip
