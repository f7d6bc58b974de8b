"""The tables of a study as one workbook: units under the names, notes in front; no cell is ever a formula."""

import re
from io import BytesIO

MOST_ROWS = 50_000
NOTES = {
    "members": "One row a synthetic year. Years in one world share what is not known of climate and loads.",
    "months": "By calendar month over the years: mean with its 95 % interval, and percentiles of a single year.",
    "events": "Every run of hours with essential load unserved.",
    "autonomy": "Probability that no essential hour goes unserved within so many days from the month named.",
    "event_lengths": "Events a year by how long they last, and the share of years that have any.",
    "recovery": "Days until the bank is full again, by the month begun in: from empty, and after the deep dawns and "
    "cut-offs that came.",
    "monitors": "How each monitor errs: mean with its 95 % interval, and what eight years of ten bring.",
    "sizing": "Every design compared: _low and _high bound the mean (95 %), _year_low and _year_high hold eight "
    "years of ten.",
    "whatifs": "Difference of each change from the study, on the same draws, with its 95 % interval.",
    "sources": "What every array and charger offered, and what was taken of it.",
    "snow": "What snow takes from each array by month: the same years with and without it.",
}
# Ending of a column's name, without bounds: its unit.
UNITS = {
    "pct": "%", "kwh": "kWh", "wh": "Wh", "wp": "Wp", "ah": "Ah", "h": "h", "days": "d", "nights": "nights",
    "nights_year": "nights", "lolp": "-", "lolh": "h", "probability": "-", "cost": "currency", "w": "W", "v": "V",
    "a": "A", "c": "°C", "hours": "h", "deg": "°", "soc": "-", "year": "year",
}  # fmt: skip
BOUNDS = re.compile(r"(_mean|_year)?_(low|high)$|_p\d+$")


def unit_of(column):
    """Unit that a column's name ends in; empty where the name says none."""
    name = BOUNDS.sub("", column)
    return UNITS.get(name) or UNITS.get(name.rsplit("_", 1)[-1], "")


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
            front.write_string(at, 1, str(text)[:32_000])
        for name, table in tables.items():
            _sheet(book.add_worksheet(name[:31]), table.head(MOST_ROWS), about.currency, head, soft)
    return file.getvalue()


def _note(name, table):
    cut = f" Only the first {MOST_ROWS} of {len(table)} rows." if len(table) > MOST_ROWS else ""
    return NOTES.get(name, f"The table {name}.csv.") + cut


def _sheet(sheet, table, currency, head, soft):
    """Names, units, then rows; numbers as numbers, everything else as text."""
    import pandas as pd

    for at, column in enumerate(table.columns):
        unit = unit_of(str(column))
        sheet.write_string(0, at, str(column), head)
        sheet.write_string(1, at, currency if unit == "currency" else unit, soft)
        numeric = pd.api.types.is_numeric_dtype(table[column]) and not pd.api.types.is_bool_dtype(
            table[column]
        )
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
    """The workbook of all tables in a study's folder; bytes."""
    import pandas as pd

    from darkspell.proposal.results import read_table

    tables = {path.stem: read_table(path) for path in sorted(folder.glob("*.csv"))}
    kept = {name: table for name, table in tables.items() if isinstance(table, pd.DataFrame) and len(table)}
    return workbook(kept, study.study)
