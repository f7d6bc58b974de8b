"""One table of all studies of a run: what differs between them, their headlines, price and target."""

import csv
import json
import math
from pathlib import Path

from darkspell.core.atomic_files import write_table
from darkspell.design.life_cycle_cost import first_cost
from darkspell.study.key_tree import find

HEADLINES = ("lolp", "lolh", "short_nights", "eue_kwh", "annual_max_depth_true", "autonomy_worst_month_days")
LEFT_OUT = ("document", "whatifs", "sweeps", "sensitivity")
LONGEST = 60


def studies_rows(entries, folder):
    """A row a study, from its file and its tables of results.

    Parameters
    ----------
    entries : dict of darkspell.pipeline.stages.Entry
        By the name of the study.
    folder : pathlib.Path
        The one that holds ``results/``.

    Returns
    -------
    list of dict
        ``name``, ``file``, ``differs`` (keys that are not alike in all studies, with this study's values), each
        of `HEADLINES` with ``_low``, ``_high`` and ``_unit``, ``cost`` of the study's own sizes, and
        ``target_met_pct``: years of 100 in which the target's statistic is within its limit. None where a
        study has no such number.
    """
    differs = differences({name: entry.study for name, entry in entries.items()})
    rows = []
    for name, entry in entries.items():
        results = Path(folder, "results", name)
        row = {"name": name, "file": str(entry.path), "differs": differs[name]}
        row |= _headlines(results / "summary.json") | {"cost": first_cost(entry.study)}
        rows.append(row | {"target_met_pct": _target_met(entry.study, results / "members.csv")})
    return rows


def differences(studies):
    """For each study the keys whose values are not the same in all, as ``key=value`` in one text.

    Parameters
    ----------
    studies : dict of darkspell.study.Study

    Returns
    -------
    dict of str
    """
    flat = {name: dict(_flat(study._given)) for name, study in studies.items()}
    keys = list(dict.fromkeys(key for one in flat.values() for key in one))
    unlike = [key for key in keys if len({one.get(key, "default") for one in flat.values()}) > 1]
    return {
        name: ", ".join(f"{key}={one.get(key, _absent(key))}" for key in unlike) for name, one in flat.items()
    }


def _absent(key):
    """How a key that a study does not give is shown: an entry of its own may be absent, other keys default."""
    parts = key.split(".")
    return "absent" if len(parts) > 2 and (node := find(parts[:1])) and node.entries else "default"


def _flat(given, above=""):
    for key, value in given.items():
        dotted = f"{above}{key}"
        if not above and key in LEFT_OUT:
            continue
        if isinstance(value, dict):
            yield from _flat(value, f"{dotted}.")
        else:
            text = json.dumps(value, ensure_ascii=False, default=str)
            yield dotted, text if len(text) <= LONGEST else f"{text[:LONGEST]}..."


def _headlines(path):
    try:
        summary = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        summary = {}
    found = {}
    for key in HEADLINES:
        entry = summary.get(key, {})
        low, high = entry.get("place_low"), entry.get("place_high")
        found |= {key: entry.get("value"), f"{key}_low": low, f"{key}_high": high}
        found[f"{key}_unit"] = entry.get("unit")
    return found


def _target_met(study, path):
    """Years of 100 in which the target's statistic is within its limit; None without the table."""
    target = study.target
    column, factor = ("lolh", 1 / 8760) if target.statistic == "lolp" else (target.statistic, 1.0)
    try:
        with path.open(encoding="utf-8", newline="") as file:
            values = [float(row[column]) * factor for row in csv.DictReader(file)]
    except (OSError, KeyError, ValueError):
        return None
    return (
        round(100.0 * sum(value <= target.at_most for value in values) / len(values), 2) if values else None
    )


def write_studies(rows, folder):
    """Write results/studies.csv; its path, relative to the folder.

    Parameters
    ----------
    rows : list of dict
        A row a study.
    folder : path-like
        Where ``results`` is.
    """
    import pandas as pd

    path = Path("results", "studies.csv")
    write_table(Path(folder, path), pd.DataFrame(rows))
    return path


def studies_text(rows):
    """The table in a few columns for the terminal.

    Parameters
    ----------
    rows : list of dict
        As of `write_studies`.
    """
    lines = [
        ("study", "h/year without power", "short nights", "deepest, %", "price", "target met", "differs")
    ]
    for row in rows:
        met = row["target_met_pct"]
        lines.append(
            (
                row["name"],
                _with_bounds(row, "lolh"),
                _with_bounds(row, "short_nights"),
                _with_bounds(row, "annual_max_depth_true"),
                f"{row['cost']:g}",
                "-" if met is None else f"{met:g} % of years",
                row["differs"],
            )
        )
    widths = [max(len(line[column]) for line in lines) for column in range(len(lines[0]))]
    return "\n".join(
        "  ".join(word.ljust(width) for word, width in zip(line, widths, strict=True)).rstrip()
        for line in lines
    )


def _with_bounds(row, key):
    if row[key] is None:
        return "-"
    low, high = row[f"{key}_low"], row[f"{key}_high"]
    known = not any(bound is None or math.isnan(bound) for bound in (low, high))
    return f"{row[key]:.3g} ({low:.3g} to {high:.3g})" if known else f"{row[key]:.3g}"
