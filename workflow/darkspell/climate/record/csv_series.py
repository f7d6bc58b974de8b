"""Read rows of a measured CSV series: named columns, times and numbers; errors name the row."""

import re
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace

import numpy as np

from darkspell.core.errors import StudyError
from darkspell.core.timestamps import read_epoch, read_times, time_cure

SEPARATORS = {",": ",", ";": ";", "tab": "\t", "blank": r"\s+"}
NOTHING = ("", "na", "n/a", "nan", "null", "none", "-", "--")
# Wh/m2 per unit, for an hourly and a daily value.
UNITS = {
    "W/m2": (1.0, 24.0),
    "Wh/m2": (1.0, 1.0),
    "kWh/m2": (1000.0, 1000.0),
    "J/cm2": (10000.0 / 3600.0, 10000.0 / 3600.0),
    "kJ/m2": (1.0 / 3.6, 1.0 / 3.6),
    "MJ/m2": (1000.0 / 3.6, 1000.0 / 3.6),
}
REMARK = "#"  # of rows that are none of the table
LABEL = re.compile(r"[A-Za-z_ ]{1,30}[=:]\s*")  # before the names in a row of remarks
SPARE = 8  # cells beyond the header's that a row may have before pandas gives up on it
MIDNIGHT = re.compile(r"\b24(?::00){0,2}$")


@dataclass(frozen=True)
class Rows:
    """Rows of a series in the order of the file.

    Parameters
    ----------
    name : str
        Name of the file.
    times : datetime64[s] array [rows]
        As in the file, or UTC where the times state their zone.
    utc : bool
        Whether the times state their zone.
    ghi : float64 array [rows]
        Global horizontal irradiation of the row's hour or day [Wh/m2]; NaN where empty.
    temps : dict of float64 arrays [rows]
        Air temperatures [degC] by key: "temp_column", "temp_min_column", "temp_max_column".
    number : int array [rows]
        Row of the file, from 1.
    wind : float64 array [rows], optional
        Wind speed [m/s].
    """

    name: str
    times: np.ndarray
    utc: bool
    ghi: np.ndarray
    temps: dict
    number: np.ndarray
    wind: np.ndarray | None = None


def read_rows(path, series):
    """Read a series.

    Parameters
    ----------
    path : path-like
    series : darkspell.study.climate.Series

    Returns
    -------
    Rows

    Raises
    ------
    StudyError
        With file, row, column and cure.
    """
    path = Path(path)
    columns = {
        key: getattr(series, key)
        for key in ("ghi_column", "temp_column", "temp_min_column", "temp_max_column", "wind_column")
    }
    columns = {key: name for key, name in columns.items() if name is not None}
    series, remarks = _without_remarks(path, series, [*series.time_columns, *columns.values()])
    columns = {key: _plain(name) for key, name in columns.items()}
    table = _table(path, series, remarks)
    wanted = [*series.time_columns, *columns.values()]
    _check_columns(path, table, wanted, series)
    number = np.arange(len(table) + len(remarks)) + series.header_row + 1
    number = np.setdiff1d(number, np.array(remarks, int) + 1)[: len(table)]
    filled = (table[wanted] != "").any(axis=1).to_numpy()
    table, number = table[filled], number[filled]
    if not len(table):
        raise StudyError(
            f"{path.name}: no row below its header in row {series.header_row}; check series.header_row"
        )
    times, utc = _times(path, table, number, series)
    numbers = {key: _numbers(path, table[name], name, number, series) for key, name in columns.items()}
    with np.errstate(over="ignore"):  # what becomes infinite is above what the sun can give
        ghi = numbers.pop("ghi_column") * UNITS[series.ghi_unit][series.step == "daily"]
    wind = numbers.pop("wind_column", None)
    temps = {key: _celsius(values, series) for key, values in numbers.items()}
    return Rows(path.name, times, utc, ghi, temps, number, wind)


def _without_remarks(path, series, wanted):
    """The series with the row of names, which may be one of remarks, and the indices of other remarks below it.

    A row that begins with # is a remark. Where the first row is one, the names are in that row of remarks which has
    all of them, else in the first row that is none.
    """
    with open(path, encoding=_encoding(path), errors="replace") as file:
        rows = {at: line for at, line in enumerate(file) if line.startswith(REMARK)}
    if not rows:
        return series, []
    header, names = series.header_row - 1, {_plain(name) for name in wanted}
    if header == 0 and header in rows:
        split = SEPARATORS[series.separator]
        held = (
            at
            for at, line in rows.items()
            if names <= {cell.strip().strip('"') for cell in re.split(split, _plain(line))}
        )
        header = next(held, next(at for at in range(len(rows) + 1) if at not in rows))
    times = [_plain(name) for name in series.time_columns]
    found = vars(series) | {"header_row": header + 1, "time_columns": times}
    return SimpleNamespace(**found), [at for at in rows if at > header]


def _plain(text):
    """Names without the mark of a remark and the label that may precede them."""
    return LABEL.sub("", text.lstrip(REMARK).strip(), count=1) if text.startswith(REMARK) else text


def _table(path, series, remarks):
    """All cells as text, under the names of the header row."""
    try:
        try:
            table = _cells(path, series, _encoding(path), remarks)
        except UnicodeDecodeError:
            table = _cells(path, series, "latin-1", remarks)
    except (ValueError, StopIteration) as error:  # pandas' own errors are ValueErrors too
        reason = str(error).removeprefix("Error tokenizing data. C error: ").strip() or "it is empty"
        raise StudyError(
            f"{path.name}: does not read as a table ({reason[:120]}); check series.separator and series.header_row, "
            "and give the file as text, not as a spreadsheet"
        ) from error
    table = table.fillna("").apply(lambda cells: cells.str.strip())
    names, table = table.iloc[0].tolist(), table.iloc[1:]
    names[0] = _plain(names[0])
    while names and names[-1] == "":
        names.pop()
    beyond = (table.iloc[:, len(names) :] != "").any(axis=1).to_numpy()
    if beyond.any():
        row = int(np.argmax(beyond)) + series.header_row + 1
        raise StudyError(
            f"{path.name}, row {row}: more cells than the {len(names)} names in row {series.header_row}; name every "
            "column, or check series.decimal and series.separator"
        )
    return table.iloc[:, : len(names)].set_axis(names, axis=1)


def _cells(path, series, encoding, remarks):
    """Cells of the file from its header row on; a few columns more than the header names."""
    import pandas as pd

    options = {
        "sep": SEPARATORS[series.separator],
        "header": None,
        "skiprows": [*range(series.header_row - 1), *remarks],
        "dtype": str,
        "keep_default_na": False,
        "skip_blank_lines": False,
        "index_col": False,
        "encoding": encoding,
        "engine": "python" if series.separator == "blank" else "c",
    }
    width = pd.read_csv(path, nrows=1, **options).shape[1]
    return pd.read_csv(path, names=range(width + SPARE), **options)


def _encoding(path):
    """UTF-16, as some spreadsheets write, or UTF-8; detected from the first bytes."""
    with open(path, "rb") as file:
        first = file.read(4)
    if first[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return "utf-16"
    little, big = first[1::2] == b"\0\0", first[::2] == b"\0\0"
    return "utf-16-le" if little else "utf-16-be" if big else "utf-8-sig"


def _check_columns(path, table, wanted, series):
    names = list(table.columns)
    twice = [name for name in wanted if names.count(name) > 1]
    if twice:
        raise StudyError(
            f"{path.name}, row {series.header_row}: names column {twice[0]} {names.count(twice[0])} times; rename one"
        )
    missing = [name for name in wanted if name not in names]
    if missing:
        from difflib import get_close_matches

        near = get_close_matches(missing[0], table.columns, n=1, cutoff=0.5)
        guess = f"did you mean {near[0]}? " if near else ""
        raise StudyError(
            f"{path.name}, row {series.header_row}: no column {missing[0]}; {guess}it names "
            f"{', '.join(table.columns[:12])}: check the column keys of climate.series, series.header_row and "
            "series.separator"
        )


def _times(path, table, number, series):
    """Times of the rows, and whether they state their zone."""
    words = table[series.time_columns[0]]
    for name in series.time_columns[1:]:
        words = words + " " + table[name]
    midnight = words.str.contains(MIDNIGHT) & (series.step == "hourly")
    words = words.where(~midnight, words.str.replace(MIDNIGHT, lambda at: "00" + at[0][2:], regex=True))
    columns = " and ".join(series.time_columns)
    try:
        if series.time_format == "seconds":
            times, offset = read_epoch(words), np.ones(len(words), bool)
        else:
            times, offset = read_times(words, series.time_format)
    except StudyError as fault:
        raise StudyError(f"climate.series.time_format: {fault}") from None
    bad = np.isnat(times)
    if bad.any():
        at = int(np.argmax(bad))
        cure = time_cure(words.iloc[at]) or 'give climate.series.time_format, such as "%d.%m.%Y %H:%M"'
        raise StudyError(
            f"{path.name}, row {number[at]}, column {columns}: "
            f'"{words.iloc[at][:40]}" does not read as {series.time_format or "an ISO 8601 time"}; {cure}'
        )
    if offset.any() and not offset.all():
        at = int(np.argmax(offset != offset[0]))
        raise StudyError(
            f"{path.name}, row {number[at]}, column {columns}: some times have an offset from UTC, others do not; "
            "export them alike"
        )
    shifted = times + 86400 * midnight.to_numpy().astype("timedelta64[s]")
    return shifted, bool(offset.all())


def _numbers(path, cells, column, number, series):
    import pandas as pd

    if series.decimal == ",":
        cells = cells.str.replace(",", ".", regex=False)
    values = pd.to_numeric(cells, errors="coerce").to_numpy(float)
    bad = ~np.isfinite(values) & ~cells.str.lower().isin(NOTHING).to_numpy()
    if bad.any():
        at = int(np.argmax(bad))
        raise StudyError(
            f'{path.name}, row {number[at]}, column {column}: "{cells.iloc[at][:40]}" is no number; '
            f"{int(bad.sum())} such rows: leave a cell empty where nothing was measured, or check series.decimal"
        )
    return np.where(np.isfinite(values), values, np.nan)


def _celsius(values, series):
    if series.temp_unit == "K":
        return values - 273.15
    return (values - 32.0) / 1.8 if series.temp_unit == "F" else values
