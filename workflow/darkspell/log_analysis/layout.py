"""How the rows of a log's file are laid out: encoding, separator, decimal mark, header, rows to skip."""

import re
from dataclasses import dataclass

from darkspell.core.errors import StudyError
from darkspell.log_analysis.column_guesses import guess_of, guess_of_time
from darkspell.log_analysis.header import (
    BLANK,
    COMMENT,
    TIMES,
    by_position,
    cells_of,
    has_values,
    header_at,
    is_table,
    plain,
    separator_of,
)
from darkspell.log_analysis.intervals import MEANING
from darkspell.log_analysis.timestamps import looks_like_time
from darkspell.study.errors import shown
from darkspell.study.log_format import KINDS

UNIT_ROWS = 6  # at most, below the header
HEAD_BYTES = 200_000
MARKS = {b"\xff\xfe": "utf-16-le", b"\xfe\xff": "utf-16-be", b"\xef\xbb\xbf": "utf-8"}


@dataclass(frozen=True)
class Layout:
    """Layout of one file.

    Parameters
    ----------
    encoding : str
    names : list of str
        Columns in the order of the file.
    separator, decimal : str
    header_row : int
        Row of the names, counted from 1; 0 where the file has none.
    first_row : int
        First row of values, counted from 1.
    columns : dict of str to list of str
        Columns of ``time`` (several where date and time stand apart), of each kind of value, and of ``name`` and
        ``value`` where a row holds one value.
    below : dict of str to list of str
        Cells between header and values (units, processing) by column.
    table : bool
        Whether the file is a logger's table of four header rows.
    moment : str
        What a row of remarks says that the time of a row means; empty if none does.
    notes : list of str
    """

    encoding: str
    names: list
    separator: str
    decimal: str
    header_row: int
    first_row: int
    columns: dict
    below: dict
    table: bool
    moment: str
    notes: list


def layout_of(path, head, log):
    """Layout of a file from its first bytes; `Layout`.

    Parameters
    ----------
    path : pathlib.Path
    head : bytes
    log : darkspell.study.log_format.Log

    Raises
    ------
    StudyError
        If no header with a time and a value is there.
    """
    encoding = encoding_of(path, head)
    text = head.decode(encoding, errors="replace").lstrip("\ufeff")
    lines = text.splitlines()
    if len(head) == HEAD_BYTES and lines:
        lines = lines[:-1]
    if not any(line.strip() for line in lines):
        raise StudyError(f"{path.name}: is empty; give a CSV whose first row names the columns")
    if by_position(log):
        at, (separator, names) = -1, _unnamed(lines)
    else:
        at = header_at(lines, log)
        separator = separator_of(plain(lines[at]))
        names = cells_of(plain(lines[at]), separator)
    columns = columns_of(path, names, log)
    first, skipped = _first_row(lines, at, separator, names, columns, log)
    sample = [cells_of(line, separator) for line in lines[first : first + 20] if _has_values(line)]
    _check_widths(path, sample, first, separator, names)
    comma = separator != "," and any(
        re.fullmatch(r'"?\s*\(?[+\-\u2212]?\d{1,3}(?:\.?\d{3})*\d*,\d+\s*\D{0,3}"?', cell)
        for row in sample
        for cell in row
    )
    notes = []
    if at > 0:
        notes.append(f"{_rows(at)} above the header {'was' if at == 1 else 'were'} skipped.")
    if skipped:
        notes.append(
            f"{_rows(skipped)} between header and values {'was' if skipped == 1 else 'were'} skipped."
        )
    below = [cells_of(line, separator) for line in lines[at + 1 : at + 1 + skipped]] if at >= 0 else []
    below = {name: [row[i] for row in below if i < len(row)] for i, name in enumerate(names)}
    mark = "," if comma else "."
    return Layout(
        encoding,
        names,
        separator,
        mark,
        at + 1,
        first + 1,
        columns,
        below,
        is_table(lines),
        _moment(lines[:first]),
        notes,
    )


def _moment(head):
    """Moment of the interval by which rows are named, as a remark of the header says; empty if none does."""
    found = next((found for line in head if (found := MEANING.search(line))), None)
    return "" if not found else {"begin": "beginning"}.get(found[1].lower(), found[1].lower())


def _has_values(line):
    return bool(line.strip()) and not line.lstrip().startswith(COMMENT)


def _unnamed(lines):
    """Separator of rows without names, and the positions of their cells as names."""
    rows = [line for line in lines if _has_values(line)]
    separator = separator_of(rows[0] if rows else "")
    width = max((len(cells_of(line, separator)) for line in rows), default=1)
    return separator, [str(i + 1) for i in range(width)]


def _check_widths(path, sample, first, separator, names):
    """Refuse rows that all have more cells than there are names."""
    if not sample or not all(len(row) > len(names) for row in sample):
        return
    text = f"{path.name}, row {first + 1}: {len(sample[0])} cells below {len(names)} names; "
    if separator == ",":
        raise StudyError(
            f"{text}if the numbers carry a decimal comma, the columns must be separated by semicolons: export it so"
        )
    if separator == BLANK:
        raise StudyError(
            f"{text}between blanks date and time are two columns: name both in the header, or give the columns by "
            'their positions, such as log.time_column: ["1", "2"]'
        )


def encoding_of(path, head):
    """Encoding of a text by its first bytes; raises `StudyError` where they are no text.

    Parameters
    ----------
    path : pathlib.Path
    head : bytes
        The beginning of the file.
    """
    for mark, name in MARKS.items():
        if head.startswith(mark):
            return name
    sample = head[:2000]
    if b"\x00" in sample:
        zeros = sample[0::2].count(0), sample[1::2].count(0)
        half = len(sample) // 2
        if half > 8 and max(zeros) > 0.7 * half and min(zeros) < 0.1 * half:
            return "utf-16-be" if zeros[0] > zeros[1] else "utf-16-le"
        raise StudyError(f"{path.name}: is not a text file; export it as CSV, UTF-8")
    try:
        head.decode("utf-8")
    except UnicodeDecodeError as error:
        if error.start < len(head) - 4:
            return "latin-1"
    return "utf-8"


def _rows(count):
    return f"{count} row{'' if count == 1 else 's'}"


def columns_of(path, names, log):
    """Columns of each kind, by the study or by their usual names; dict of lists.

    Parameters
    ----------
    path : pathlib.Path
    names : list of str
        Names in the header.
    log : study model
        The study's keys of the log.
    """
    lower = [name.lower() for name in names]
    out = {"time": _time_columns(path, names, lower, log)}
    if log.name_column is not None:
        return {**out, "name": [_named(path, names, log.name_column, "name")],
                "value": [_named(path, names, log.value_column, "value")]}  # fmt: skip
    for kind in KINDS:
        wanted = getattr(log, f"{kind}_column")
        if wanted is not None:
            out[kind] = [_named(path, names, wanted, kind)]
        elif kind in lower:
            out[kind] = [_named(path, names, names[lower.index(kind)], kind)]
    if len(out) == 1 or set(out) == {"time", "temperature"}:
        raise StudyError(
            f"{path.name}: none of its columns ({_listed(names)}) is known as state of charge, current, voltage or "
            f"power; name them in the study under log:{guess_of(names)}"
        )
    return out


def _time_columns(path, names, lower, log):
    wanted = log.time_column
    if isinstance(wanted, list):
        return [_named(path, names, name, "time") for name in wanted]
    if wanted == "time" and "date" in lower and "time" in lower:
        return [names[lower.index("date")], names[lower.index("time")]]
    if wanted == "time" and "time" in lower:
        return [_named(path, names, names[lower.index("time")], "time")]
    if wanted == "time":
        usual = [name for name in names if name.lower() in TIMES]
        if len(usual) == 1:
            return usual
    return [_named(path, names, wanted, "time")]


def _named(path, names, wanted, kind):
    wanted = wanted if wanted in names else plain(wanted)
    if wanted not in names and names[0] == "1" and names[-1] == str(len(names)):
        raise StudyError(f"{path.name}: has no column {shown(wanted)}; its rows have {len(names)} cells")
    if wanted not in names and has_values(names):
        raise StudyError(
            f"{path.name}: has no column {shown(wanted)}, and no row of names; give the columns by their positions, "
            'such as log.time_column: "1" and log.voltage_column: "2"'
        )
    if wanted not in names:
        guess = guess_of_time(names) if kind == "time" else ""
        raise StudyError(
            f"{path.name}: has no column {shown(wanted)}; it has {_listed(names)}: set log.{kind}_column{guess}"
        )
    if names.count(wanted) > 1:
        raise StudyError(f"{path.name}: names column {shown(wanted)} twice; rename one")
    return wanted


def _listed(names):
    return ", ".join(shown(name) for name in names[:12])


def _first_row(lines, header, separator, names, columns, log):
    """Index of the first row of values, and how many rows between it and the header are none."""
    if log.skip_rows is not None:
        return header + 1 + log.skip_rows, log.skip_rows
    at = [names.index(name) for name in columns["time"]]
    skipped, remarks = 0, 0
    for row in range(header + 1, len(lines)):
        if not _has_values(lines[row]):
            remarks += 1
            continue
        cells = cells_of(lines[row], separator)
        if len(cells) > max(at) and looks_like_time(" ".join(cells[i] for i in at), log.time_format):
            return (row, skipped + remarks) if skipped else (header + 1, 0)
        skipped += 1
        if skipped > UNIT_ROWS:
            break
    return header + 1, 0
