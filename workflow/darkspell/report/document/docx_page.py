"""Page, styles, properties, letterhead and footers of the DOCX."""

from datetime import UTC, datetime

from darkspell.report.document.docx_parts import field, ruled
from darkspell.report.document.docx_text import WIDTH_MM, allowed, mm, pt

PAPER_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
FACE, MONOSPACED, INK = "Georgia", "DejaVu Sans Mono", "1B1B1B"
TABLE_PT = {"Table text": 8.5, "Small table text": 7.0}
# Sizes of letters and distances between paragraphs [pt].
SIZES = {
    "Normal": 9.5, "Title": 19, "Heading 1": 13, "Heading 2": 11, "Caption": 8.5, "Intense Quote": 12,
}  # fmt: skip
OWN_SIZES = {
    "Small print": 8.5, "Finding": 9.5, "Letter for letter": 7.5, **TABLE_PT, "Quotation": 9.5, "Facts": 9.5,
    "Contents": 11.5, "TOC 1": 9.5, "TOC 2": 9.5,
}  # fmt: skip
SPACE_BEFORE = {"Small print": 4, "Caption": 6, "Intense Quote": 6}
LINE = 1.1  # distance of lines over the face's own
SPACE_AFTER = {
    "Normal": 5,
    "Intense Quote": 6,
    "Heading 1": 4,
    "Heading 2": 3,
    "TOC 1": 2,
    "TOC 2": 2,
    "Facts": 2,
    **dict.fromkeys(TABLE_PT, 0),
}


def lay_out(out, document):
    """Page, styles and properties.

    Parameters
    ----------
    out : docx.document.Document
        Empty.
    document : darkspell.report.document.document.Document
    """
    page = out.sections[0]
    page.page_width, page.page_height = map(mm, PAPER_MM[document.paper])
    page.left_margin = page.right_margin = mm((PAPER_MM[document.paper][0] - WIDTH_MM) / 2)
    page.top_margin = page.bottom_margin = mm(22)
    _known_styles(out, document.letterhead.accent)
    _own_styles(out)
    _distances(out)
    _properties(out.core_properties, document)


def _known_styles(out, accent):
    """Face, size and colour of the styles that word processors know."""
    from docx.shared import RGBColor

    first = RGBColor.from_string(accent.removeprefix("#").upper())
    for name, size in SIZES.items():
        font = out.styles[name].font
        font.name, font.size = FACE, pt(size)
        font.color.rgb = first if name == "Heading 1" else RGBColor.from_string(INK)
        _own_face(out.styles[name])
    for name in ("Header", "Footer"):
        style = out.styles[name]
        style.font.size, style.font.name = pt(8), FACE
        for _ in range(len(style.paragraph_format.tab_stops)):
            del style.paragraph_format.tab_stops[0]


def _own_styles(out):
    """Styles that are only in these documents."""
    from docx.enum.style import WD_STYLE_TYPE

    for name, size in OWN_SIZES.items():
        style = out.styles.add_style(name, WD_STYLE_TYPE.PARAGRAPH)
        style.base_style = out.styles["Normal"]
        style.font.size, style.font.name = pt(size), MONOSPACED if name == "Letter for letter" else FACE
    out.styles["Finding"].font.bold = out.styles["Contents"].font.bold = True


def _distances(out):
    """Spaces, indents and tabulators of the styles."""
    shape = {name: out.styles[name].paragraph_format for name in (*SIZES, *OWN_SIZES)}
    for name, points in SPACE_BEFORE.items():
        shape[name].space_before = pt(points)
    for name, points in SPACE_AFTER.items():
        shape[name].space_after = pt(points)
    shape["Normal"].line_spacing = LINE
    shape["Intense Quote"].left_indent = shape["Intense Quote"].right_indent = mm(0)
    shape["Quotation"].left_indent = mm(8)
    shape["TOC 2"].left_indent = mm(6)
    shape["Facts"].tab_stops.add_tab_stop(mm(32))
    shape["Facts"].left_indent, shape["Facts"].first_line_indent = mm(32), -mm(32)


def _properties(properties, document):
    properties.title = allowed(document.title)[:255]
    properties.author = allowed(document.author)[:255]
    properties.created = properties.modified = datetime.now(UTC).replace(tzinfo=None)
    properties.comments = ""
    properties.language = document.language


def _own_face(style):
    """Let a style use its own font: theme fonts would override the name."""
    from docx.oxml.ns import qn

    fonts = style.element.rPr.rFonts
    for name in ("asciiTheme", "hAnsiTheme", "eastAsiaTheme", "cstheme"):
        fonts.attrib.pop(qn(f"w:{name}"), None)
    fonts.set(qn("w:hAnsi"), FACE)


def heads(out, document, words):
    """Letterhead on the first page, firm and number above the others, registration and page below all.

    Parameters
    ----------
    out : docx.document.Document
    document : darkspell.report.document.document.Document
    words : dict of str
        As `darkspell.report.document.language.labels` gives them.
    """
    page, head = out.sections[0], document.letterhead
    page.different_first_page_header_footer = True
    if document.logo or head.name:
        _letterhead(page.first_page_header, document, words)
    if head.name or head.reference:
        line = page.header.paragraphs[0]
        _right_tab(line)
        line.add_run("\t".join(allowed(text) for text in (head.name, head.reference)))
        ruled(line, head.second.removeprefix("#"))
    for footer, subject in ((page.first_page_footer, ""), (page.footer, document.subject)):
        line = footer.paragraphs[0]
        _right_tab(line)
        named = f"{head.name} \u00b7 {head.registration}" if head.registration else document.title
        shown = " \u00b7 ".join(filter(None, (subject, named)))
        line.add_run(f"{allowed(shown)[:110]}\t")
        field(line, "PAGE", "1")
        line.add_run(" / ")
        field(line, "NUMPAGES", "1")


def _letterhead(header, document, words):
    from docx.enum.text import WD_ALIGN_PARAGRAPH
    from docx.shared import Pt, RGBColor

    head = document.letterhead
    table = header.add_table(1, 2, mm(WIDTH_MM))
    left, right = table.rows[0].cells
    left.width, right.width = mm(WIDTH_MM * 0.5), mm(WIDTH_MM * 0.5)
    if document.logo:
        picture = left.paragraphs[0].add_run().add_picture(str(document.logo), height=mm(16))
        picture._inline.docPr.set("descr", words["logo"])
    line = right.paragraphs[0]
    line.alignment = WD_ALIGN_PARAGRAPH.RIGHT
    name = line.add_run(allowed(head.name))
    name.bold, name.font.size = True, Pt(11)
    name.font.color.rgb = RGBColor.from_string(head.accent.removeprefix("#").upper())
    for text in (*head.address, *head.contact):
        line = right.add_paragraph(allowed(text))
        line.alignment = WD_ALIGN_PARAGRAPH.RIGHT
        line.paragraph_format.space_after = 0
    empty = header.paragraphs[0]
    header._element.remove(empty._p)
    header._element.append(empty._p)
    ruled(empty, head.second.removeprefix("#"))


def _right_tab(line):
    from docx.enum.text import WD_TAB_ALIGNMENT

    line.paragraph_format.tab_stops.add_tab_stop(mm(WIDTH_MM), WD_TAB_ALIGNMENT.RIGHT)
