"""The comparison written out: text for the terminal, a table, and one page that needs nothing but itself."""

from pathlib import Path

from darkspell.core.atomic_files import replacing, write_table, write_text
from darkspell.log_analysis import report_text as words
from darkspell.log_analysis.classification import DIFFERS
from darkspell.report.wording import given

CAUTION = (
    "A log tells how a system behaves, not whether it is safe. Before touching bank or wiring follow the local "
    "code, and leave work on them to a licensed practitioner."
)
LIMIT = (
    "The intervals hold if the system behaves as the model does, with the loads' daily course as in the study. "
    "What is not asked (a charger at another voltage, a load at new hours) may show as one of the five."
)


def text(study, comparison, colour=False):
    """The answer for a terminal; str."""
    dates = comparison.hours.dates
    head = f"{given(study.document.title)}: {given(comparison.name)}, {dates[0]} to {dates[-1]}"
    bold, plain = ("\x1b[1m", "\x1b[0m") if colour else ("", "")
    lines = [f"{bold}{head}{plain}", "", *words.answer(comparison), "", comparison.weather_words, ""]
    width = max(len(name) for name in words.NAMES.values())
    for one in comparison.found:
        lines.append(
            f"  {words.NAMES[one.name]:{width}}  {_found(one):>9}  {words.interval(one):>18}  {one.state}"
        )
    extra = [*words.settings(comparison, study.monitors[study.monitor]), *comparison.notes]
    return "\n".join([*lines, *([""] if extra else []), *extra]) + "\n"


def _found(one):
    return words.value(one, one.middle) if one.middle == one.middle else "-"


def table(comparison):
    """One row a thing asked; pandas table of the CSV."""
    import pandas as pd

    rows = [
        {
            "asked": one.name, "unit": "A" if one.name == "offset" else "-", "design": one.design,
            "found": one.middle, "low": one.low, "high": one.high, "tolerance": one.tolerance, "verdict": one.state,
        }
        for one in comparison.found
    ]  # fmt: skip
    return pd.DataFrame(rows)


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

    stem = _stem(comparison.name)
    out = Path(folder) / "logs"
    figures = _figures(study, comparison, out / stem)
    write_table(out / f"{stem}.csv", table(comparison))
    write_text(out / f"{stem}.html", html(document(study, comparison, figures)))
    return out / f"{stem}.html"


def _stem(name):
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
    with look():
        for name, make in (("days", days_page), ("differs", intervals_page)):
            page, finding = make(comparison, given(study.site.name))
            FigureCanvasAgg(page.figure)
            path = base.with_name(f"{base.name}_{name}")
            for kind, meta in (("png", {"Software": None}), ("svg", {"Date": None, "Creator": None})):
                with replacing(path.with_suffix(f".{kind}")) as temporary:
                    page.figure.savefig(temporary, format=kind, metadata=meta)
            out.append((path, finding, round(page.head, 4)))
    return out


def document(study, comparison, figures):
    """The page as a tree; `darkspell.report.document.tree.Document`."""
    from darkspell.report.document.tree import Document, Figure, Listing, Paragraph, Section, Table

    first, *rest = words.answer(comparison)
    dates = comparison.hours.dates
    pictures = [
        Figure(path, finding.title, f"{finding.note.rstrip('.')}. {finding.caption}", finding.alt, head)
        for path, finding, head in figures
    ]
    rows = [
        [words.NAMES[one.name], words.value(one, one.design), _found(one), words.interval(one), one.state]
        for one in comparison.found
    ]
    marked = next((i for i, one in enumerate(comparison.found) if one.state == DIFFERS), None)
    listed = Table(
        "What the log tells of the system", ["", "design", "found", "95 % interval", "verdict"], rows,
        "lrrrl", marked, "Loads, array and bank in per cent of what the study says.",
    )  # fmt: skip
    happened = [*words.settings(comparison, study.monitors[study.monitor]), *comparison.notes]
    blocks = (
        [Listing([given(note) for note in happened])]
        if happened
        else [Paragraph("The log runs without a gap.")]
    )
    return Document(
        title=f"What the log shows: {given(study.document.title)}",
        facts=[
            ("For", given(study.document.client)),
            ("Place", given(study.site.name)),
            ("Log", f"{given(comparison.name)}, {dates[0]} to {dates[-1]}"),
        ],
        opening=[
            Paragraph(first, "lead"),
            *(Paragraph(part) for part in rest),
            *([Paragraph(given(study.document.note), "note")] if study.document.note else []),
        ],
        sections=[
            Section(
                "Owner, weather or fault",
                [listed, pictures[1], Listing([words.sentence(one) for one in comparison.found])],
            ),
            Section(
                "Day by day against the design", [Paragraph(given(comparison.weather_words)), pictures[0]]
            ),
            Section("What happened in the log", blocks),
            Section("What to keep in mind", [Paragraph(LIMIT), Paragraph(CAUTION)]),
        ],
    )
