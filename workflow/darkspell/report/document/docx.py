"""The document tree as a DOCX, for writers who edit."""

from datetime import UTC, datetime
from io import BytesIO
from typing import NamedTuple

from darkspell.report.document.docx_parts import (
    bookmark,
    contents,
    field,
    horizontal_rules,
    hyperlink,
    numbered,
    repeat,
    restarted,
    ruled,
    shade,
    unbroken,
)
from darkspell.report.document.docx_widths import column_widths
from darkspell.report.document.localization import labels, unparted
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
    runs_of,
)

WIDTH_MM = 160.0
PAPER_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
TABLE_PT = {"Table text": 8.5, "Small table text": 7.0}
ROWS_TOGETHER = 14  # a table of at most so many rows is not parted by the end of a page; our choice
STYLES = {"lead": "Intense Quote", "note": "Small print", "plain": "Normal", "quote": "Quotation"}
FORBIDDEN = {n: None for n in (*range(9), 11, 12, *range(14, 32), 0xFFFE, 0xFFFF)}  # letters that XML refuses


def docx(document):
    """Write a document as DOCX: headings, captions and tables in styles, pictures as PNG with their words.

    Contents, captions and numbers of pages are fields. The firm's letterhead is the header of the first page.

    Parameters
    ----------
    document : darkspell.report.document.tree.Document

    Returns
    -------
    bytes
    """
    import docx as library

    document = unparted(document)
    out = library.Document()
    words = labels(document.language)
    _lay_out(out, document)
    _heads(out, document, words)
    out.add_paragraph(_text(document.title), "Title")
    for label, value in document.facts:
        line = out.add_paragraph(style="Facts")
        line.add_run(f"{label}:\t").bold = True
        line.add_run(_text(value))
    state = _State(words, {})
    _add(out, document.opening, state)
    if document.cover:
        out.add_page_break()
    entries = _entries(document, words)
    if len(entries) > 2:
        out.add_paragraph(words["contents"], "Contents")
        contents(out, entries, words["update"])
    anchors = iter(entries)
    for section in document.sections:
        _heading(out, 1, next(anchors))
        _add(out, section.blocks, state)
    if document.appendix:
        out.add_page_break()
        _heading(out, 1, next(anchors))
    for section in document.appendix:
        _heading(out, 2, next(anchors))
        _add(out, section.blocks, state, small=True)
    file = BytesIO()
    out.save(file)
    return file.getvalue()


class _State(NamedTuple):
    """Fixed words, and counts of tables and figures."""

    words: dict
    counts: dict


def _entries(document, words):
    """Level, text and bookmark of each heading in order."""
    entries = [(1, section.heading) for section in document.sections]
    if document.appendix:
        entries.append((1, words["appendix"]))
    entries += [(2, section.heading) for section in document.appendix]
    return [(level, _text(text), f"section{at}") for at, (level, text) in enumerate(entries, 1)]


def _heading(out, level, entry):
    _, text, name = entry
    bookmark(out.add_heading(text, level), name, int(name.removeprefix("section")))


def _heads(out, document, words):
    """Letterhead on the first page, firm and number above the others, registration and page below all."""
    page, head = out.sections[0], document.letterhead
    page.different_first_page_header_footer = True
    if document.logo or head.name:
        _letterhead(page.first_page_header, document, words)
    if head.name or head.reference:
        line = page.header.paragraphs[0]
        _right_tab(line)
        line.add_run("\t".join(_text(text) for text in (head.name, head.reference)))
        ruled(line, head.second.removeprefix("#"))
    for footer in (page.first_page_footer, page.footer):
        line = footer.paragraphs[0]
        _right_tab(line)
        named = f"{head.name} \u00b7 {head.registration}" if head.registration else document.title
        line.add_run(f"{_text(named)[:110]}\t")
        field(line, "PAGE", "1")
        line.add_run(" / ")
        field(line, "NUMPAGES", "1")


def _letterhead(header, document, words):
    from docx.enum.text import WD_ALIGN_PARAGRAPH
    from docx.shared import Pt, RGBColor

    head = document.letterhead
    table = header.add_table(1, 2, _mm(WIDTH_MM))
    left, right = table.rows[0].cells
    left.width, right.width = _mm(WIDTH_MM * 0.5), _mm(WIDTH_MM * 0.5)
    if document.logo:
        picture = left.paragraphs[0].add_run().add_picture(str(document.logo), height=_mm(16))
        picture._inline.docPr.set("descr", words["logo"])
    line = right.paragraphs[0]
    line.alignment = WD_ALIGN_PARAGRAPH.RIGHT
    name = line.add_run(_text(head.name))
    name.bold, name.font.size = True, Pt(11)
    name.font.color.rgb = RGBColor.from_string(head.accent.removeprefix("#").upper())
    for text in (*head.address, *head.contact):
        line = right.add_paragraph(_text(text))
        line.alignment = WD_ALIGN_PARAGRAPH.RIGHT
        line.paragraph_format.space_after = 0
    empty = header.paragraphs[0]
    header._element.remove(empty._p)
    header._element.append(empty._p)
    ruled(empty, head.second.removeprefix("#"))


def _right_tab(line):
    from docx.enum.text import WD_TAB_ALIGNMENT

    line.paragraph_format.tab_stops.add_tab_stop(_mm(WIDTH_MM), WD_TAB_ALIGNMENT.RIGHT)


def _text(text):
    return str(text).translate(FORBIDDEN)


def _mm(value):
    from docx.shared import Mm

    return Mm(value)


def _lay_out(out, document):
    from docx.enum.style import WD_STYLE_TYPE
    from docx.shared import Pt, RGBColor

    page = out.sections[0]
    page.page_width, page.page_height = map(_mm, PAPER_MM[document.paper])
    page.left_margin = page.right_margin = _mm((PAPER_MM[document.paper][0] - WIDTH_MM) / 2)
    page.top_margin = page.bottom_margin = _mm(22)
    ink = RGBColor(0x1B, 0x1B, 0x1B)
    accent = RGBColor.from_string(document.letterhead.accent.removeprefix("#").upper())
    sizes = {
        "Normal": 10.5,
        "Title": 20,
        "Heading 1": 14,
        "Heading 2": 11.5,
        "Caption": 8.5,
        "Intense Quote": 12.5,
    }
    for name, size in sizes.items():
        font = out.styles[name].font
        font.name, font.size, font.color.rgb = "Georgia", Pt(size), accent if name == "Heading 1" else ink
        _own_face(out.styles[name])
    faces = {
        "Small print": (8.5, "Georgia"),
        "Finding": (9.5, "Georgia"),
        "Letter for letter": (7.5, "DejaVu Sans Mono"),
        **{name: (size, "Georgia") for name, size in TABLE_PT.items()},
        "Quotation": (10.5, "Georgia"),
        "Facts": (10, "Georgia"),
        "Contents": (11.5, "Georgia"),
        "TOC 1": (9.5, "Georgia"),
        "TOC 2": (9.5, "Georgia"),
    }
    for name, (size, face) in faces.items():
        style = out.styles.add_style(name, WD_STYLE_TYPE.PARAGRAPH)
        style.base_style = out.styles["Normal"]
        style.font.size, style.font.name = Pt(size), face
    out.styles["Finding"].font.bold = out.styles["Contents"].font.bold = True
    for name in TABLE_PT:
        out.styles[name].paragraph_format.space_after = 0
    out.styles["Quotation"].paragraph_format.left_indent = _mm(8)
    out.styles["TOC 2"].paragraph_format.left_indent = _mm(6)
    for name in ("TOC 1", "TOC 2", "Facts"):
        out.styles[name].paragraph_format.space_after = Pt(2)
    out.styles["Facts"].paragraph_format.tab_stops.add_tab_stop(_mm(32))
    out.styles["Facts"].paragraph_format.left_indent = _mm(32)
    out.styles["Facts"].paragraph_format.first_line_indent = -_mm(32)
    for name in ("Header", "Footer"):
        style = out.styles[name]
        style.font.size, style.font.name = Pt(8), "Georgia"
        for _ in range(len(style.paragraph_format.tab_stops)):
            del style.paragraph_format.tab_stops[0]
    out.core_properties.title = _text(document.title)[:255]
    out.core_properties.author = _text(document.author)[:255]
    out.core_properties.created = out.core_properties.modified = datetime.now(UTC).replace(tzinfo=None)
    out.core_properties.comments = ""
    out.core_properties.language = document.language


def _add(out, blocks, state, small=False):
    for block in blocks:
        match block:
            case Paragraph():
                _paragraph(out, block.text, STYLES[block.kind])
            case Subheading():
                _write(out.add_heading(level=(2 if small else 1) + block.level), block.text)
            case Listing():
                _listing(out, block)
            case Box():
                _box(out, block)
            case Verbatim():
                for line in _text(block.text).splitlines():
                    _paragraph(out, line, "Letter for letter").paragraph_format.space_after = 0
            case Table():
                _caption(out, "table", block.caption, state, above=True)
                _table(out, block, "Small table text" if small else "Table text")
                if block.note:
                    _paragraph(out, block.note, "Small print")
            case Figure():
                _figure(out, block, state)
            case Signatures():
                _signatures(out, block)
            case Panel():
                pass
            case _:
                raise TypeError(f"a document has no block of the kind {type(block).__name__}")


def _paragraph(out, text, style):
    """A paragraph in a style; the library's own way looks through all styles, which takes as long as the tables."""
    line = out.add_paragraph()
    _in_style(line, style)
    return _write(line, text)


def _in_style(line, style):
    line._p.style = style.replace(" ", "")  # the style's identifier, as the library makes it of the name


def _write(paragraph, text):
    """Add a text to a paragraph; one written in Markdown with its styles and links."""
    for part in runs_of(text):
        run = paragraph.add_run(_text(part.text))
        if part.strong:
            run.bold = True
        if part.emphasis:
            run.italic = True
        if part.code:
            run.font.name = "DejaVu Sans Mono"
        if part.address:
            run.underline = True
            hyperlink(paragraph, part.address, run)
    return paragraph


def _listing(out, block, depth=1):
    style = f"List {'Number' if block.ordered else 'Bullet'}{'' if depth == 1 else f' {min(depth, 3)}'}"
    number = restarted(out, style) if block.ordered else None
    for text, inner in block.parts:
        line = _paragraph(out, text, style)
        if number is not None:
            numbered(line, number)
        for part in inner:
            _listing(out, part, depth + 1)


def _figure(out, block, state):
    if block.title:
        line = _paragraph(out, block.title, "Finding")
        line.paragraph_format.keep_with_next = True
    _crop(out.add_picture(str(block.path.with_suffix(".png")), width=_mm(WIDTH_MM)), block.head)
    out.paragraphs[-1].paragraph_format.keep_with_next = bool(block.caption)
    _describe(out, block.alt)
    _caption(out, "figure", block.caption, state)


def _signatures(out, block):
    """Two lines a person: to sign on, and for place and date."""
    table = out.add_table(rows=2 * len(block.people), cols=2)
    for at, (role, name) in enumerate(block.people):
        table.rows[2 * at].height = _mm(15)
        label = f"{role}, {name}" if name else role
        for column, text in enumerate((label, block.date_label)):
            line = table.rows[2 * at].cells[column].paragraphs[0]
            line.add_run("\n\n" + "_" * 36)
            line.paragraph_format.keep_with_next = True
            table.rows[2 * at + 1].cells[column].paragraphs[0].add_run(_text(text))


def _caption(out, kind, text, state, above=False):
    """A caption whose number is a field, so that the reader's program can renumber it."""
    if not text:
        return
    state.counts[kind] = state.counts.get(kind, 0) + 1
    line = _paragraph(out, f"{state.words[kind]} ", "Caption")
    field(line, f"SEQ {state.words[kind]} \\* ARABIC", str(state.counts[kind]))
    line.add_run(f": {_text(text)}")
    line.paragraph_format.keep_with_next = above


def _box(out, block):
    """A framed cell with a heading and a list."""
    table = out.add_table(rows=1, cols=1, style="Table Grid")
    unbroken(table.rows[0])
    cell = table.cell(0, 0)
    cell.paragraphs[0].add_run(_text(block.heading)).bold = True
    for item in block.items:
        cell.add_paragraph(_text(item), "List Bullet").paragraph_format.space_after = _pt(2)
    out.add_paragraph().paragraph_format.space_after = _pt(2)


def _pt(value):
    from docx.shared import Pt

    return Pt(value)


def _own_face(style):
    """Let a style use its own font: theme fonts would override the name."""
    from docx.oxml.ns import qn

    fonts = style.element.rPr.rFonts
    for name in ("asciiTheme", "hAnsiTheme", "eastAsiaTheme", "cstheme"):
        fonts.attrib.pop(qn(f"w:{name}"), None)
    fonts.set(qn("w:hAnsi"), "Georgia")


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
    shape.set("descr", _text(alt))


def _table(out, block, style):
    """Fill a table; a row's cells are asked for once, since each request walks the whole table."""
    from docx.enum.text import WD_ALIGN_PARAGRAPH

    table = out.add_table(rows=1 + len(block.rows), cols=len(block.header))
    table.autofit = False
    horizontal_rules(table, "BFBFBF")
    cells = iter(table._cells)
    widths = list(map(_mm, column_widths(block, WIDTH_MM, TABLE_PT[style])))
    for column, width in zip(table.columns, widths, strict=True):
        column.width = width
    for number, row in enumerate([block.header, *block.rows]):
        for text, side, width in zip(row, block.align, widths, strict=True):
            cell = next(cells)
            cell.width = width
            line = cell.paragraphs[0]
            _in_style(line, style)
            _write(line, text)
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
