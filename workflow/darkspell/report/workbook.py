"""The tables of a study as one workbook: units under the names, notes in front; no cell is ever a formula."""

from io import BytesIO

from darkspell.report.tables.registry import CURRENCY, TABLES, unit_of
from darkspell.report.wording import given

MOST_ROWS = 50_000


def workbook(tables, about):
    """Tables as an XLSX file.

    Parameters
    ----------
    tables : dict of pandas.DataFrame
        By name; at most `MOST_ROWS` rows of each are kept.
    about : darkspell.study About
        Title, client, preparer, currency.

    Returns
    -------
    bytes
    """
    import xlsxwriter

    file = BytesIO()
    inert = {
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "strings_to_numbers": False,
        "nan_inf_to_errors": False,
        "in_memory": True,
    }
    with xlsxwriter.Workbook(file, inert) as book:
        head = book.add_format({"bold": True, "bottom": 1})
        soft = book.add_format({"font_color": "#555555", "italic": True})
        front = book.add_worksheet("Notes")
        front.set_column(0, 0, 16)
        front.set_column(1, 1, 110)
        rows = [("Study", about.title), ("For", about.client), ("Prepared by", about.prepared_by)]
        rows += [("", "")] + [(name, _note(name, table)) for name, table in tables.items()]
        for at, (label, text) in enumerate(rows):
            front.write_string(at, 0, label, head if at < 3 else None)
            front.write_string(at, 1, given(text)[:32_000])
        for name, table in tables.items():
            _sheet(book.add_worksheet(name[:31]), name, table.head(MOST_ROWS), about.currency, head, soft)
    return file.getvalue()


def _note(name, table):
    cut = f" Only the first {MOST_ROWS} of {len(table)} rows." if len(table) > MOST_ROWS else ""
    if name not in TABLES:
        return f"The table {name}.csv.{cut}"
    words = TABLES[name].words
    return f"{words[0].upper()}{words[1:]}. One row: {TABLES[name].row}.{cut}"


def _sheet(sheet, name, table, currency, head, soft):
    """Names, units, then rows; numbers as numbers, everything else as text."""
    import pandas as pd

    for at, column in enumerate(table.columns):
        kind = pd.api.types
        numeric = kind.is_numeric_dtype(table[column]) and not kind.is_bool_dtype(table[column])
        unit = unit_of(name, str(column)) if numeric else ""
        sheet.write_string(0, at, str(column), head)
        sheet.write_string(1, at, currency if unit == CURRENCY else unit, soft)
        for row, value in enumerate(table[column], 2):
            if pd.isna(value):
                continue
            if numeric:
                sheet.write_number(row, at, float(value))
            elif isinstance(value, bool):
                sheet.write_boolean(row, at, value)
            else:
                sheet.write_string(row, at, str(value)[:32_000])
    sheet.freeze_panes(2, 1)
    sheet.set_column(0, max(len(table.columns) - 1, 0), 14)


def workbook_of(folder, study):
    """The workbook of all tables in a study's folder; bytes.

    Parameters
    ----------
    study : darkspell.study.Study
    folder : pathlib.Path
        Results of the study.
    """
    import pandas as pd

    from darkspell.core.table_reader import read_table

    tables = {path.stem: read_table(path) for path in sorted(folder.glob("*.csv"))}
    kept = {name: table for name, table in tables.items() if isinstance(table, pd.DataFrame) and len(table)}
    return workbook(kept, study.document)
