"""One sheet: plain headers, units and column names above the rows, formats, filter and print area."""

from math import ceil

import numpy as np
import pandas as pd

from darkspell.report.tables.columns import CURRENCY, SEE_STATISTIC, SEE_UNIT
from darkspell.report.workbook.digits import number_format

HEAD_ROWS = 3  # words, unit, name of the column
PRINTED_ROWS = 200  # a longer table prints its first page only
PRINTED_OF_LONG = 40
NARROW, WIDE = 8, 44  # characters
PAGE_WIDTH = 175  # characters across a landscape page that stay legible; our choice
MOST_PAGES = 3  # across which a table prints; columns beyond them are on the screen only; our choice
PAPERS = {"a4": 9, "letter": 1}  # codes of ISO/IEC 29500
# Ends of columns that are folded: their sign above the sheet opens them, and they do not print.
FOLDED = ("_simulation_low", "_simulation_high", "_mean", "_year_low", "_year_high")
MOST_UNFOLDED = 30  # a table of more columns has some folded; our choice
LONGEST_TEXT = 32_000  # characters; a cell takes 32,767


class Formats:
    """Formats of a workbook, each made once.

    Parameters
    ----------
    book : xlsxwriter.Workbook
    """

    def __init__(self, book):
        self._book, self._numbers = book, {}
        shape = {"bold": True, "text_wrap": True, "valign": "bottom", "align": "left", "indent": 1}
        self.words = book.add_format(shape)
        self.number_words = book.add_format(
            {"bold": True, "text_wrap": True, "valign": "bottom", "align": "right"}
        )
        self.number_unit = book.add_format({"font_color": "#555555", "italic": True, "align": "right"})
        self.unit = book.add_format({"font_color": "#555555", "italic": True, "align": "left", "indent": 1})
        self.name = book.add_format(
            {"font_color": "#555555", "font_size": 9, "bottom": 1, "align": "left", "indent": 1}
        )
        self.number_name = book.add_format(
            {"font_color": "#555555", "font_size": 9, "bottom": 1, "align": "right"}
        )
        self.text = book.add_format({"text_wrap": True, "valign": "top", "align": "left", "indent": 1})
        self.strong = book.add_format({"bold": True})

    def number(self, code):
        """Format of a number by its code.

        Parameters
        ----------
        code : str
        """
        if code not in self._numbers:
            self._numbers[code] = self._book.add_format({"num_format": code, "valign": "top"})
        return self._numbers[code]


def write_sheet(sheet, table, heads, formats, about, one_page=False):
    """Write a table into an empty sheet; no cell is ever a formula.

    Parameters
    ----------
    sheet : xlsxwriter.worksheet.Worksheet
    table : pandas.DataFrame
    heads : list of tuple of str
        Words and unit of each column, in the order of the table.
    formats : Formats
    about : darkspell.study Document
        Currency and paper.
    one_page : bool
        Whether all columns print on one page.
    """
    rows = _formats_by_row(table, heads)
    for at, (name, (words, unit)) in enumerate(zip(table.columns, heads, strict=True)):
        right = is_numeric(table.iloc[:, at])
        sheet.write_string(0, at, _opened(words), formats.number_words if right else formats.words)
        shown = about.currency if unit == CURRENCY else unit
        sheet.write_string(1, at, shown, formats.number_unit if right else formats.unit)
        sheet.write_string(2, at, str(name), formats.number_name if right else formats.name)
        _column(sheet, at, table.iloc[:, at], unit, rows, formats)
    _shape(sheet, table, heads)
    _print(sheet, table, heads, one_page, about.paper)


def is_numeric(column):
    """Whether a column holds numbers, and not truth values.

    Parameters
    ----------
    column : pandas.Series
    """
    return pd.api.types.is_numeric_dtype(column) and not pd.api.types.is_bool_dtype(column)


def _opened(words):
    words = words.replace("`", "")
    return f"{words[:1].upper()}{words[1:]}"


def _formats_by_row(table, heads):
    """Format code of the mixed columns of each row; their unit differs from row to row."""
    mixed = [
        at
        for at, (_words, unit) in enumerate(heads)
        if unit in (SEE_UNIT, SEE_STATISTIC) and is_numeric(table.iloc[:, at])
    ]
    return [number_format(row) for row in table.iloc[:, mixed].to_numpy(float)] if mixed else []


def _column(sheet, at, column, unit, rows, formats):
    numeric = is_numeric(column)
    mixed = numeric and unit in (SEE_UNIT, SEE_STATISTIC)
    whole = formats.number(number_format(column, unit)) if numeric else None
    for row, value in enumerate(column):
        if pd.isna(value):
            continue
        if numeric:
            shape = formats.number(rows[row]) if mixed else whole
            _number(sheet, row + HEAD_ROWS, at, float(value), shape)
        elif isinstance(value, bool | np.bool_):
            sheet.write_boolean(row + HEAD_ROWS, at, bool(value))
        else:
            sheet.write_string(row + HEAD_ROWS, at, str(value)[:LONGEST_TEXT], formats.text)


def _number(sheet, row, at, value, shape):
    """A number; a spreadsheet has none that is infinite."""
    if np.isfinite(value):
        sheet.write_number(row, at, value, shape)
    else:
        sheet.write_string(row, at, "infinite")


def _shape(sheet, table, heads):
    """Widths, frozen heads, and a filter on the names of the columns."""
    widths = [_width(table.iloc[:, at], name, heads[at]) for at, name in enumerate(table.columns)]
    folded = folded_columns(table)
    for at, width in enumerate(widths):
        sheet.set_column(at, at, width, None, {"level": 1, "hidden": True} if at in folded else {})
    lines = max(ceil(len(words) / (width - 1)) for (words, _unit), width in zip(heads, widths, strict=True))
    sheet.set_row(0, 15 * min(lines, 8) + 3)
    sheet.freeze_panes(HEAD_ROWS, 1)
    sheet.autofilter(HEAD_ROWS - 1, 0, HEAD_ROWS - 1 + len(table), len(table.columns) - 1)


def _width(column, name, head):
    texts = [] if is_numeric(column) else column.dropna().astype(str).head(1000)
    longest = max((len(text) for text in texts), default=0)
    word = max((len(word) for word in head[0].split()), default=0)
    # The button of the filter covers two characters of the name; words of the head are bold and do not break.
    return min(
        max(NARROW, len(str(name)) + 2, len(head[1]) + 1, longest + 1, len(head[0]) // 5, word + 2), WIDE
    )


def folded_columns(table):
    """Positions of the columns that a wide table shows only when they are opened.

    Parameters
    ----------
    table : pandas.DataFrame

    Returns
    -------
    set of int
    """
    if len(table.columns) <= MOST_UNFOLDED:
        return set()
    return {at for at, name in enumerate(table.columns) if str(name).endswith(FOLDED)}


def printed_columns(table, heads):
    """Columns that print, counted from the first, and over how many pages across they go.

    Parameters
    ----------
    table : pandas.DataFrame
    heads : list of tuple of str

    Returns
    -------
    columns, pages : int
    """
    folded, width = folded_columns(table), 0
    for at, name in enumerate(table.columns):
        wide = 0 if at in folded else _width(table.iloc[:, at], name, heads[at])
        if width + wide > MOST_PAGES * PAGE_WIDTH:
            return at, MOST_PAGES
        width += wide
    return len(table.columns), max(1, ceil(width / PAGE_WIDTH))


def _print(sheet, table, heads, one_page, paper):
    """Landscape pages with the heads on each; of long tables the first rows print, of wide ones the first columns."""
    rows = len(table) if len(table) <= PRINTED_ROWS else PRINTED_OF_LONG
    columns, pages = printed_columns(table, heads)
    sheet.set_landscape()
    sheet.set_paper(PAPERS[paper])
    sheet.set_margins(left=0.5, right=0.5, top=0.6, bottom=0.7)
    sheet.repeat_rows(0, HEAD_ROWS - 1)
    sheet.repeat_columns(0)
    sheet.fit_to_pages(1 if one_page else pages, 0)
    sheet.print_area(0, 0, HEAD_ROWS - 1 + rows, (len(table.columns) if one_page else columns) - 1)
    sheet.set_footer("&L&A&RPage &P of &N")
