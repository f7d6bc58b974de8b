"""The document tree as a DOCX, for writers who edit."""

from datetime import UTC, datetime
from io import BytesIO

from darkspell.report.document.images import cropped
from darkspell.report.document.tree import Box, Figure, Listing, Panel, Paragraph, Subheading, Table, Verbatim

WIDTH_MM = 160.0
PAPER_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
STYLES = {"lead": "Intense Quote", "note": "Small print", "plain": "Normal"}
FORBIDDEN = {n: None for n in (*range(9), 11, 12, *range(14, 32), 0xFFFE, 0xFFFF)}  # letters that XML refuses


def docx(document):
    """Write a document as DOCX: headings, captions and tables in styles, pictures as PNG with their words.

    Parameters
    ----------
    document : darkspell.report.document.tree.Document

    Returns
    -------
    bytes
    """
    import docx as library

    out = library.Document()
    _lay_out(out, document)
    if document.logo:
        out.add_picture(str(document.logo), height=_mm(16))
        _describe(out, "Logo")
    out.add_heading(_text(document.title), 0)
    for label, value in document.facts:
        line = out.add_paragraph()
        line.add_run(f"{label}: ").bold = True
        line.add_run(_text(value))
    counts = {}
    _add(out, document.opening, counts)
    if document.cover:
        out.add_page_break()
    if len(document.sections) + len(document.appendix) > 8:
        out.add_heading("Contents", 1)
        _field(out.add_paragraph(), 'TOC \\o "1-2" \\h \\z', "Update this field to list the contents.")
    for section in document.sections:
        out.add_heading(_text(section.heading), 1)
        _add(out, section.blocks, counts)
    if document.appendix:
        out.add_page_break()
        out.add_heading("Appendix", 1)
    for section in document.appendix:
        out.add_heading(_text(section.heading), 2)
        _add(out, section.blocks, counts, small=True)
    file = BytesIO()
    out.save(file)
    return file.getvalue()


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
    ink, accent = RGBColor(0x1B, 0x1B, 0x1B), RGBColor(0x16, 0x43, 0x7E)
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
        "Table text": (8.5, "Georgia"),
        "Small table text": (7, "Georgia"),
    }
    for name, (size, face) in faces.items():
        style = out.styles.add_style(name, WD_STYLE_TYPE.PARAGRAPH)
        style.base_style = out.styles["Normal"]
        style.font.size, style.font.name = Pt(size), face
    out.styles["Finding"].font.bold = True
    for name in ("Table text", "Small table text"):
        out.styles[name].paragraph_format.space_after = 0
        out.styles[name].font.color.rgb = ink
    out.core_properties.title = _text(document.title)[:255]
    out.core_properties.author = _text(document.author)[:255]
    out.core_properties.created = out.core_properties.modified = datetime.now(UTC).replace(tzinfo=None)
    out.core_properties.comments = ""
    out.core_properties.language = document.language
    _number(page.footer.paragraphs[0])


def _number(paragraph):
    """A field that the reader's program fills with the number of the page."""
    _field(paragraph, "PAGE", "1")


def _add(out, blocks, counts, small=False):
    for block in blocks:
        match block:
            case Paragraph():
                _paragraph(out, block.text, STYLES[block.kind])
            case Subheading():
                out.add_heading(_text(block.text), 3 if small else 2)
            case Listing():
                for item in block.items:
                    _paragraph(out, item, "List Bullet")
            case Box():
                _box(out, block)
            case Verbatim():
                for line in _text(block.text).splitlines():
                    _paragraph(out, line, "Letter for letter").paragraph_format.space_after = 0
            case Table():
                _caption(out, "Table", block.caption, counts, above=True)
                _table(out, block, "Small table text" if small else "Table text")
                _paragraph(out, block.note, "Small print")
            case Figure():
                if block.title:
                    line = _paragraph(out, block.title, "Finding")
                    line.paragraph_format.keep_with_next = True
                out.add_picture(BytesIO(cropped(block, "png")[0]), width=_mm(WIDTH_MM))
                _describe(out, block.alt)
                _caption(out, "Figure", block.caption, counts)
            case Panel():
                pass
            case _:
                raise TypeError(f"a document has no block of the kind {type(block).__name__}")


def _paragraph(out, text, style):
    """A paragraph in a style; the library's own way looks through all styles, which takes as long as the tables."""
    line = out.add_paragraph(_text(text))
    _in_style(line, style)
    return line


def _in_style(line, style):
    line._p.style = style.replace(" ", "")  # the style's identifier, as the library makes it of the name


def _caption(out, kind, text, counts, above=False):
    """A caption whose number is a field, so that the reader's program can renumber it."""
    if not text:
        return
    counts[kind] = counts.get(kind, 0) + 1
    line = _paragraph(out, f"{kind} ", "Caption")
    _field(line, f"SEQ {kind} \\* ARABIC", str(counts[kind]))
    line.add_run(f": {_text(text)}")
    line.paragraph_format.keep_with_next = above


def _box(out, block):
    """A framed cell with a heading and a list."""
    cell = out.add_table(rows=1, cols=1, style="Table Grid").cell(0, 0)
    cell.paragraphs[0].add_run(_text(block.heading)).bold = True
    for item in block.items:
        cell.add_paragraph(_text(item), "List Bullet").paragraph_format.space_after = _pt(2)
    out.add_paragraph().paragraph_format.space_after = _pt(2)


def _pt(value):
    from docx.shared import Pt

    return Pt(value)


def _field(paragraph, instruction, shown):
    """Add a field with the text that it shows until it is updated."""
    from docx.oxml import OxmlElement
    from docx.oxml.ns import qn

    field = OxmlElement("w:fldSimple")
    field.set(qn("w:instr"), instruction)
    paragraph._p.append(field)
    run = OxmlElement("w:r")
    words = OxmlElement("w:t")
    words.text = shown
    run.append(words)
    field.append(run)


def _own_face(style):
    """Let a style use its own font: theme fonts would override the name."""
    from docx.oxml.ns import qn

    fonts = style.element.rPr.rFonts
    for name in ("asciiTheme", "hAnsiTheme", "eastAsiaTheme", "cstheme"):
        fonts.attrib.pop(qn(f"w:{name}"), None)
    fonts.set(qn("w:hAnsi"), "Georgia")


def _describe(out, alt):
    """Words for those who do not see the picture just added."""
    shape = out.inline_shapes[-1]._inline.docPr
    shape.set("descr", _text(alt))


def _table(out, block, style):
    """Fill a table; a row's cells are asked for once, since each request walks the whole table."""
    from docx.enum.text import WD_ALIGN_PARAGRAPH

    table = out.add_table(rows=1 + len(block.rows), cols=len(block.header), style="Table Grid")
    table.autofit = False
    cells = iter(table._cells)
    widths = list(map(_mm, _widths(block)))
    for column, width in zip(table.columns, widths, strict=True):
        column.width = width
    for number, row in enumerate([block.header, *block.rows]):
        for text, side, width in zip(row, block.align, widths, strict=True):
            cell = next(cells)
            cell.width = width
            line = cell.paragraphs[0]
            _in_style(line, style)
            if side == "r":
                line.alignment = WD_ALIGN_PARAGRAPH.RIGHT
            run = line.add_run(_text(text))
            if number == 0 or block.marked == number - 1:
                run.bold = True
            if number == 0:
                _shade(cell, "E9EDF3")
    _repeat(table.rows[0])


def _widths(block):
    """Widths of the columns [mm]: by their longest text, no column below its longest word or above the rest."""
    columns = list(zip(block.header, *block.rows, strict=True))
    wanted = [
        min(max(max(map(len, column[1:]), default=0), max(map(len, str(column[0]).split()), default=0)), 60)
        + 2
        for column in columns
    ]
    return [WIDTH_MM * one / sum(wanted) for one in wanted]


def _shade(cell, colour):
    """Fill a cell with a colour (hexadecimal RGB)."""
    from docx.oxml import OxmlElement
    from docx.oxml.ns import qn

    fill = OxmlElement("w:shd")
    fill.set(qn("w:val"), "clear")
    fill.set(qn("w:fill"), colour)
    cell._tc.get_or_add_tcPr().append(fill)


def _repeat(row):
    """Repeat the head of a table on its next page."""
    from docx.oxml import OxmlElement
    from docx.oxml.ns import qn

    mark = OxmlElement("w:tblHeader")
    mark.set(qn("w:val"), "true")
    row._tr.get_or_add_trPr().append(mark)
