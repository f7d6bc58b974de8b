"""A document written in all its formats."""

from pathlib import Path

from darkspell.core.atomic_files import write_bytes, write_text
from darkspell.report.document.html import html


def write_all(document, page):
    """Write a document as HTML, PDF and DOCX.

    Parameters
    ----------
    document : darkspell.report.document.tree.Document
    page : path-like
        The HTML file; the others take its name.
    """
    from darkspell.report.document.docx import docx  # a second to import, needed by few commands
    from darkspell.report.document.pdf import pdf

    page = Path(page)
    write_text(page, html(document))
    write_bytes(page.with_suffix(".pdf"), pdf(document))
    write_bytes(page.with_suffix(".docx"), docx(document))
