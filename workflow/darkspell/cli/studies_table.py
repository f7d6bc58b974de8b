"""One table of all studies of a run: what differs between them, their headlines, price, chance and cause."""

import csv
import json
import math
from pathlib import Path

from darkspell.cli.headline import chance_words
from darkspell.core.atomic_files import write_bytes, write_table
from darkspell.core.rounding import readable
from darkspell.design.life_cycle_cost import first_cost
from darkspell.pipeline.stages import selector
from darkspell.report.tables.columns import CURRENCY, PLACE, TEXT
from darkspell.statistics.registry import HEADLINES as REGISTERED
from darkspell.study.differences import differences, short_names

HEADLINES = ("lolp", "lolh", "short_nights", "eue_kwh", "annual_max_depth_true", "autonomy_worst_month_days")
MOST_KEYS = 4  # keys that differ which the terminal shows; the files have all
WORDS = {
    "name": ("name of the study", TEXT),
    "file": ("study file", TEXT),
    "cost": ("price of array and bank", CURRENCY),
    "chance_pct": ("chance that this site meets the target", "%"),
    "target_met_pct": ("simulated years that meet the target", "%"),
    "cause": ("main cause of hours without essential power", TEXT),
    "cause_share_pct": ("share of these hours that have this cause", "%"),
}


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
        ``name``, ``file``, ``differs`` (dict of the keys that are not alike in all studies, with this study's
        values), each of `HEADLINES` with ``_low`` and ``_high``, ``cost`` of the study's own sizes, ``chance_pct``
        that the site meets the target, ``target_met_pct``: years of 100 in which the target's statistic is within
        its limit, and the main ``cause`` of loss with its share. None where a study has no such number.
    """
    differs = differences({name: entry.study for name, entry in entries.items()})
    rows = []
    for name, entry in entries.items():
        results = Path(folder, "results", name)
        summary = _summary(results / "summary.json")
        row = {"name": name, "file": selector(entry), "differs": differs[name]} | _headlines(summary)
        chance, cause = summary.get("probability_met", {}), summary.get("main_cause", {})
        row |= {"cost": first_cost(entry.study), "chance_pct": _percent(chance)}
        row |= {"target_met_pct": _target_met(entry.study, results / "members.csv")}
        rows.append(row | {"cause": cause.get("cause"), "cause_share_pct": _percent(cause)})
    return rows


def _summary(path):
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}


def _headlines(summary):
    found = {}
    for key in HEADLINES:
        entry = summary.get(key, {})
        low, high = entry.get("place_low"), entry.get("place_high")
        found |= {key: entry.get("value"), f"{key}_low": low, f"{key}_high": high}
    return found


def _percent(entry):
    return None if entry.get("value") is None else round(100.0 * entry["value"], 2)


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


def write_studies(rows, folder, about):
    """Write results/studies.csv and results/studies.xlsx; the path of the first, relative to the folder.

    Parameters
    ----------
    rows : list of dict
        From `studies_rows`.
    folder : path-like
        Where ``results`` is.
    about : darkspell.study Document
        Title, client, preparer and currency of the workbook: those of the first study.
    """
    import pandas as pd  # with the workbook half a second, and needed for several studies only

    from darkspell.report.workbook import workbook

    path = Path("results", "studies.csv")
    shown = [{key: row[key] for key in ("name", "file")} | row["differs"] | row for row in rows]
    table = pd.DataFrame(shown).drop(columns="differs")
    write_table(Path(folder, path), table)
    sheet = table, [_head(column) for column in table.columns]
    write_bytes(Path(folder, path.with_suffix(".xlsx")), workbook({}, about, {"studies": sheet}))
    return path


def _head(column):
    """Words and unit of a column of the workbook."""
    if column in WORDS:
        return WORDS[column]
    key, end = column, ""
    for end in ("low", "high"):
        if column.endswith(f"_{end}") and column.removesuffix(f"_{end}") in HEADLINES:
            key = column.removesuffix(f"_{end}")
            break
    if key not in HEADLINES:
        return column, TEXT  # a key of the study
    words, unit = REGISTERED[key].words, REGISTERED[key].unit
    return (words if key == column else f"{end} end of the {PLACE}"), unit


def studies_text(rows):
    """The table for the terminal.

    Parameters
    ----------
    rows : list of dict
        From `studies_rows`.

    Returns
    -------
    intervals are those of the site
    """
    keys = list(rows[0]["differs"])
    shown = keys[:MOST_KEYS]
    heads = ("study", *short_names(keys)[:MOST_KEYS], "h/year without power", "short nights", "deepest, %", "price",
             "chance of target", "main cause")  # fmt: skip
    lines = [heads, *(_line(row, shown) for row in rows)]
    widths = [max(len(line[column]) for line in lines) for column in range(len(heads))]
    text = "\n".join(
        "  ".join(word.ljust(width) for word, width in zip(line, widths, strict=True)).rstrip()
        for line in lines
    )
    more = len(keys) - len(shown)
    return f"{text}\nIn parentheses the 95 % interval at each site." + (
        f" Keys that differ and are not shown: {more}; the files have them." if more else ""
    )


def _line(row, keys):
    chance, cause = row["chance_pct"], row["cause"]
    return (
        row["name"],
        *(str(row["differs"][key]) for key in keys),
        _with_bounds(row, "lolh"),
        _with_bounds(row, "short_nights"),
        _with_bounds(row, "annual_max_depth_true"),
        f"{row['cost']:,.0f}",
        "-" if chance is None else chance_words(chance / 100.0),
        "-" if cause is None else cause.replace("_", " "),
    )


def _with_bounds(row, key):
    if row[key] is None:
        return "-"
    low, high = row[f"{key}_low"], row[f"{key}_high"]
    known = not any(bound is None or math.isnan(bound) for bound in (low, high))
    return f"{readable(row[key])} ({readable(low)} to {readable(high)})" if known else readable(row[key])
