"""Widths of a table's columns in a DOCX: no word broken where the page has room for it."""

import re

PADDING_MM = 4.4  # margins of a cell, as word processors set them (1.9 mm each), and 0.6 mm to spare
LONGEST_WORD = 40  # characters that a column is widened for
LONGEST_TEXT = 100  # characters of one line that a column asks for
MANY_ROWS = 20  # from so many rows on the longest tenth of the texts is left out; our choice
LETTER_EM = 0.66  # mean width of letters and digits of the widest usual serif face, bold; measured
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
    wanted = [max(_asked(column, size_pt), need) for column, need in zip(columns, least, strict=True)]
    if sum(least) >= width_mm:
        return [width_mm * one / sum(least) for one in least]
    if sum(wanted) <= width_mm:
        return [width_mm * one / sum(wanted) for one in wanted]
    share = (width_mm - sum(least)) / (sum(wanted) - sum(least))
    return [need + share * (want - need) for need, want in zip(least, wanted, strict=True)]


def _asked(column, size_pt):
    """Width for the texts of a column in one line each and its head in two [mm]; the longest of many rows are left out."""
    head, *cells = map(str, column)
    lengths = sorted((cell[:LONGEST_TEXT] for cell in cells), key=_em)
    if len(lengths) >= MANY_ROWS:
        lengths = lengths[: len(lengths) * 9 // 10]
    longest = max((_em(cell) for cell in lengths), default=0.0)
    return PADDING_MM + size_pt * EM_MM * max(longest, _em(head) / 2)


def _words(text):
    """Parts of a text that stay on one line: a no-break space parts nothing."""
    return re.split(r"[ \n\u200b]+|(?<=[-/])", text)


def _longest(texts, size_pt, parts_of, limit):
    """Width of the longest part of some texts with the cell's margins [mm]."""
    lengths = (_em(part[:limit]) for text in texts for part in parts_of(str(text)))
    return PADDING_MM + size_pt * EM_MM * max(lengths, default=0.0)


def _em(text):
    return LETTER_EM * len(text)
