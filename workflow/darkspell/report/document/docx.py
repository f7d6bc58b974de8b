"""The document tree as a DOCX, for writers who edit."""

from io import BytesIO

from darkspell.report.document.docx_blocks import State, add_blocks
from darkspell.report.document.docx_page import heads, lay_out
from darkspell.report.document.docx_parts import bookmark, contents
from darkspell.report.document.docx_text import allowed
from darkspell.report.document.language import labels
from darkspell.report.document.number_texts import unparted


def docx(document):
    """Write a document as DOCX: headings, captions and tables in styles, pictures as PNG with their words.

    Contents, captions and numbers of pages are fields. The firm's letterhead is the header of the first page.

    Parameters
    ----------
    document : darkspell.report.document.document.Document

    Returns
    -------
    bytes
    """
    import docx as library

    document = unparted(document)
    out = library.Document()
    words = labels(document.language)
    lay_out(out, document)
    heads(out, document, words)
    out.add_paragraph(allowed(document.title), "Title")
    for label, value in document.facts:
        line = out.add_paragraph(style="Facts")
        line.add_run(f"{label}:\t").bold = True
        line.add_run(allowed(value))
    state = State(words, {})
    add_blocks(out, document.opening, state)
    entries, first = _entries(document, words), len(out.paragraphs)
    if len(entries) > 2:
        out.add_paragraph(words["contents"], "Contents")
        contents(out, entries, words["update"])
        # No page break: where the first page runs over, in a wide face, its rest would be alone on a page.
        for line in out.paragraphs[first:]:
            line.paragraph_format.keep_with_next = True
    anchors = iter(entries)
    for section in document.sections:
        _heading(out, 1, next(anchors))
        add_blocks(out, section.blocks, state)
    if document.appendix:
        _heading(out, 1, next(anchors)).paragraph_format.page_break_before = True
    for section in document.appendix:
        _heading(out, 2, next(anchors))
        add_blocks(out, section.blocks, state, small=True)
    file = BytesIO()
    out.save(file)
    return file.getvalue()


def _entries(document, words):
    """Level, text and bookmark of each heading in order."""
    entries = [(1, section.heading) for section in document.sections]
    if document.appendix:
        entries.append((1, words["appendix"]))
    entries += [(2, section.heading) for section in document.appendix]
    return [(level, allowed(text), f"section{at}") for at, (level, text) in enumerate(entries, 1)]


def _heading(out, level, entry):
    _, text, name = entry
    line = out.add_heading(text, level)
    bookmark(line, name, int(name.removeprefix("section")))
    return line
