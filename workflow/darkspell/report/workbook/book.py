"""The workbook: contents, front sheets, then every table of a results folder."""

from io import BytesIO
from math import ceil

import pandas as pd

from darkspell.core.table_reader import read_table
from darkspell.report.tables.registry import TABLES
from darkspell.report.wording import given
from darkspell.report.workbook.front import front_sheets, said
from darkspell.report.workbook.sheet import (
    PAPERS,
    PRINTED_OF_LONG,
    PRINTED_ROWS,
    Formats,
    folded_columns,
    printed_columns,
    write_sheet,
)

MOST_ROWS = 50_000
NOTE_WIDTH, LINE_PT = 120, 15  # characters of a line of the notes, and its height
INERT = {
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
    "nan_inf_to_errors": False,
    "in_memory": True,
}


def workbook(tables, about, front=None, lines=()):
    """Tables as an XLSX file.

    Parameters
    ----------
    tables : dict of pandas.DataFrame
        By name; at most `MOST_ROWS` rows of each are kept.
    about : darkspell.study Document
        Title, client, preparer, currency.
    front : dict of (pandas.DataFrame, list of tuple of str), optional
        Sheets before the tables, see `darkspell.report.workbook.front.front_sheets`.
    lines : iterable of tuple of str
        Label and text of further lines of the first sheet.

    Returns
    -------
    bytes
    """
    import xlsxwriter  # 0.1 s to import, and only this file needs it

    file = BytesIO()
    with xlsxwriter.Workbook(file, INERT) as book:
        book.set_properties({"title": about.title, "author": about.prepared_by})
        formats = Formats(book)
        _notes(book.add_worksheet("Notes"), tables, about, lines, formats)
        for name, (table, heads) in (front or {}).items():
            write_sheet(book.add_worksheet(name), table, heads, formats, about, one_page=True)
        for name, table in tables.items():
            sheet = book.add_worksheet(name[:31])
            write_sheet(sheet, table.head(MOST_ROWS), heads_of(name, table), formats, about)
    return file.getvalue()


def workbook_of(results):
    """The workbook of a study.

    Parameters
    ----------
    results : darkspell.report.results.Results
        With the folder of the results.

    Returns
    -------
    bytes
    """
    tables = {path.stem: read_table(path) for path in sorted(results.folder.glob("*.csv"))}
    kept = {name: table for name, table in tables.items() if isinstance(table, pd.DataFrame) and len(table)}
    return workbook(kept, results.study.document, front_sheets(results), said(results))


def heads_of(name, table):
    """Words and unit of each column of a table.

    Parameters
    ----------
    name : str
        Of the table.
    table : pandas.DataFrame

    Returns
    -------
    list of tuple of str
    """
    return [_head(name, str(column)) for column in table.columns]


def _head(name, column):
    """Words and unit of a column; its own name where the registry does not know it."""
    columns = TABLES[name].columns if name in TABLES else ()
    return next(((one.words, one.unit) for one in columns if one.key == column), (column, ""))


def _notes(sheet, tables, about, lines, formats):
    """Whose workbook it is, what is recommended, and what each sheet holds."""
    rows = [("Study", about.title), ("For", about.client), ("Prepared by", about.prepared_by), *lines]
    strong = len(rows)
    rows += [("", ""), *((name, _note(name, table)) for name, table in tables.items())]
    for at, (label, text) in enumerate(rows):
        sheet.write_string(at, 0, label, formats.strong if at < strong else None)
        sheet.write_string(at, 1, given(text)[:32_000], formats.text)
        sheet.set_row(at, LINE_PT * max(1, ceil(len(text) / NOTE_WIDTH)))
    sheet.set_column(0, 0, 27)
    sheet.set_column(1, 1, NOTE_WIDTH + 10)
    sheet.set_landscape()
    sheet.set_paper(PAPERS[about.paper])
    sheet.fit_to_pages(1, 0)
    sheet.print_area(0, 0, len(rows) - 1, 1)


def _note(name, table):
    cut = f" Only the first {MOST_ROWS} of {len(table)} rows." if len(table) > MOST_ROWS else ""
    if len(table) > PRINTED_ROWS:
        cut += f" Prints its first {PRINTED_OF_LONG} rows."
    if folded_columns(table):
        cut += " Columns of means, sampling errors and single years are folded: the + above the sheet opens them."
    columns, _pages = printed_columns(table, heads_of(name, table))
    if columns < len(table.columns):
        cut += f" Prints its first {columns} columns."
    if name not in TABLES:
        return f"The table {name}.csv.{cut}"
    words = TABLES[name].words
    return f"{words[0].upper()}{words[1:]}. One row: {TABLES[name].row}.{cut}"
