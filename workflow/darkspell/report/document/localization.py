"""Numbers and dates in the writing of another language; the words stay English."""

import re
from dataclasses import replace
from datetime import date
from functools import partial

from darkspell.report.document.tree import Box, Figure, Listing, Paragraph, Section, Subheading, Table

# A decimal point between digits; not within versions, names or keys (1.2.3, v1.2, a.1).
DECIMAL = re.compile(r"(?<![\w.])(\d[\d\u202f]*)\.(\d+)(?![\w]|\.\d)")


def local_date(text, language):
    """A date such as 2026-11-25 written out.

    Parameters
    ----------
    text : str
    language : str

    Returns
    -------
    str
    """
    from babel.dates import format_date

    return format_date(date.fromisoformat(text), format="long", locale=language)


def local_number(text, language):
    """A text with the decimal points and the thousands of its numbers as a language writes them.

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
    if symbols["decimal"] == ".":
        return text
    return DECIMAL.sub(rf"\g<1>{symbols['decimal']}\g<2>", text)


def localised(document, language):
    """The document with its numbers so written; what is quoted letter for letter stays as it is.

    Thousands are parted by a narrow space in every language, as ISO 80000-1 has it. The client's own words
    (title, facts) and the study's keys and values in the appendix stay as they were typed.
    """
    if language == "en":
        return document
    turn = partial(local_number, language=language)
    return replace(
        document,
        opening=[_block(block, turn) for block in document.opening],
        sections=[_section(section, turn) for section in document.sections],
    )


def _section(section, turn):
    return Section(turn(section.heading), [_block(block, turn) for block in section.blocks])


def _block(block, turn):
    if isinstance(block, Paragraph | Subheading):
        return replace(block, text=turn(block.text))
    if isinstance(block, Box):
        return Box(turn(block.heading), [turn(item) for item in block.items])
    if isinstance(block, Listing):
        return Listing([turn(item) for item in block.items])
    if isinstance(block, Table):
        rows = [[turn(cell) for cell in row] for row in block.rows]
        header = [turn(cell) for cell in block.header]
        return replace(block, rows=rows, header=header, caption=turn(block.caption), note=turn(block.note))
    if isinstance(block, Figure):
        return replace(block, title=turn(block.title), caption=turn(block.caption), alt=turn(block.alt))
    return block
