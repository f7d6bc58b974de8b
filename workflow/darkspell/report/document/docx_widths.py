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
    least = [_needed(column, size_pt) for column in columns]
    wanted = [max(_asked(column, size_pt), need) for column, need in zip(columns, least, strict=True)]
    if sum(least) >= width_mm:
        return [width_mm * one / sum(least) for one in least]
    if sum(wanted) <= width_mm:
        return [width_mm * one / sum(wanted) for one in wanted]
    share = (width_mm - sum(least)) / (sum(wanted) - sum(least))
    return [need + share * (want - need) for need, want in zip(least, wanted, strict=True)]


def _asked(column, size_pt):
    """Width [mm] for the texts of a column in one line each, the longest of many rows left out; its head has two."""
    head, *cells = map(str, column)
    lengths = sorted(min(len(cell), LONGEST_TEXT) for cell in cells)
    if len(lengths) >= MANY_ROWS:
        lengths = lengths[: len(lengths) * 9 // 10]
    letters = max([len(head) / 2, *lengths[-1:]])
    return PADDING_MM + LETTER_EM * size_pt * EM_MM * letters


def _words(text):
    """Parts of a text that stay on one line: a no-break space parts nothing."""
    return re.split(r"[ \n\u200b]+|(?<=[-/])", text)


def _needed(texts, size_pt):
    """Width of the longest word of some texts with the cell's margins [mm]."""
    letters = max((min(len(word), LONGEST_WORD) for text in texts for word in _words(str(text))), default=0)
    return PADDING_MM + LETTER_EM * size_pt * EM_MM * letters
