"""Which row of a log names its columns, and which names a row holds; some files have none."""

import re

from darkspell.log_analysis.timestamps import looks_like_time
from darkspell.study.log_format import KINDS

SEPARATORS = ",;\t|"
BLANK = " "
COMMENT = "#"
HEADER_REACH = 80  # rows
TIMES = ("timestamp", "datetime", "date_time")  # usual names of a time, besides time
# A table of a logger in the published form of four header rows: station, names, units, processing. The first cell
# says so.
TABLE = "TOA5"
LABEL = re.compile(r"[A-Za-z_ ]{1,30}[=:]\s*")  # before the names in a row of remarks
FIELDS = re.compile(r"#\s*(fields|columns|names)\s*[=:]", re.IGNORECASE)


def plain(line):
    """A row of names without the mark of a remark and the label that may precede them.

    Parameters
    ----------
    line : str
    """
    text = line.strip()
    if not text.startswith(COMMENT):
        return text
    return LABEL.sub("", text.lstrip(COMMENT).strip(), count=1)


def separator_of(line):
    """Separator of the columns in a row; blanks where it has no other.

    Parameters
    ----------
    line : str
    """
    best = max(SEPARATORS, key=line.count)
    return BLANK if not line.count(best) and len(line.split()) > 1 else best


def cells_of(line, separator):
    """Cells of a row, without quotation marks; list of str.

    Parameters
    ----------
    line, separator : str
    """
    parts = line.split() if separator == BLANK else line.split(separator)
    return [cell.strip().strip('"').strip() for cell in parts]


def wanted_names(log):
    """Names of columns that the study gives; set of str.

    Parameters
    ----------
    log : darkspell.study.log_format.Log
    """
    given = [getattr(log, f"{kind}_column") for kind in (*KINDS, "name", "value")]
    given += log.time_column if isinstance(log.time_column, list) else [log.time_column]
    return {plain(name) for name in given if name}


def by_position(log):
    """Whether the study gives columns by their positions, for a file without names.

    Parameters
    ----------
    log : darkspell.study.log_format.Log
    """
    return all(name.isdecimal() and 1 <= int(name) <= 1000 for name in wanted_names(log))


def header_at(lines, log):
    """Index of the row of names: the one with most of the wanted names.

    Parameters
    ----------
    lines : list of str
    log : darkspell.study.log_format.Log
    """
    if log.header_row is not None:
        return min(log.header_row, len(lines)) - 1
    if is_table(lines):
        return 1
    given, usual = wanted_names(log), {*KINDS, "time", "date", *TIMES}
    best, most = None, 0
    for at, line in enumerate(lines[:HEADER_REACH]):
        text = plain(line)
        cells = set(cells_of(text, separator_of(text)))
        score = 2 * len(cells & given) + len({cell.lower() for cell in cells} & usual)
        score += 3 if score and FIELDS.match(line.strip()) else 0
        if score > most:
            best, most = at, score
    if best is None:
        rest = (i for i, line in enumerate(lines) if line.strip() and not line.lstrip().startswith(COMMENT))
        best = next(rest, 0)
    return best


def is_table(lines):
    """Whether the rows are a table that begins with four header rows, by its first cell.

    Parameters
    ----------
    lines : list of str
    """
    return len(lines) > 1 and cells_of(lines[0], ",")[0] == TABLE


def has_values(names):
    """Whether a row is one of values and not of names.

    Parameters
    ----------
    names : list of str
    """
    values = sum(
        bool(re.fullmatch(r"[+-]?\d+([.,]\d*)?", name)) or looks_like_time(name) for name in names if name
    )
    return values > 0.5 * max(sum(bool(name) for name in names), 1)
