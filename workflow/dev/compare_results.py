"""Whether two folders of results hold the same numbers: `python -m dev.compare_results OLD NEW`.

Tables are compared by hash, after columns and statistics of an older version were given their present names.
"""

import argparse
import re
import sys
from hashlib import sha256
from pathlib import Path

from darkspell.study.renamed_keys import RENAMED as RENAMED_KEYS

TABLES = ("members.csv", "sizing.csv", "whatifs.csv")
# Names in tables before version 0.2: names since.
RENAMED = {
    "world": "parameter_draw",
    "loss_of_load_hours": "lolh",
    "loss_of_load_days": "lold",
    "unserved_kwh": "eue_kwh",
    "unserved_essential_kwh": "eue_essential_kwh",
    "false_comfort_h": "missed_warning_h",
    "false_warning_h": "false_alarm_h",
    "surely": "meets_at_95pct",
    "full_again_pct": "full_charge_pct",
    "full_again_low": "full_charge_low",
    "full_again_high": "full_charge_high",
}
# What-ifs name the keys that they change.
RENAMED |= {old.rpartition(".")[2]: new.rpartition(".")[2] for old, new in RENAMED_KEYS.items() if "_" in old}
_OLD = re.compile(rf"(?<![\w/])({'|'.join(sorted(RENAMED, key=len, reverse=True))})(?!\w)")


def present_names(text):
    """Replace old names of columns, statistics and keys in a table.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
    """
    return _OLD.sub(lambda match: RENAMED[match[1]], text)


def compare(old, new, tables=TABLES):
    """Compare tables of all studies of two results folders.

    Parameters
    ----------
    old, new : pathlib.Path
        Folders with a folder a study, as Snakemake leaves them in results/.
    tables : sequence of str

    Yields
    ------
    str, str, str, str, bool
        Study, table, first digits of both hashes (SHA-256), and whether they agree.
    """
    for study in sorted(path.name for path in old.iterdir() if (path / tables[0]).is_file()):
        for table in tables:
            before = present_names((old / study / table).read_text(encoding="utf-8"))
            path = new / study / table
            after = path.read_text(encoding="utf-8") if path.is_file() else ""
            hashes = [sha256(text.encode()).hexdigest()[:12] for text in (before, after)]
            yield study, table, *hashes, hashes[0] == hashes[1]


def main():
    """Print a line for each table; exit code 1 if any differs."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("old", type=Path)
    parser.add_argument("new", type=Path)
    asked = parser.parse_args()
    rows = list(compare(asked.old, asked.new))
    for study, table, before, after, same in rows:
        sys.stdout.write(f"{study:15s} {table:12s} {before} {after} {'same' if same else 'DIFFERENT'}\n")
    sys.exit(0 if rows and all(row[-1] for row in rows) else 1)


if __name__ == "__main__":
    main()
