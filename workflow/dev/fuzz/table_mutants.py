"""Mutants of tables of text: what spreadsheets, exports and broken disks do to a weather file or a log."""

from dataclasses import dataclass, field

from dev.fuzz.values import EXTREMES, HOSTILE_NAMES, TEXTS, misspelt, spoilt_bytes

TIMES = (
    "1600-01-01 00:00", "2300-01-01 00:00", "0000-00-00 00:00", "9999-12-31 23:00", "2025-02-29 12:00",
    "2025-13-01 00:00", "2025-03-30 02:30", "2025-10-26 02:30", "2025-01-01 24:00", "2025-01-01 25:00",
    "2025-01-01T00:00:00Z", "2025-01-01T00:00:00+01:00", "2025-06-01T00:00:00+02:00", "1735689600",
    "1735689600000", "1735689600.5", "45658", "01.02.2025 00:00", "2/1/25 12:00 AM", "2025-01-01 00:00:00.123456",
    "2025-W01-1", "20250101T0000", "now", "1e400", "-1", "12.5",
)  # fmt: skip
FORMATS = (
    "%Y-%m-%q", "%Y-%m-%d %H:%M", "%d.%m.%Y %H:%M", "%Y %j", "%", "%%", "%Y", "%H:%M", "%Y-%m-%d %H:%M:%S%z",
    "seconds", "%s", "{}", "%Q%Q", "%Y-%Y", "%y%m%d", "ISO8601", "mixed", "%-d", "%c", "%Z",
)  # fmt: skip
ZONES = ("UTC", "UTC+1", "UTC+25", "UTC-99:30", "Europe/Vienna", "America/St_Johns", "CET", "nowhere", "")


@dataclass
class Table:
    """A table as its cells.

    Parameters
    ----------
    names : list of str
        Of the columns.
    rows : list of list of str
    separator : str
    before : list of str
        Lines above the names.
    done : list of str
        Names of the mutations so far.
    """

    names: list
    rows: list
    separator: str = ","
    before: list = field(default_factory=list)
    done: list = field(default_factory=list)

    def text(self):
        """The table as one text."""
        lines = (*self.before, *(self.separator.join(row) for row in (self.names, *self.rows)))
        return "\n".join(lines) + "\n"


def mutated(rng, table):
    """Bytes of a table after one to three mutations.

    Parameters
    ----------
    rng : random.Random
    table : Table
        Changed in place.

    Returns
    -------
    bytes
    """
    for _ in range(rng.choice((1, 1, 2, 3))):
        mutate = rng.choice(MUTATIONS)
        mutate(rng, table)
        table.done.append(mutate.__name__)
    data = table.text().encode("utf-8", "replace")
    if rng.random() < 0.12:
        data = spoilt_bytes(rng, data)
        table.done.append("spoilt_bytes")
    return data


def _some(rng, table):
    """Indices of some rows: one, a run, or many."""
    count = len(table.rows)
    if not count:
        return []
    at = rng.randrange(count)
    return rng.choice(
        ([at], [0], [count - 1], list(range(at, min(at + 400, count))), list(range(0, count, 7)))
    )


def cells(rng, table):
    """Other values in some cells of one column.

    Parameters
    ----------
    rng : random.Random
    table : dev.fuzz.table_mutants.Table
    """
    if not table.names:
        return
    column, value = (
        rng.randrange(len(table.names)),
        str(rng.choice((*EXTREMES, *TEXTS, *HOSTILE_NAMES, "", "-", "NA"))),
    )
    for at in _some(rng, table):
        if column < len(table.rows[at]):
            table.rows[at][column] = value


def scaled(rng, table):
    """A part of one column in another unit.

    Parameters
    ----------
    rng : random.Random
    table : dev.fuzz.table_mutants.Table
    """
    if not table.names:
        return
    column, factor = (
        rng.randrange(len(table.names)),
        rng.choice((0.001, 1000.0, 3.6, 24.0, 1 / 24.0, -1.0, 100.0, 0.0)),
    )
    for at in _some(rng, table):
        try:
            table.rows[at][column] = f"{float(table.rows[at][column]) * factor:g}"
        except (ValueError, IndexError):
            continue


def times(rng, table):
    """Other times in the first column.

    Parameters
    ----------
    rng : random.Random
    table : dev.fuzz.table_mutants.Table
    """
    value = rng.choice(TIMES)
    for at in _some(rng, table):
        if table.rows[at]:
            table.rows[at][0] = value


def offsets(rng, table):
    """Offsets from UTC that change within the file, or on some rows only.

    Parameters
    ----------
    rng : random.Random
    table : dev.fuzz.table_mutants.Table
    """
    at = rng.randrange(len(table.rows) + 1)
    first, then = rng.choice(
        (("+01:00", "+02:00"), ("Z", "+01:00"), ("", "+02:00"), ("+02:00", ""), ("Z", "Z"))
    )
    for number, row in enumerate(table.rows):
        if row:
            row[0] += first if number < at else then


def dropped_rows(rng, table):
    """Rows lost.

    Parameters
    ----------
    rng : random.Random
    table : dev.fuzz.table_mutants.Table
    """
    gone = set(_some(rng, table))
    table.rows = [row for at, row in enumerate(table.rows) if at not in gone]


def repeated_rows(rng, table):
    """Rows said twice.

    Parameters
    ----------
    rng : random.Random
    table : dev.fuzz.table_mutants.Table
    """
    again = _some(rng, table)
    for at in reversed(again[:500]):
        table.rows.insert(at, list(table.rows[at]))


def other_order(rng, table):
    """Rows in another order.

    Parameters
    ----------
    rng : random.Random
    table : dev.fuzz.table_mutants.Table
    """
    if rng.random() < 0.5:
        table.rows.reverse()
    else:
        rng.shuffle(table.rows)


def ragged(rng, table):
    """Rows with more or fewer cells.

    Parameters
    ----------
    rng : random.Random
    table : dev.fuzz.table_mutants.Table
    """
    for at in _some(rng, table):
        table.rows[at] = rng.choice((table.rows[at][:-1], [*table.rows[at], "1"], [], [""], ['"']))


def names(rng, table):
    """Another name for a column, or one name twice.

    Parameters
    ----------
    rng : random.Random
    table : dev.fuzz.table_mutants.Table
    """
    if not table.names:
        return
    at = rng.randrange(len(table.names))
    others = (
        table.names[0],
        misspelt(rng, table.names[at]),
        "",
        "unnamed",
        f'"{table.names[at]}"',
        "1",
        "nan",
        "\x00",
    )
    table.names[at] = rng.choice(others)


def columns(rng, table):
    """A column lost, said twice or moved.

    Parameters
    ----------
    rng : random.Random
    table : dev.fuzz.table_mutants.Table
    """
    if not table.names:
        return
    at, to = rng.randrange(len(table.names)), rng.randrange(len(table.names))
    for row in (table.names, *table.rows):
        if max(at, to) < len(row):
            kind = at % 3
            if kind == 0:
                del row[at]
            elif kind == 1:
                row.insert(to, row[at])
            else:
                row[at], row[to] = row[to], row[at]


def marks(rng, table):
    """Another separator or decimal mark.

    Parameters
    ----------
    rng : random.Random
    table : dev.fuzz.table_mutants.Table
    """
    table.separator = rng.choice((",", ";", "\t", " ", "|", ", "))
    if rng.random() < 0.5:
        for row in table.rows:
            row[1:] = [cell.replace(".", ",") for cell in row[1:]]


def lines_before(rng, table):
    """Lines above the names.

    Parameters
    ----------
    rng : random.Random
    table : dev.fuzz.table_mutants.Table
    """
    table.before += [rng.choice(("", "# made", "a,b,c,d,e,f,g", "sep=;", '"'))] * rng.randrange(1, 4)


def few(rng, table):
    """Almost nothing left.

    Parameters
    ----------
    rng : random.Random
    table : dev.fuzz.table_mutants.Table
    """
    table.rows = table.rows[: rng.choice((0, 1, 2, 3, 30))]


MUTATIONS = (
    cells, cells, cells, scaled, times, times, offsets, dropped_rows, repeated_rows, other_order, ragged, names,
    columns, marks, lines_before, few,
)  # fmt: skip
