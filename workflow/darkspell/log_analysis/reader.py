"""Rows of a log: a CSV whose columns the study names, read in blocks, told by row what cannot be read."""

import io
import re
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from darkspell.core.errors import StudyError
from darkspell.log_analysis.timestamps import first_column_stamps
from darkspell.study.errors import shown

BLOCK = 32_000_000  # bytes
KINDS = ("soc", "current", "voltage", "power", "temperature")
NOTHING = ("", "na", "NA", "n/a", "N/A", "nan", "NaN", "null", "NULL", "none", "None", "-", "--")
SEPARATORS = ",;\t"
FACTORS = {"mA": 1e-3, "mV": 1e-3, "kW": 1e3}


@dataclass(frozen=True)
class Rows:
    """Rows of a log in order of time.

    Parameters
    ----------
    name : str
        Of the file.
    seconds : float64 array [n]
        Local standard time, seconds since 1970, rising.
    values : dict of float64 arrays [n]
        By `KINDS`, those that the log has: fraction, A (charging positive), V, W, degC; NaN where nothing stands.
    notes : list of str
        What was found and done on the way, in sentences.
    """

    name: str
    seconds: np.ndarray
    values: dict
    notes: list = field(default_factory=list)


def read_log(path, log, utc_offset):
    """Read a log.

    Parameters
    ----------
    path : path-like
    log : darkspell.study.log_format.Log
    utc_offset : float
        Local standard time of the site less UTC [h].

    Returns
    -------
    Rows

    Raises
    ------
    StudyError
        Naming file, row, column and cure.
    """
    path = Path(path)
    if not path.is_file():
        raise StudyError(f"{path}: no such file; give the log as a CSV")
    with path.open("rb") as file:
        header, mark = _header(path, file)
        columns = _columns(path, header, log)
        times, parts, row = [], [], 2
        for block in _blocks(file):
            stamps, values = _block(path, block, header, mark, columns, log, row)
            times.append(stamps)
            parts.append(values)
            row += stamps.size
    if not times or sum(part.size for part in times) < 2:
        count = sum(part.size for part in times)
        raise StudyError(
            f"{path.name}: holds {count or 'no'} row{'s' * (count != 1)} below its header; a log needs days"
        )
    seconds = np.concatenate(times)
    values = {kind: np.concatenate([part[kind] for part in parts]) for kind in columns if kind != "time"}
    notes = []
    values = _units(path, values, log, notes)
    seconds, values = _in_order(path, *_local(seconds, values, log, utc_offset, notes), notes)
    return Rows(path.name, seconds, values, notes)


def _header(path, file):
    """Names of the columns, and separator and decimal mark."""
    line = file.readline(100_000)
    if not line.strip():
        raise StudyError(f"{path.name}: is empty; give a CSV whose first row names the columns")
    text = _text(path, line).lstrip("\ufeff").strip()
    separator = max(SEPARATORS, key=text.count)
    names = [name.strip().strip('"').strip() for name in text.split(separator)]
    place = file.tell()
    sample = [_text(path, file.readline(100_000)).strip() for _ in range(20)]
    file.seek(place)
    cells = [line.split(separator) for line in sample if line]
    if separator == "," and cells and all(len(row) > len(names) for row in cells):
        raise StudyError(
            f"{path.name}, row 2: {len(cells[0])} cells below {len(names)} names; if the numbers carry a decimal "
            "comma, the columns must be parted by semicolons: export it so"
        )
    comma = separator != "," and any(
        re.fullmatch(r'"?\s*[+-]?\d+,\d+\s*"?', cell) for row in cells for cell in row
    )
    return names, (separator, "," if comma else ".")


def _text(path, line):
    if b"\x00" in line:
        raise StudyError(f"{path.name}: is no text in UTF-8; export it as CSV, UTF-8")
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError:
        return line.decode("latin-1")


def _columns(path, names, log):
    """Column of each kind, by the study or by its usual name."""
    out, lower = {}, [name.lower() for name in names]
    for kind in ("time", *KINDS):
        wanted = getattr(log, f"{kind}_column")
        if wanted is None and kind in lower:
            wanted = names[lower.index(kind)]
        if wanted is None:
            continue
        if wanted not in names:
            have = ", ".join(shown(name) for name in names[:12])
            raise StudyError(
                f"{path.name}: has no column {shown(wanted)}; it has {have}: set log.{kind}_column"
            )
        if names.count(wanted) > 1:
            raise StudyError(f"{path.name}: names column {shown(wanted)} twice; rename one")
        out[kind] = wanted
    if not set(out) & {"soc", "current", "voltage", "power"}:
        raise StudyError(
            f"{path.name}: none of its columns ({', '.join(shown(name) for name in names[:12])}) is known "
            "as state of charge, current, voltage or power; name them in the study under log:"
        )
    return out


def _blocks(file):
    """Blocks of whole lines."""
    rest = b""
    while True:
        block = file.read(BLOCK)
        if not block:
            break
        cut = block.rfind(b"\n") + 1
        if cut == 0:
            rest += block
            continue
        yield rest + block[:cut]
        rest = block[cut:]
    if rest.strip():
        yield rest


def _block(path, block, names, mark, columns, log, row):
    """Stamps [s] and values of one block of lines."""
    import pandas as pd

    separator, decimal = mark
    quick = log.time_format is None and names[0] == columns["time"]
    stamps = first_column_stamps(block) if quick else None
    wanted = [name for kind, name in columns.items() if kind != "time" or stamps is None]
    at = [names.index(name) for name in wanted]
    how = dict(
        sep=separator, decimal=decimal, header=None, usecols=at, na_values=list(NOTHING), keep_default_na=False,
        skip_blank_lines=stamps is None, engine="c", encoding_errors="replace",
    )  # fmt: skip
    if "time" in columns and stamps is None:
        how["dtype"] = {names.index(columns["time"]): str}
    try:
        table = pd.read_csv(io.BytesIO(block), names=range(len(names)), index_col=False, **how)
    except (pd.errors.ParserError, pd.errors.EmptyDataError) as error:
        number = re.search(r"line (\d+)", str(error))
        where = f", row {row + int(number[1]) - 1}" if number else ""
        raise StudyError(
            f"{path.name}{where}: does not read as rows of {len(names)} cells; mend that row"
        ) from None
    values = {}
    for kind, name in columns.items():
        if kind != "time":
            values[kind] = _numbers(path, table[names.index(name)], name, row, decimal)
    if stamps is None:
        stamps = _stamps(path, table[names.index(columns["time"])], columns["time"], log, row)
    elif stamps.size != len(table):
        raise StudyError(
            f"{path.name}: some of rows {row} to {row + len(table)} are broken; export the log again"
        )
    return stamps, values


def _numbers(path, cells, name, row, decimal):
    import pandas as pd

    if pd.api.types.is_numeric_dtype(cells.dtype):
        return cells.to_numpy(float)
    numbers = pd.to_numeric(cells, errors="coerce")
    bad = numbers.isna() & cells.notna() & (cells.astype(str).str.strip() != "")
    if bad.any():
        first = int(np.argmax(bad.to_numpy()))
        text = str(cells.iloc[first])
        hint = (
            "; decimal commas and points are mixed" if re.fullmatch(r"[+-]?\d+[.,]\d+", text.strip()) else ""
        )
        raise StudyError(
            f"{path.name}, row {row + first}, column {shown(name)}: {shown(text)} is no number{hint}; "
            f"{_cells(bad)} in this part: correct them, or leave them empty"
        )
    return numbers.to_numpy(float)


def _stamps(path, cells, name, log, row):
    """Seconds since 1970: UTC if the texts carry offsets (marked by a fraction), else as they stand."""
    import pandas as pd

    texts = cells.fillna("").astype(str).str.strip()
    if log.time_format == "seconds":
        found = pd.to_datetime(pd.to_numeric(texts, errors="coerce"), unit="s", errors="coerce", utc=True)
        offset = np.ones(len(texts), bool)
    else:
        offset = texts.str.contains(r"\d\s?(?:Z|[+-]\d\d:?\d\d)$", regex=True).to_numpy(bool)
        form = log.time_format or "ISO8601"
        found = pd.to_datetime(texts, format=form, errors="coerce", utc=True)
    bad = found.isna().to_numpy()
    if bad.any():
        first = int(np.argmax(bad))
        raise StudyError(
            f"{path.name}, row {row + first}, column {shown(name)}: {shown(texts.iloc[first])} is no time"
            f"{'' if log.time_format else ' in ISO 8601'}; {_cells(bad)} in this part: correct "
            "them, or set log.time_format"
        )
    if offset.any() and not offset.all():
        first = int(np.argmax(offset != offset[0]))
        raise StudyError(
            f"{path.name}, row {row + first}: some times carry an offset from UTC, others do not; export them alike"
        )
    seconds = found.dt.as_unit("ns").astype("int64").to_numpy() / 1e9
    return np.floor(seconds) + (0.5 if offset.all() and offset.size else 0.0)


def _local(seconds, values, log, utc_offset, notes):
    """Seconds of local standard time; those that carried an offset are marked by half a second."""
    marked = seconds % 1 == 0.5
    seconds = np.floor(seconds)
    if marked.all():
        notes.append("Times carry their offset from UTC; they were brought to local standard time.")
        return seconds + 3600.0 * utc_offset, values
    if log.time_zone is None:
        return seconds.astype(float), values
    import pandas as pd

    parts = re.fullmatch(r"UTC(?:([+-])(\d{1,2})(?::(\d\d))?)?", log.time_zone)
    if parts:
        sign, hours, minutes = parts.groups()
        ahead = (int(hours or 0) * 3600 + int(minutes or 0) * 60) * (-1 if sign == "-" else 1)
        return seconds - ahead + 3600.0 * utc_offset, values
    index = pd.DatetimeIndex(seconds.astype("int64").astype("datetime64[s]"))
    # Within the hour that comes twice, a step back marks the change to standard time.
    back = np.concatenate([[False], np.diff(seconds) < 0])
    summer = ~(np.cumsum(back) > 0)
    utc = index.tz_localize(log.time_zone, ambiguous=summer, nonexistent="shift_forward").tz_convert("UTC")
    notes.append(f"Times were brought from {log.time_zone} to local standard time, summer time included.")
    return utc.as_unit("s").asi8 + 3600.0 * utc_offset, values


def _in_order(path, seconds, values, notes):
    """Rising times, one row each; what was turned, moved or dropped is noted."""
    steps = np.diff(seconds)
    if (steps <= 0).all() and (steps < 0).any():
        notes.append("The newest row stood first; the log was turned round.")
        seconds, values = seconds[::-1], {kind: part[::-1] for kind, part in values.items()}
        steps = np.diff(seconds)
    back = np.flatnonzero(steps < 0)
    if back.size > max(20, seconds.size // 1000):
        raise StudyError(
            f"{path.name}, row {back[0] + 3}: times go back in {back.size} places; sort the log, or export it again"
        )
    for at in back[:5]:
        notes.append(
            f"The clock went back by {_length(-steps[at])} at {stamp(seconds[at])}; rows were put in order of time."
        )
    if back.size:
        order = np.argsort(seconds, kind="stable")
        seconds, values = seconds[order], {kind: part[order] for kind, part in values.items()}
    twice = np.concatenate([[False], np.diff(seconds) == 0])
    if twice.any():
        again = int(twice.sum())
        notes.append(
            f"{_counted(again, 'row')} repeat{'s' * (again == 1)} the time of the row before; the first was kept."
        )
        seconds, values = seconds[~twice], {kind: part[~twice] for kind, part in values.items()}
    return seconds, values


def _units(path, values, log, notes):
    """Values in the units of the room, what cannot be set aside."""
    out = {}
    sign = 1.0 if log.charging == "positive" else -1.0
    for kind, part in values.items():
        unit = getattr(log, f"{kind}_unit")
        part = part * FACTORS.get(unit, 1.0)
        if kind == "soc":
            top = np.nanmax(part, initial=0.0)
            unit = unit or ("fraction" if top <= 1.0 else "%")
            part = part / 100.0 if unit == "%" else part
            if np.nanmax(part, initial=0.0) > 1.05:
                raise StudyError(
                    f"{path.name}: state of charge up to {top:g}; set log.soc_unit to % or fraction"
                )
        elif kind == "temperature":
            part = part - 273.15 if unit == "K" else (part - 32.0) / 1.8 if unit == "F" else part
        elif kind in ("current", "power"):
            part = sign * part
        out[kind] = part
        missing = int(np.isnan(part).sum())
        if missing:
            notes.append(f"{_counted(missing, 'cell')} of {kind} hold{'s' * (missing == 1)} nothing.")
    return out


def stamp(seconds):
    """A time of the log, to the minute."""
    return str(np.datetime64(int(seconds), "s"))[:16].replace("T", " ")


def _length(seconds):
    return f"{seconds / 3600:.3g} h" if seconds >= 3600 else f"{seconds / 60:.3g} min"


def _cells(bad):
    return _counted(int(bad.sum()), "such cell")


def _counted(count, what):
    return f"{count} {what}{'' if count == 1 else 's'}"
