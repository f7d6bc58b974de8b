"""A document written in all its formats."""

from pathlib import Path

from darkspell.core.atomic_files import write_bytes, write_text
from darkspell.core.processes import in_processes
from darkspell.report.document.html import html
from darkspell.report.document.typesetter import installed


def write_all(document, page):
    """Write a document as HTML, DOCX and, with the extra ``pdf``, as PDF.

    Parameters
    ----------
    document : darkspell.report.document.document.Document
    page : path-like
        The HTML file; the others take its name.
    """
    from darkspell.report.document.docx import docx  # a second to import, needed by few commands

    page = Path(page)
    _write_page(document, page)
    write_bytes(page.with_suffix(".docx"), docx(document))


def write_together(documents, also=None, workers=1, started=None):
    """Write several documents in all formats: the DOCX, the pages and further files each take a third of the time.

    Parameters
    ----------
    documents : dict of path-like to darkspell.report.document.document.Document
        By the HTML file.
    also : callable, optional
        Writes further files.
    workers : int
        Processes, up to 3.
    started : callable, optional
        Called first in each process.
    """
    from darkspell.report.document.docx import docx  # as in `write_all`

    def texts():
        for page, document in documents.items():
            write_bytes(Path(page).with_suffix(".docx"), docx(document))

    def pages():
        for page, document in documents.items():
            _write_page(document, Path(page))

    parts = {"pages": pages, "texts": texts} | ({"also": also} if also else {})  # the longest first
    list(in_processes(lambda name: parts[name](), [*parts], workers, started))


def _write_page(document, page):
    """The HTML file and, if its typesetter is installed, the PDF next to it; one of an earlier run is removed."""
    from darkspell.report.document.pdf import pdf

    write_text(page, html(document))
    other = page.with_suffix(".pdf")
    if installed():
        write_bytes(other, pdf(document))
    else:
        other.unlink(missing_ok=True)
