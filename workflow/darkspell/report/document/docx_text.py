"""What the modules of the DOCX share: lengths, text without letters that XML refuses, paragraphs in a style."""

from darkspell.report.document.docx_parts import hyperlink
from darkspell.report.document.rich_text import runs_of

WIDTH_MM = 160.0
FORBIDDEN = {n: None for n in (*range(9), 11, 12, *range(14, 32), 0xFFFE, 0xFFFF)}  # letters that XML refuses


def allowed(text):
    """A text without the letters that XML refuses.

    Parameters
    ----------
    text : object

    Returns
    -------
    str
    """
    return str(text).translate(FORBIDDEN)


def mm(value):
    """A length of so many millimetres; the import waits since it takes long and few commands need it.

    Parameters
    ----------
    value : float
    """
    from docx.shared import Mm

    return Mm(value)


def pt(value):
    """A length of so many points.

    Parameters
    ----------
    value : float
    """
    from docx.shared import Pt

    return Pt(value)


def paragraph(out, text, style):
    """A paragraph in a style; the library's own way looks through all styles, which takes as long as the tables.

    Parameters
    ----------
    out : docx.document.Document
    text : str
    style : str
        Its name.

    Returns
    -------
    docx.text.paragraph.Paragraph
    """
    line = out.add_paragraph()
    in_style(line, style)
    return write(line, text)


def in_style(line, style):
    """Give a paragraph a style.

    Parameters
    ----------
    line : docx.text.paragraph.Paragraph
    style : str
    """
    line._p.style = style.replace(" ", "")  # the style's identifier, as the library makes it of the name


def write(line, text):
    """Add a text to a paragraph; one written in Markdown with its styles and links.

    Parameters
    ----------
    line : docx.text.paragraph.Paragraph
    text : str

    Returns
    -------
    docx.text.paragraph.Paragraph
    """
    for part in runs_of(text):
        run = line.add_run(allowed(part.text))
        if part.strong:
            run.bold = True
        if part.emphasis:
            run.italic = True
        if part.code:
            run.font.name = "DejaVu Sans Mono"
        if part.address:
            run.underline = True
            hyperlink(line, part.address, run)
    return line
