"""Widths of a table's columns in a DOCX: no word broken where the page has room for it."""

import re

PADDING_MM = (
    4.4  # left and right margin of a cell, as word processors set it (1.9 mm each), and 0.6 mm to spare
)
LONGEST_WORD = 40  # characters that a column is widened for
LONGEST_TEXT = 60  # characters of one line that a column asks for
LETTER_EM, DIGIT_EM = (
    0.62,
    0.66,
)  # mean width of letters and of digits of the widest usual serif face, bold; measured
EM_MM = 25.4 / 72.0  # of a face of one point


def column_widths(block, width_mm, size_pt):
    """Widths of the columns [mm].

    Each column gets the width of its longest word; the columns share the rest by what their longest texts ask for.

    Parameters
    ----------
    block : darkspell.report.document.tree.Table
    width_mm : float
        Of the table [mm].
    size_pt : float
        Of the letters [pt].

    Returns
    -------
    list of float
    """
    columns = list(zip(block.header, *block.rows, strict=True))
    least = [_longest(column, size_pt, _words, LONGEST_WORD) for column in columns]
    wanted = [
        max(_longest(column[1:], size_pt, lambda text: [text], LONGEST_TEXT), need)
        for column, need in zip(columns, least, strict=True)
    ]
    if sum(least) >= width_mm:
        return [width_mm * one / sum(least) for one in least]
    if sum(wanted) <= width_mm:
        return [width_mm * one / sum(wanted) for one in wanted]
    share = (width_mm - sum(least)) / (sum(wanted) - sum(least))
    return [need + share * (want - need) for need, want in zip(least, wanted, strict=True)]


def _words(text):
    """Parts of a text that stay on one line: a no-break space parts nothing."""
    return re.split(r"[ \n\u200b]+|(?<=[-/])", text)


def _longest(texts, size_pt, parts_of, limit):
    """Width of the longest part of some texts with the cell's margins [mm]."""
    lengths = (_em(part[:limit]) for text in texts for part in parts_of(str(text)))
    return PADDING_MM + size_pt * EM_MM * max(lengths, default=0.0)


def _em(text):
    digits = sum(letter.isdigit() for letter in text)
    return DIGIT_EM * digits + LETTER_EM * (len(text) - digits)
