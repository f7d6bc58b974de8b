"""Parts of a DOCX that python-docx does not write by itself: fields, links, contents, restarted lists, shading."""

from copy import deepcopy

from docx.opc.constants import RELATIONSHIP_TYPE
from docx.oxml import OxmlElement
from docx.oxml.ns import qn


def element(tag, **values):
    """An XML element of the word-processing namespace.

    Parameters
    ----------
    tag : str
        Such as ``w:shd``.
    **values : str
        Attributes of the same namespace.

    Returns
    -------
    lxml element
    """
    made = OxmlElement(tag)
    for name, value in values.items():
        made.set(qn(f"w:{name}"), value)
    return made


def field(paragraph, instruction, shown):
    """Add a field with the text that it shows until it is updated.

    Parameters
    ----------
    paragraph : docx.text.paragraph.Paragraph
    instruction, shown : str
    """
    paragraph._p.append(mark(element("w:r"), "begin"))
    code = element("w:r")
    words = element("w:instrText")
    words.set(qn("xml:space"), "preserve")
    words.text = f" {instruction} "
    code.append(words)
    paragraph._p.append(code)
    paragraph._p.append(mark(element("w:r"), "separate"))
    paragraph.add_run(shown)
    paragraph._p.append(mark(element("w:r"), "end"))


def mark(run, kind):
    """A run with the begin, middle or end of a field.

    Parameters
    ----------
    run : lxml element
    kind : {"begin", "separate", "end"}
    """
    run.append(element("w:fldChar", fldCharType=kind))
    return run


def bookmark(paragraph, name, number):
    """Put a bookmark around a paragraph's text.

    Parameters
    ----------
    paragraph : docx.text.paragraph.Paragraph
    name : str
    number : int
        Of its own in the document.
    """
    start = element("w:bookmarkStart", id=str(number), name=name)
    paragraph._p.insert(1 if paragraph._p.pPr is not None else 0, start)
    paragraph._p.append(element("w:bookmarkEnd", id=str(number)))


def contents(out, entries, hint):
    """A list of contents as a field, filled with the headings; a word processor adds the pages when it updates.

    Parameters
    ----------
    out : docx.document.Document
    entries : list of (int, str, str)
        Level, heading, bookmark.
    hint : str
        Shown where there are no entries.
    """
    lines = [out.add_paragraph(style=f"TOC {level}") for level, _, _ in entries] or [out.add_paragraph(hint)]
    first = [mark(element("w:r"), "begin"), element("w:r"), mark(element("w:r"), "separate")]
    words = element("w:instrText")
    words.set(qn("xml:space"), "preserve")
    words.text = ' TOC \\o "1-2" \\h \\z \\u '
    first[1].append(words)
    for part in first:
        lines[0]._p.append(part)
    for line, (_, heading, anchor) in zip(lines, entries, strict=False):
        link = element("w:hyperlink", anchor=anchor, history="1")
        line._p.append(link)
        run = line.add_run(heading)
        link.append(run._r)
    lines[-1]._p.append(mark(element("w:r"), "end"))


def hyperlink(paragraph, address, run):
    """Turn a run into a link.

    Parameters
    ----------
    paragraph : docx.text.paragraph.Paragraph
    address : str
    run : docx.text.run.Run
    """
    known = paragraph.part.relate_to(address, RELATIONSHIP_TYPE.HYPERLINK, is_external=True)
    link = element("w:hyperlink")
    link.set(qn("r:id"), known)
    paragraph._p.append(link)
    link.append(run._r)


def restarted(out, style):
    """Number of a new list that begins at 1 and looks as a style's list.

    Parameters
    ----------
    out : docx.document.Document
    style : str
        Name of a list style.

    Returns
    -------
    int
    """
    numbering = out.part.numbering_part.element
    used = out.styles[style].element.pPr.numPr.numId.val
    original = next(one for one in numbering.num_lst if one.numId == used)
    made = numbering.add_num(original.abstractNumId.val)
    made.add_lvlOverride(0).add_startOverride(1)
    return made.numId


def numbered(paragraph, number):
    """Let a paragraph belong to a numbered list.

    Parameters
    ----------
    paragraph : docx.text.paragraph.Paragraph
    number : int
        From `restarted`.
    """
    properties = paragraph._p.get_or_add_pPr().get_or_add_numPr()
    properties.get_or_add_ilvl().val = 0
    properties.get_or_add_numId().val = number


def shade(cell, colour):
    """Fill a cell.

    Parameters
    ----------
    cell : docx.table._Cell
    colour : str
        ``RRGGBB``.
    """
    cell._tc.get_or_add_tcPr().append(element("w:shd", val="clear", fill=colour))


def unbroken(row):
    """Keep a row on one page.

    Parameters
    ----------
    row : docx.table._Row
    """
    row._tr.get_or_add_trPr().append(element("w:cantSplit"))


def repeat(row):
    """Repeat the head of a table on its next page, and keep it whole.

    Parameters
    ----------
    row : docx.table._Row
    """
    unbroken(row)
    row._tr.get_or_add_trPr().append(element("w:tblHeader", val="true"))


def ruled(paragraph, colour, side="bottom"):
    """Draw a rule along a paragraph.

    Parameters
    ----------
    paragraph : docx.text.paragraph.Paragraph
    colour : str
        ``RRGGBB``.
    side : {"bottom", "top"}
    """
    frame = element("w:pBdr")
    frame.append(element(f"w:{side}", val="single", sz="12", space="4", color=colour))
    paragraph._p.get_or_add_pPr().append(frame)


def horizontal_rules(table, colour):
    """Light rules between a table's rows, none between its columns.

    Parameters
    ----------
    table : docx.table.Table
    colour : str
        ``RRGGBB``.
    """
    frame = element("w:tblBorders")
    line = {"val": "single", "sz": "4", "space": "0", "color": colour}
    for side in ("top", "bottom", "insideH"):
        frame.append(element(f"w:{side}", **line))
    table._tbl.tblPr.append(deepcopy(frame))
