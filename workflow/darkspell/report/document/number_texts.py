"""Numbers within the texts of a document: decimal points of its locale, and no line broken before a unit."""

import re
from dataclasses import replace
from functools import partial

from darkspell.report.document.rich_text import Rich
from darkspell.report.document.tree import Box, Figure, Listing, Paragraph, Subheading, Table

# A decimal point between digits; not within versions, names or keys (1.2.3, v1.2, a.1).
DECIMAL = re.compile(r"(?<![\w.])(\d[\d\u202f]*)\.(\d+)(?![\w]|\.\d)")
NUMBER_AND_UNIT = re.compile(r"(?<=\d) (?=(?:%|°[CF]|k?Wh?|Wp|Ah?|m?V)(?!\w))|(?<=\d) (?=×)|(?<=×) (?=\d)")
KEEP = "\u2060"  # after a point that parts thousands: no decimal point; taken out at the end


def local_number(text, language):
    """A text with the decimal points of its numbers as a language writes them.

    Parameters
    ----------
    text : str
    language : str

    Returns
    -------
    str
    """
    from babel import Locale

    symbols = Locale.parse(language).number_symbols["latn"]
    if symbols["decimal"] != "." and not isinstance(text, Rich):
        text = DECIMAL.sub(rf"\g<1>{symbols['decimal']}\g<2>", text)
    return text.replace(KEEP, "") if KEEP in text else text


def localised(document, language):
    """The document with its numbers so written; what is quoted letter for letter stays as it is.

    Thousands are parted by a narrow space in every language, as ISO 80000-1 has it; those of prices as the language
    does. The client's own words (title, facts, Markdown) and the study's keys and values in the appendix stay as they
    were typed.

    Parameters
    ----------
    document : Document
    language : str
        Language code of ISO 639, such as "en".
    """
    turn = partial(local_number, language=language)
    return replace(
        document,
        opening=[_block(block, turn) for block in document.opening],
        sections=[_section(section, turn) for section in document.sections],
    )


def unparted(document):
    """The document with no line broken between a number and its unit; for the writers.

    Parameters
    ----------
    document : Document

    Returns
    -------
    Document
    """

    def turn(text):
        return text if isinstance(text, Rich) else NUMBER_AND_UNIT.sub("\u00a0", text)

    return replace(
        document,
        opening=[_block(block, turn) for block in document.opening],
        sections=[_section(section, turn) for section in document.sections],
        appendix=[_section(section, turn) for section in document.appendix],
    )


def _section(section, turn):
    blocks = [_block(block, turn) for block in section.blocks]
    return replace(section, heading=turn(section.heading), blocks=blocks)


def _block(block, turn):
    if isinstance(block, Paragraph | Subheading):
        return replace(block, text=turn(block.text))
    if isinstance(block, Box):
        return Box(turn(block.heading), [turn(item) for item in block.items])
    if isinstance(block, Listing):
        items = [_block(item, turn) if isinstance(item, Listing) else turn(item) for item in block.items]
        return replace(block, items=items)
    if isinstance(block, Table):
        rows = [[turn(cell) for cell in row] for row in block.rows]
        header = [turn(cell) for cell in block.header]
        return replace(block, rows=rows, header=header, caption=turn(block.caption), note=turn(block.note))
    if isinstance(block, Figure):
        return replace(block, title=turn(block.title), caption=turn(block.caption), alt=turn(block.alt))
    return block
