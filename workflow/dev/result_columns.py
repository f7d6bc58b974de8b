"""Tables of statistics in results/README.md: ``python -m dev.result_columns`` writes them from the registry."""

import sys
from pathlib import Path
from textwrap import fill

from darkspell.core.atomic_files import write_text
from darkspell.statistics.registry import HEADLINES, MONTHLY_KEYS, STATISTICS, YEARLY

README = Path(__file__).parents[2] / "results" / "README.md"
START = "## Statistics\n"


def section():
    """The section of the README; str."""
    yearly = [(one.key, one.unit, one.words) for one in YEARLY]
    known = {one.key for one in YEARLY}
    monthly = [(key, STATISTICS[key].unit, STATISTICS[key].words) for key in MONTHLY_KEYS if key not in known]
    headlines = [(one.key, one.unit, f"{one.words}; {one.reduction}") for one in HEADLINES.values()]
    shared = ", ".join(f"`{key}`" for key in MONTHLY_KEYS if key in known)
    parts = (
        START,
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
    """Replace the last section of results/README.md."""
    text = README.read_text(encoding="utf-8")
    write_text(README, text.partition(START)[0].rstrip() + "\n\n" + section())
    return 0


if __name__ == "__main__":
    sys.exit(main())
