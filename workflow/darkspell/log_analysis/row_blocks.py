"""Blocks of a log's lines, and the times and values that they hold; what is set aside is counted."""

import io
import re

import numpy as np

from darkspell.core.errors import StudyError
from darkspell.log_analysis.cells import numbers
from darkspell.log_analysis.header import BLANK, COMMENT
from darkspell.log_analysis.layout import HEAD_BYTES
from darkspell.log_analysis.timestamps import first_column_stamps, parsed_times
from darkspell.study.log_format import KINDS

BLOCK = 32_000_000  # bytes
SMALL = ("mA", "mV")
MOST_CUT = 0.05  # share of rows cut off within quotation marks, beyond which the log is refused


def blocks(path, layout):
    """Blocks of whole lines from the first row of values on, in UTF-8 or a superset of ASCII; bytes.

    Parameters
    ----------
    path : pathlib.Path
    layout : darkspell.log_analysis.layout.Layout
    """
    with path.open("rb") as file:
        if layout.encoding.startswith("utf-16"):
            text = file.read().decode(layout.encoding, errors="replace").lstrip("\ufeff")
            lines = text.splitlines(keepends=True)[layout.first_row - 1 :]
            yield "".join(lines).replace("\r\n", "\n").encode("utf-8")
            return
        if b"\n" not in file.read(HEAD_BYTES):  # lines end with a carriage return alone
            file.seek(0)
            lines = file.read().replace(b"\r", b"\n").splitlines(keepends=True)
            yield b"".join(lines[layout.first_row - 1 :])
            return
        file.seek(0)
        for _ in range(layout.first_row - 1):
            file.readline()
        rest = b""
        while block := file.read(BLOCK):
            cut = block.rfind(b"\n") + 1
            if cut == 0:
                rest += block
                continue
            yield rest + block[:cut]
            rest = block[cut:]
        if rest.strip():
            yield rest


def block_values(path, block, layout, log, row, counts, utc, forms):
    """Seconds and values of one block of lines, and the number of its lines.

    Parameters
    ----------
    path : pathlib.Path
    block : bytes
        Whole lines.
    layout : darkspell.log_analysis.layout.Layout
    log : darkspell.study.log_format.Log
    row : int
        Row of the file of its first line, counted from 1.
    counts : dict
        What is set aside is added.
    utc, forms : sets
        Whether times are UTC, and their form; added to.
    """
    names, columns = layout.names, layout.columns
    lines = block.count(b"\n") + (not block.endswith(b"\n"))
    time = columns["time"]
    quick = (
        log.time_format is None and time == [names[0]] and "name" not in columns and not _open_quotes(block)
    )
    stamps = first_column_stamps(block) if quick else None
    wanted = [name for kind, part in columns.items() for name in part if kind != "time" or stamps is None]
    table, number = _table(path, block, layout, wanted, stamps is None, row, counts)
    if table is None:
        return None, lines

    def rows(at):
        return int(number[at])

    if stamps is None:
        texts = table[names.index(time[0])].fillna("").astype(str).str.strip()
        if len(time) > 1:
            texts = _filled_down(texts, counts)
        for name in time[1:]:
            texts = texts + " " + table[names.index(name)].fillna("").astype(str).str.strip()
        seconds, is_utc, form = parsed_times(path, texts.str.strip(), " and ".join(time), log, rows)
        utc.add(is_utc)
        forms.add(form)
    else:
        if stamps.size != len(table):
            raise StudyError(
                f"{path.name}: some of rows {row} to {row + len(table)} are broken; export the log again"
            )
        seconds = stamps.astype(float)
        utc.add(False)
    values = {}
    if "name" in columns:
        values = _long_values(path, table, layout, log, rows, counts)
    else:
        for kind in columns.keys() - {"time"}:
            name = columns[kind][0]
            values[kind] = _column(path, table[names.index(name)], name, kind, layout, log, rows, counts)
    with np.errstate(invalid="ignore"):
        known = (seconds >= 0.0) & (seconds < 1e10)
    _count(counts, "without a readable time", int((~known).sum()))
    return (seconds[known], {kind: part[known] for kind, part in values.items()}), lines


def _filled_down(texts, counts):
    """Dates of rows that leave them empty, as merged cells do: that of the row above."""
    empty = texts == ""
    if empty.any() and not empty.iloc[0]:
        _count(counts, "filled", int(empty.sum()))
        texts = texts.mask(empty).ffill()
    return texts


def _open_quotes(block):
    """Whether a line of a block opens a quotation mark that it does not close."""
    return b'"' in block and any(line.count(b'"') % 2 for line in block.splitlines())


def _without_open_quotes(path, lines, kept, row, counts):
    """Lines without those that were cut off within quotation marks; they are counted and named."""
    cut = [at for at in kept if lines[at].count(b'"') % 2]
    if not cut:
        return kept
    count, first = len(cut), row + cut[0]
    if count > max(1, MOST_CUT * len(kept)):
        raise StudyError(
            f"{path.name}, row {first}: a quotation mark opens and does not close in its row; {count} such rows: "
            "correct them, or export the log without quotation marks"
        )
    _count(counts, f"cut off within quotation marks (row {first}{' and later' if count > 1 else ''})", count)
    return [at for at in kept if lines[at].count(b'"') % 2 == 0]


def _column(path, cells, name, kind, layout, log, rows, counts):
    small = getattr(log, f"{unit_kind(kind)}_unit", None) in SMALL
    values, aside = numbers(path, cells, name, rows, layout.decimal, log, small)
    for what, count in aside.items():
        _count(counts, (kind, what), count)
    return values


def unit_kind(kind):
    """Kind whose unit a column has: charge and load currents have that of the current.

    Parameters
    ----------
    kind : str
    """
    return "current" if kind in ("charge_current", "load_current") else kind


def _long_values(path, table, layout, log, rows, counts):
    """Values of rows that hold one value each, named by a column; NaN in the other kinds."""
    names = layout.names
    label = table[names.index(layout.columns["name"][0])].fillna("").astype(str).str.strip()
    cells = table[names.index(layout.columns["value"][0])]
    wanted = {(getattr(log, f"{kind}_column") or kind).lower(): kind for kind in KINDS}
    kinds = label.str.lower().map(wanted)
    use = kinds.notna().to_numpy()
    _count(counts, "with a value that is not read", int((~use).sum()))
    if not use.any():
        have = ", ".join(sorted(set(label))[:12])
        raise StudyError(
            f"{path.name}: none of its values ({have}) is known; name them in the study under log:"
        )
    values = {kind: np.full(len(table), np.nan) for kind in sorted(set(kinds.dropna()))}
    for kind, out in values.items():
        at = np.flatnonzero((kinds == kind).to_numpy())
        out[at] = _column(path, cells.iloc[at], kind, kind, layout, log, lambda i, at=at: rows(at[i]), counts)
    return values


def _table(path, block, layout, wanted, check, row, counts):
    """Cells of a block, and the row of the file of each line; comments and repeated headers dropped.

    `check` is False where every line is known to begin with a time: then no line is anything else.
    """
    import pandas as pd

    number = None
    if check:
        lines = block.splitlines()
        kept = [
            at
            for at, line in enumerate(lines)
            if line.strip() and not line.lstrip().startswith(COMMENT.encode())
        ]
        _count(counts, "beginning with #", sum(line.lstrip().startswith(COMMENT.encode()) for line in lines))
        kept = _without_open_quotes(path, lines, kept, row, counts)
        if not kept:
            return None, None
        if len(kept) < len(lines):
            block = b"\n".join(lines[at] for at in kept) + b"\n"
        number = np.array(kept) + row
    names = layout.names
    at = sorted({names.index(name) for name in wanted})
    how = dict(
        sep=r"\s+" if layout.separator == BLANK else layout.separator, decimal=layout.decimal, header=None,
        usecols=at, keep_default_na=False, na_values=[""], skip_blank_lines=False, engine="c", index_col=False,
        names=range(len(names)), low_memory=False, encoding="latin-1" if layout.encoding == "latin-1" else "utf-8",
        encoding_errors="replace",
    )  # fmt: skip
    if check:
        how["dtype"] = {names.index(name): str for name in layout.columns["time"]}
    try:
        table = pd.read_csv(io.BytesIO(block), **how)
    except (pd.errors.ParserError, pd.errors.EmptyDataError) as error:
        found = re.search(r"(?:line|row) (\d+)", str(error))
        at = int(found[1]) - 1 if found else -1
        where = f", row {number[at] if number is not None else row + at}" if found else ""
        raise StudyError(
            f"{path.name}{where}: does not read as rows of {len(names)} cells; correct that row"
        ) from None
    if number is None:
        number = np.arange(len(table)) + row
    elif number.size != len(table):
        raise StudyError(
            f"{path.name}: in rows {row} to {row + len(lines) - 1} a quotation mark opens and does not close in its "
            "row; correct it, or export the log without quotation marks"
        )
    if check:
        first = names.index(layout.columns["time"][0])
        again = table[first].fillna("").str.strip().str.strip('"') == names[first]
        if again.any():
            _count(counts, "repeating the header", int(again.sum()))
            keep = ~again.to_numpy()
            table, number = table[keep].reset_index(drop=True), number[keep]
            for column in table.columns:
                if table[column].dtype == object and column not in [
                    names.index(n) for n in layout.columns["time"]
                ]:
                    plain = pd.to_numeric(table[column], errors="coerce")
                    if not (plain.isna() & table[column].notna()).any():
                        table[column] = plain
    return (table, number) if len(table) else (None, None)


def _count(counts, what, number):
    counts[what] = counts.get(what, 0) + number
