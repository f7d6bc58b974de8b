"""The proposal: one document tree made from a study's results, and what writes it out."""

from darkspell.proposal.build import proposal
from darkspell.proposal.html import html


def write_all(document, page):
    """Write a document as HTML, and beside it as PDF and DOCX.

    Parameters
    ----------
    document : darkspell.proposal.tree.Document
    page : path-like
        The HTML file; the others take its name.
    """
    from pathlib import Path

    from darkspell.files import write_bytes, write_text
    from darkspell.proposal.typeset import pdf
    from darkspell.proposal.word import docx

    page = Path(page)
    write_text(page, html(document))
    write_bytes(page.with_suffix(".pdf"), pdf(document))
    write_bytes(page.with_suffix(".docx"), docx(document))


__all__ = ["html", "proposal", "write_all"]
