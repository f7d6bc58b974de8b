"""All figures of a study, as files."""

import json
import os
import re
from pathlib import Path
from shutil import rmtree
from tempfile import mkdtemp

from darkspell.core.atomic_files import HALF_MADE, write_json
from darkspell.core.processes import in_processes
from darkspell.report.results import read_results

FORMATS = ("png", "svg", "pdf")
# Characters that no XML file may hold (XML 1.0, production 2), and controls that it should not; a name may.
NO_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ufffe\uffff]")
METADATA = {
    "png": {"Software": None},
    "svg": {"Date": None, "Creator": None},
    "pdf": {"CreationDate": None, "Creator": None, "Producer": None},
}


# In the order of reading: a module of this room with a function `page` (and `drawable`, if not
# all tables carry it), and the tables without which it is left out.
FIGURES = (
    ("schematic", ()),
    ("state_of_charge", ()),
    ("worst_fortnight", ()),
    ("autonomy", ("autonomy",)),
    ("balance", ()),
    ("months", ()),
    ("recovery", ("recovery",)),
    ("sources", ("energy_sources",)),
    ("unattended", ("unattended",)),
    ("saving", ("saving",)),
    ("ageing", ("ageing",)),
    ("sizing_map", ("sizing",)),
    ("equal_risk", ("sizing",)),
    ("whatifs", ("whatifs",)),
    ("sweeps", ("sweeps",)),
    ("remedies", ("remedies",)),
    ("sensitivity", ("sensitivity",)),
    ("uncertainty", ("uncertainty",)),
    ("monitor_error", ("monitors",)),
    ("monitor_drift", ("monitor_error_percentiles",)),
    ("measured_years", ("measured_years",)),
)


def figures_of(results):
    """Functions that make a figure, by name; those for which there are data.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    from importlib import import_module

    rooms = {
        name: import_module(f"darkspell.report.figures.{name}")
        for name, needed in FIGURES
        if all(len(results.table(table)) for table in needed)
    }
    return {
        name: room.page for name, room in rooms.items() if getattr(room, "drawable", lambda _: True)(results)
    }


def write_figures(folder, study, out, tell=None, workers=1, started=None):
    """Write each figure as PNG, SVG and, if the study asks for it, PDF, and what they say as figures.json.

    Parameters
    ----------
    folder : path-like
        Results of the study, see `darkspell.report.results.read_results`.
    study : darkspell.study.Study
    out : path-like
        Folder for the figures. Files take their place one by one, each whole.
    tell : callable, optional
        Is told the share of the figures drawn, 0 to 1.
    workers : int
        Processes that draw; more than one where processes can be forked (Linux). They do not change the figures.
    started : callable, optional
        Called first in each further process.

    Returns
    -------
    dict
        As figures.json: ``{name: {"title", "note", "caption", "alt", "head"}}``, in the order of reading; "head" is
        the share of the height that title and note take: a document that sets them as text crops it.
    """
    from darkspell.report.document.language import in_one_language, manner_of, written
    from darkspell.report.figures.fonts import families_for
    from darkspell.report.figures.style import look
    from darkspell.study.files import proposal_files

    out = Path(out)
    out.mkdir(parents=True, exist_ok=True)
    results, words = read_results(folder, study), {}
    formats = FORMATS if study.document.figure_pdfs else tuple(kind for kind in FORMATS if kind != "pdf")
    temporary = Path(mkdtemp(prefix=HALF_MADE, dir=out.parent))
    try:
        families = families_for(json.dumps(study.resolved(), ensure_ascii=False, default=str))
        with look(proposal_files(study).get("figure_style"), families):
            figures = figures_of(results)

            def draw(name):
                with written(manner_of(study.document)):
                    (page, finding), _whole = in_one_language(lambda: figures[name](results))
                local_figure(page.figure, study.document.locale)
                return save_page(page, finding, temporary / name, formats)

            for name, said in zip(figures, in_processes(draw, [*figures], workers, started), strict=True):
                words[name] = said
                if tell:
                    tell(len(words) / len(figures))
        for path in sorted(temporary.iterdir()):
            os.replace(path, out / path.name)
    finally:
        rmtree(temporary, ignore_errors=True)
    for name, _ in FIGURES:
        for kind in FORMATS:
            if name not in words or kind not in formats:
                (out / f"{name}.{kind}").unlink(missing_ok=True)
    write_json(out / "figures.json", words)
    return words


def local_figure(figure, language):
    """Write the numbers of a figure as a language writes them.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
    language : str
        As ``document.numbers``.
    """
    if language == "en":
        return
    from matplotlib.text import Text
    from matplotlib.ticker import FuncFormatter

    from darkspell.report.document.number_texts import local_number

    for axes in figure.axes:
        for axis in (axes.xaxis, axes.yaxis):
            texts = axis.get_major_formatter().format_ticks(axis.get_majorticklocs())
            known = dict(zip(axis.get_majorticklocs(), texts, strict=True))
            axis.set_major_formatter(
                FuncFormatter(lambda value, _, known=known: local_number(known.get(value, ""), language))
            )
    for text in figure.findobj(Text):
        text.set_text(local_number(text.get_text(), language))


def save_page(page, finding, path, formats=FORMATS):
    """Save one page (`Page`, `Finding`, path without ending) in some formats; the words for figures.json.

    Parameters
    ----------
    page : darkspell.report.figures.layout.Page
    finding : darkspell.report.figures.layout.Finding
    path : pathlib.Path
        Without ending.
    formats : sequence of str
        Some of `FORMATS`.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    FigureCanvasAgg(page.figure)
    for kind in formats:
        page.figure.savefig(path.with_suffix(f".{kind}"), format=kind, metadata=METADATA[kind])
    _describe(path.with_suffix(".svg"), finding)
    words = {"title": finding.title, "note": finding.note, "caption": finding.caption, "alt": finding.alt}
    return words | {"head": round(page.head, 4)}


def _describe(path, finding):
    """Put title and description into a drawing, for those who do not see it."""
    from xml.sax.saxutils import escape

    text = NO_XML.sub("", path.read_text(encoding="utf-8"))
    end = text.index(">", text.index("<svg")) + 1
    words = f"<title>{escape(finding.title)}</title><desc>{escape(finding.alt)}</desc>"
    words = NO_XML.sub("", words)
    path.write_text(f"{text[:end]}{words}{text[end:]}", encoding="utf-8")
