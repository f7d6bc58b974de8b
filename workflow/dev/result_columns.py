"""Reference parts of results/README.md: ``python -m dev.result_columns`` writes them from the registries."""

import re
import sys
from pathlib import Path
from textwrap import fill

from darkspell.core.atomic_files import write_text
from darkspell.report.tables.columns import TEXT
from darkspell.report.tables.registry import TABLES
from darkspell.statistics.registry import HEADLINES, LOSSES, MEAN, MONTHLY_KEYS, STATISTICS, YEARLY

README = Path(__file__).parents[2] / "results" / "README.md"
MARKS = "<!-- {}: python -m dev.result_columns -->\n"
TABLE_HEAD = "| table | content | one row |\n|---|---|---|\n"


def _reduction(headline):
    """How the members' values become the headline."""
    is_loss = headline.statistic in LOSSES and headline.reduction.startswith(MEAN)
    return headline.reduction.replace(MEAN, "median over parameter draws") if is_loss else headline.reduction


def files(asked):
    """List of the CSV tables; str.

    Parameters
    ----------
    asked : bool
        Whether of those that a study must ask for, or of the others.
    """
    rows = [one for one in TABLES.values() if one.asked == asked]
    return TABLE_HEAD + "".join(f"| `{one.key}.csv` | {one.words} | {one.row} |\n" for one in rows)


def tables():
    """Columns of every table with unit and meaning; str."""
    return "\n".join(f"### `{one.key}.csv`\n\n{_columns(one)}" for one in TABLES.values())


def _columns(table):
    shared = [
        one.key for one in table.columns if one.key in STATISTICS and one.key in {y.key for y in YEARLY}
    ]
    listed = [one for one in table.columns if one.key not in shared or len(shared) < len(YEARLY)]
    more = (
        "and every statistic of `members.csv` under Statistics.\n" if len(listed) < len(table.columns) else ""
    )
    return _table("column", list(_paired(listed))) + (f"\n{more}" if more else "")


def _paired(columns):
    """Rows of columns, the two ends of an interval together."""
    waiting = list(columns)
    while waiting:
        one = waiting.pop(0)
        unit = "text" if one.unit == TEXT else one.unit
        if waiting and re.sub("low", "high", one.key) == waiting[0].key != one.key:
            yield f"{one.key}`, `{waiting.pop(0).key}", unit, one.words.replace("low end of", "ends of")
        else:
            yield one.key, unit, one.words


def statistics():
    """Lists of yearly and monthly statistics, and of headlines; str."""
    yearly = [(one.key, one.unit, one.words) for one in YEARLY]
    known = {one.key for one in YEARLY}
    monthly = [(key, STATISTICS[key].unit, STATISTICS[key].words) for key in MONTHLY_KEYS if key not in known]
    headlines = [(one.key, one.unit, f"{one.words}; {_reduction(one)}") for one in HEADLINES.values()]
    shared = ", ".join(f"`{key}`" for key in MONTHLY_KEYS if key in known)
    parts = (
        "Columns of `members.csv`: one value for each simulated year.\n",
        _table("column", yearly),
        fill(f"`months.csv` has {shared}, and:", 118, break_on_hyphens=False) + "\n",
        _table("statistic", monthly),
        "Headlines of `summary.json`:\n",
        _table("key", headlines),
    )
    return "\n".join(parts)


def _table(name, rows):
    head = f"| {name} | unit | meaning |\n|---|---|---|\n"
    return head + "".join(f"| `{key}` | {unit} | {words} |\n" for key, unit, words in rows)


def main():
    """Replace the parts of results/README.md that are between marks."""
    text = README.read_text(encoding="utf-8")
    parts = {
        "tables": files(asked=False), "tables if asked": files(asked=True), "columns": tables(),
        "statistics": statistics(),
    }  # fmt: skip
    for name, part in parts.items():
        start, end = MARKS.format(name), MARKS.format(f"end of {name}")
        before, found, rest = text.partition(start)
        _, closed, after = rest.partition(end)
        if not (found and closed):
            sys.exit(f"{README}: has no part {name!r}; restore its two marks")
        text = f"{before}{start}\n{part}\n{end}{after}"
    write_text(README, text)
    return 0


if __name__ == "__main__":
    sys.exit(main())
