"""Blocks of the document tree in the DOCX: paragraphs, lists, tables, figures, boxes, signatures."""

from typing import NamedTuple

from darkspell.report.document.docx_page import TABLE_PT
from darkspell.report.document.docx_parts import (
    field,
    horizontal_rules,
    numbered,
    repeat,
    restarted,
    shade,
    unbroken,
)
from darkspell.report.document.docx_text import WIDTH_MM, allowed, in_style, mm, paragraph, pt, write
from darkspell.report.document.docx_widths import column_widths
from darkspell.report.document.tree import (
    Box,
    Figure,
    Listing,
    Panel,
    Paragraph,
    Signatures,
    Subheading,
    Table,
    Verbatim,
)

ROWS_TOGETHER = 14  # a table of at most so many rows is not parted by the end of a page; our choice
STYLES = {"lead": "Intense Quote", "note": "Small print", "plain": "Normal", "quote": "Quotation"}


class State(NamedTuple):
    """What all blocks share.

    Parameters
    ----------
    words : dict of str
        As `darkspell.report.document.language.labels` gives them.
    counts : dict of int
        Tables and figures so far.
    """

    words: dict
    counts: dict


def add_blocks(out, blocks, state, small=False):
    """Add blocks at the end of a document.

    Parameters
    ----------
    out : docx.document.Document
    blocks : list
        Of the tree.
    state : State
    small : bool
        Whether in the smaller letters of an appendix.

    Raises
    ------
    TypeError
        If a block is of no kind that a document has.
    """
    for block in blocks:
        match block:
            case Paragraph():
                paragraph(out, block.text, STYLES[block.kind])
            case Subheading():
                write(out.add_heading(level=(2 if small else 1) + block.level), block.text)
            case Listing():
                _listing(out, block)
            case Box():
                _box(out, block)
            case Verbatim():
                for line in allowed(block.text).splitlines():
                    paragraph(out, line, "Letter for letter").paragraph_format.space_after = 0
            case Table():
                _caption(out, "table", block.caption, state, above=True)
                _table(out, block, "Small table text" if small else "Table text")
                if block.note:
                    paragraph(out, block.note, "Small print")
            case Figure():
                _figure(out, block, state)
            case Signatures():
                _signatures(out, block)
            case Panel():
                pass
            case _:
                raise TypeError(f"a document has no block of the kind {type(block).__name__}")


def _listing(out, block, depth=1):
    style = f"List {'Number' if block.ordered else 'Bullet'}{'' if depth == 1 else f' {min(depth, 3)}'}"
    number = restarted(out, style) if block.ordered else None
    for text, inner in block.parts:
        line = paragraph(out, text, style)
        if number is not None:
            numbered(line, number)
        for part in inner:
            _listing(out, part, depth + 1)


def _figure(out, block, state):
    if block.title:
        line = paragraph(out, block.title, "Finding")
        line.paragraph_format.keep_with_next = True
    _crop(out.add_picture(str(block.path.with_suffix(".png")), width=mm(WIDTH_MM)), block.head)
    out.paragraphs[-1].paragraph_format.keep_with_next = bool(block.caption)
    _describe(out, block.alt)
    _caption(out, "figure", block.caption, state)


def _crop(shape, head):
    """Hide the head of a picture, a share of its height; to write its pixels again would take far longer."""
    from docx.oxml import OxmlElement

    window = OxmlElement("a:srcRect")
    window.set("t", str(round(100_000 * head)))
    shape._inline.graphic.graphicData.pic.blipFill.insert(1, window)
    shape.height = round(shape.height * (1.0 - head))


def _describe(out, alt):
    """Words for those who do not see the picture just added."""
    shape = out.inline_shapes[-1]._inline.docPr
    shape.set("descr", allowed(alt))


def _caption(out, kind, text, state, above=False):
    """A caption whose number is a field, so that the reader's program can renumber it."""
    if not text:
        return
    state.counts[kind] = state.counts.get(kind, 0) + 1
    line = paragraph(out, f"{state.words[kind]} ", "Caption")
    field(line, f"SEQ {state.words[kind]} \\* ARABIC", str(state.counts[kind]))
    line.add_run(f": {allowed(text)}")
    line.paragraph_format.keep_with_next = above


def _signatures(out, block):
    """Two lines a person: to sign on, and for place and date."""
    table = out.add_table(rows=2 * len(block.people), cols=2)
    for at, (role, name) in enumerate(block.people):
        table.rows[2 * at].height = mm(15)
        label = f"{role}, {name}" if name else role
        for column, text in enumerate((label, block.date_label)):
            line = table.rows[2 * at].cells[column].paragraphs[0]
            line.add_run("\n\n" + "_" * 36)
            line.paragraph_format.keep_with_next = True
            table.rows[2 * at + 1].cells[column].paragraphs[0].add_run(allowed(text))


def _box(out, block):
    """A framed cell with a heading and a list."""
    table = out.add_table(rows=1, cols=1, style="Table Grid")
    unbroken(table.rows[0])
    cell = table.cell(0, 0)
    cell.paragraphs[0].add_run(allowed(block.heading)).bold = True
    for item in block.items:
        cell.add_paragraph(allowed(item), "List Bullet").paragraph_format.space_after = pt(2)
    out.add_paragraph().paragraph_format.space_after = pt(2)


def _table(out, block, style):
    """Fill a table; a row's cells are asked for once, since each request walks the whole table."""
    from docx.enum.text import WD_ALIGN_PARAGRAPH

    table = out.add_table(rows=1 + len(block.rows), cols=len(block.header))
    table.autofit = False
    horizontal_rules(table, "BFBFBF")
    cells = iter(table._cells)
    widths = list(map(mm, column_widths(block, WIDTH_MM, TABLE_PT[style])))
    for column, width in zip(table.columns, widths, strict=True):
        column.width = width
    for number, row in enumerate([block.header, *block.rows]):
        for text, side, width in zip(row, block.align, widths, strict=True):
            cell = next(cells)
            cell.width = width
            line = cell.paragraphs[0]
            in_style(line, style)
            write(line, text)
            if side == "r":
                line.alignment = WD_ALIGN_PARAGRAPH.RIGHT
            if number == 0 or block.marked == number - 1:
                for run in line.runs:
                    run.bold = True
            if number == 0:
                shade(cell, "E9EDF3")
            if number < len(block.rows) <= ROWS_TOGETHER:
                line.paragraph_format.keep_with_next = True
    repeat(table.rows[0])
