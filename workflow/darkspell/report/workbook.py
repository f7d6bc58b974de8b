"""The tables of a study as one workbook: units under the names, notes in front; no cell is ever a formula."""

import re
from io import BytesIO

from darkspell.report.wording import given

MOST_ROWS = 50_000
NOTES = {
    "members": "One row a synthetic year. Years in one parameter draw share what is not known of climate and loads.",
    "months": "By calendar month over the years: mean with its 95 % interval, and percentiles of a single year.",
    "events": "Every run of hours with essential load unserved.",
    "autonomy": "Probability that no essential hour goes unserved within so many days from the month named.",
    "event_lengths": "Events a year by how long they last, and the share of years that have any.",
    "recovery": "Days until the bank is full again, by starting month: from empty, and after the deep dawns and "
    "cut-offs that came.",
    "monitors": "How each monitor errs: mean with its 95 % interval, and what eight years of ten bring.",
    "sizing": "Every design compared: _low and _high bound the mean (95 %), _year_low and _year_high hold eight "
    "years of ten.",
    "whatifs": "Difference of each change from the study, on the same draws, with its 95 % interval.",
    "energy_sources": "What every array and charger offered, and what was taken of it.",
    "saving": "The year as it is and with people who save while the monitor reads low, on the same years.",
    "ageing": "The target with the bank new, in mid-life and worn, and after how many years.",
    "remedies": "What would help, what it costs, and what 100 of the currency buy of it.",
    "disconnects": "The year without a cut-out, with one by the true charge, and with one by the reading.",
    "catalogue_designs": "Whole pieces that reach every target, a row a design and target, and their neighbours.",
    "uncertainty": "What the long-run average of this site may be (95 %), and what its variance comes from.",
    "monitor_error_percentiles": "Reading minus true charge of each monitor, by month and days since a full charge.",
    "expected_year": "What an ordinary year looks like in the bank and on the monitor.",
    "monitor_kinds": "A shunt, a gauge and batteries' electronics on the same years.",
    "unattended": "Probability that nothing goes dark within so many days from the first of the month named.",
    "sensitivity": "The inputs, by how far each moves the answer over its range.",
    "monitor_settings": "How to set the monitor, why, and what a common wrong value does.",
    "snow": "What snow takes from each array by month: the same years with and without it.",
}
# Columns whose name says no unit, and that are the same in every table.
PLAIN = {
    "n": "years", "years": "years", "member": "number", "parameter_draw": "number", "month": "1 to 12",
    "start_month": "1 to 12", "worst_month": "1 to 12", "start_day": "of the month", "start_hour": "of the day",
    "level": "share", "is_share_of_years": "%", "modules": "pieces", "blocks": "pieces",
    "not_evaluated": "designs", "snowfalls": "a month", "events": "a year", "full_charges": "a year",
    "full_charges_reported": "a year", "equivalent_full_cycles": "a year", "equalisations": "a year",
    "generator_starts": "a year",
}  # fmt: skip
# Columns that take their unit from the table.
OWN = {
    "autonomy": {"low": "-", "high": "-"},
    "unattended": {"low": "-", "high": "-"},
    "monitor_error_percentiles": dict.fromkeys(("p5", "p10", "p25", "p50", "p75", "p90", "p95"), "points"),
    "event_lengths": {"years_low": "%", "years_high": "%"},
    "recovery": {"years_low": "%", "years_high": "%"},
    "energy_sources": {"taken_low": "kWh", "taken_high": "kWh"},
    "monitor_settings": {"error_fitted": "points", "error_wrong": "points", "missed_warning_fitted_h": "h",
    "missed_warning_wrong_h": "h",
                 "error_increase_points": "points", "error_increase_low": "points", "error_increase_high": "points"},
    "uncertainty": {f"{who}_share_{what}": "share" for who in ("place", "year")
              for what in ("sampling", "climate", "loads", "weather")},
    "remedies": {"saved_per_100": "for 100 of the currency"},
    "sensitivity": {"from": "of the key", "to": "of the key"},
}  # fmt: skip
# Ending of a column's name, without bounds: its unit.
UNITS = {
    "pct": "%", "kwh": "kWh", "wh": "Wh", "wp": "Wp", "ah": "Ah", "h": "h", "days": "d", "nights": "nights",
    "nights_year": "nights", "lolp": "-", "lolh": "h", "probability": "-", "cost": "currency", "w": "W", "v": "V",
    "a": "A", "c": "°C", "hours": "h", "deg": "°", "l": "l", "soc": "-", "year": "year",
}  # fmt: skip
BOUNDS = re.compile(r"(_mean|_year)?_(low|high)$|_p\d+$")


def unit_of(column, table="", beside=()):
    """Unit of a column.

    Parameters
    ----------
    column, table : str
    beside : iterable of str
        Columns of the table: a row's own ``unit``, or its ``statistic``, says it where the name does not.

    Returns
    -------
    str
        Empty where nothing says it.
    """
    own, name = OWN.get(table, {}), BOUNDS.sub("", column)
    for key in (column, name):
        if key in own or key in PLAIN:
            return own.get(key) or PLAIN[key]
    said = UNITS.get(name) or UNITS.get(name.rsplit("_", 1)[-1], "")
    row = next((f"see {word}" for word in ("unit", "statistic") if word in beside), "")
    return said or row


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
    return NOTES.get(name, f"The table {name}.csv.") + cut


def _sheet(sheet, name, table, currency, head, soft):
    """Names, units, then rows; numbers as numbers, everything else as text."""
    import pandas as pd

    for at, column in enumerate(table.columns):
        kind = pd.api.types
        numeric = kind.is_numeric_dtype(table[column]) and not kind.is_bool_dtype(table[column])
        unit = unit_of(str(column), name, table.columns) if numeric else ""
        sheet.write_string(0, at, str(column), head)
        sheet.write_string(1, at, currency if unit == "currency" else unit, soft)
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
