"""Simulate a study at once and print its headlines, beside those of a changed study on the same draws."""

import json
import math
import sys
import time
from pathlib import Path

from darkspell.core.errors import StudyError
from darkspell.core.rounding import readable
from darkspell.design.cause_words import CAUSES
from darkspell.statistics.registry import CRITICAL_KEYS, HEADLINES, STATISTICS
from darkspell.statistics.site_difference import MEDIAN
from darkspell.study import load_study
from darkspell.study.study_files import sources, split_name
from darkspell.study.thousands import doubtful_numbers
from darkspell.study.yaml_reader import read_yaml

LOOK_S = 0.3
NEXT = 3  # designs shown on either side of the cheapest on target
NO_EFFECT = "No year differs: the study has these values already, or they have no effect on its years."
HOW_TAKEN = """\
A difference is taken draw by draw, then averaged: the median over parameter draws, or the mean of years. It need
not be the new value less the old. max_depth_true_pct and max_depth_reported_pct are means of the yearly maxima;
annual_max_depth_* above is what one year in ten passes."""
SHOWN = (
    "lolp", "lolh", "short_nights", "years_with_short_nights", "eue_kwh", "annual_max_depth_true",
    "annual_max_depth_reported", "longest_full_charge_interval_days", "autonomy_dark_days",
    "autonomy_worst_month_days", "spilled_kwh",
)  # fmt: skip


def try_study(path, changes=(), members=None, as_json=False, watch=False, size=False):
    """Simulate a study without writing results, and print its headlines.

    Parameters
    ----------
    path : str
        Study file.
    changes : sequence of str
        Words ``key=value`` with dotted keys; values as in the file, ``null`` removes an entry.
    members : int, optional
        Synthetic years in place of the study's number.
    as_json : bool
        One JSON object in place of a table.
    watch : bool
        Whether to run again each time the file is saved, until interrupted.
    size : bool
        Whether to search the array and bank sizes of the study as well, changes included.

    Returns
    -------
    int
        Exit code 0.

    Raises
    ------
    darkspell.core.errors.StudyError
        With the first faults of study or changes; while watching they are printed instead.
    """
    wanted = changes_of(changes)
    for word in changes:
        for warning in doubtful_numbers(word.replace("=", ": ", 1)):
            print(warning.replace(" (line 1)", ""), file=sys.stderr)
    if not watch:
        print(_answer(path, wanted, members, as_json, size))
        return 0
    while True:
        saved = _saved(path)
        try:
            print(_answer(path, wanted, members, as_json, size), flush=True)
        except StudyError as fault:
            print(fault, file=sys.stderr, flush=True)
        print(f"Waiting until {path} is saved; Ctrl-C ends.", file=sys.stderr, flush=True)
        while _saved(path) == saved:
            time.sleep(LOOK_S)


def changes_of(words):
    """Changes as a mapping of dotted keys.

    Parameters
    ----------
    words : sequence of str
        ``key=value`` each; values are read as YAML.

    Returns
    -------
    dict

    Raises
    ------
    darkspell.core.errors.StudyError
        With the word that is no change.
    """
    changes = {}
    for word in words:
        key, sign, value = word.partition("=")
        if not sign or not key.strip() or not value.strip():
            raise StudyError(f"{word}: is no change; write key=value, such as bank.capacity_ah=300")
        if key.strip() in changes:
            raise StudyError(f"{key.strip()}: is given twice; keep one")
        try:
            changes[key.strip()] = read_yaml(value)
        except StudyError:
            raise StudyError(f"{word}: the value is no valid YAML; quote it") from None
    return changes


def _answer(path, changes, members, as_json, size):
    began = time.perf_counter()
    study = load_study(path)
    changed = study.with_changes(changes) if changes else None  # a fault is reported before anything runs
    from darkspell import api  # takes a second, which a faulty study need not wait for

    base, *others = api.simulate_all([study, changed] if changes else [study], members)
    other = others[0] if others else None
    sizes = api.size(changed or study, members, search=True) if size else None
    seconds = time.perf_counter() - began
    if as_json:
        found = _data(study, base, other, changes) | ({} if sizes is None else {"sizes": _rows(sizes)})
        return json.dumps(found, indent=1, ensure_ascii=False, allow_nan=False)
    title = f"{study.name}: {base.study.engine.members} simulated years, {seconds:.1f} s"
    lines = _compared(base, other, changes) if changes else _headlines(base)
    return "\n".join([title, "", *lines, *([] if sizes is None else _sizes(sizes, base.study))])


def _sizes(table, study):
    """Lines of the cheapest design that meets the target, and of the designs next to it in price."""
    target, currency = study.target, study.document.currency
    asked = f"{target.statistic} at most {target.at_most:g}, with a chance of {target.chance_pct:g} % at this site"
    chosen = table[table["chosen"].astype(bool)]
    near = table.sort_values(["cost", "array_wp"])
    cheaper, dearer = near[~near["meets_target"]], near[near["meets_target"] & ~near["chosen"].astype(bool)]
    if len(chosen):
        cheaper = cheaper[cheaper["cost"] <= chosen["cost"].iloc[0]]
        cheaper = cheaper.sort_values("probability_met").tail(NEXT).sort_values("cost")
        words = f"Cheapest size that meets the target ({asked}), with its neighbours in price:"
    else:
        words = f"No size of the study's lists meets the target ({asked}). The nearest:"
        cheaper = cheaper.sort_values("probability_met")
    rows = [("array, Wp", "bank, Ah", f"price, {currency}", "chance", "short nights", "95 %, this site", "")]
    for part, word in (
        (cheaper.tail(NEXT), ""),
        (chosen, "cheapest on target"),
        (dearer.head(NEXT), "on target"),
    ):
        for _, row in part.iterrows():
            bounds = _between(row["short_nights_low"], row["short_nights_high"])
            chance = f"{math.floor(100 * row['probability_met'] + 1e-9)} %"
            numbers = f"{row['array_wp']:g}", f"{row['bank_ah']:g}", f"{row['cost']:,.0f}", chance
            rows.append((*numbers, _figure(row["short_nights"]), bounds, word))
    return ["", words, "", *_aligned(rows)]


def _rows(table):
    return [{key: _number(value) for key, value in row.items()} for row in table.to_dict(orient="records")]


def _shown(base):
    """Headlines to print; those of critical loads where there are any."""
    return [*SHOWN, *(CRITICAL_KEYS if base.study.has_critical else ())]


def _cause(base):
    """One line on the main cause of loss, where anything is lost."""
    cause, share = base.main_cause
    if cause is None:
        return []
    text = f"Main cause, in {100.0 * share:.0f} % of the hours without essential power: {CAUSES[cause]}."
    return ["", text]


def _headlines(base):
    """Lines of a study's headlines, with the interval of the site where the statistic has one; its main cause."""
    table = base.headlines.loc[_shown(base)]
    rows = [("statistic", "best guess", "unit", "95 % interval, this site", "how it is taken")]
    for key, row in table.iterrows():
        bounds = _between(row["place_low"], row["place_high"])
        rows.append((key, _figure(row["value"]), row["unit"], bounds, row["method"].partition(";")[0]))
    return [*_aligned(rows), *_cause(base), *_meanings(table.index)]


def _meanings(keys):
    """Lines that say what each statistic is, in the words of the registry."""
    named = [(key, HEADLINES[key] if key in HEADLINES else STATISTICS[key]) for key in dict.fromkeys(keys)]
    return ["", "What they are:", "", *_aligned([(f"  {key}", one.words) for key, one in named])]


def _compared(base, other, changes):
    """Lines of both studies' headlines, then of the differences on the same draws."""
    words = ", ".join(f"{key}={'null' if value is None else value}" for key, value in changes.items())
    rows = [("statistic", "old", "95 %, this site", "new", "95 %, this site", "unit")]
    for key in _shown(base) if other.study.has_critical else SHOWN:
        old, new = base.headlines.loc[key], other.headlines.loc[key]
        sites = [_between(row["place_low"], row["place_high"]) for row in (old, new)]
        rows.append((key, _figure(old["value"]), sites[0], _figure(new["value"]), sites[1], old["unit"]))
    differences = [
        ("statistic", "difference", "95 %, this site", "sampling error", "verdict", "best guess", "unit")
    ]
    found = _differences(base, other, changes)
    for row in found:
        bounds = _between(row["low"], row["high"]), _between(row["simulation_low"], row["simulation_high"])
        best = "median" if row["point"] == MEDIAN else "mean"
        differences.append(
            (row["statistic"], _figure(row["difference"]), *bounds, row["verdict"], best, row["unit"])
        )
    keys = [*(row[0] for row in rows[1:]), *(row["statistic"] for row in found)]
    same = [NO_EFFECT, ""] if all(row["study_mean"] == row["whatif_mean"] for row in found) else []
    return [
        f"Changed: {words}", "", *same, *_aligned(rows), "", "Differences, on the same draws:", "",
        *_aligned(differences), "", HOW_TAKEN, *_meanings(keys),
    ]  # fmt: skip


def _differences(base, other, changes):
    from darkspell.statistics.paired_comparison import compare

    parts = base.simulation.members, other.simulation.members, base.system.parameter_draw
    return compare("change", changes, *parts, base.study.engine.seed)


def _data(study, base, other, changes):
    """All headlines, and the differences where something was changed, as plain numbers."""
    found = {"study": study.name, "members": base.study.engine.members, "headlines": _plain(base.headlines)}
    if other is None:
        return found
    rows = [
        {key: _number(value) for key, value in row.items() if key not in ("whatif", "changes")}
        for row in _differences(base, other, changes)
    ]
    return found | {"changes": changes, "changed_headlines": _plain(other.headlines), "differences": rows}


def _plain(table):
    return {
        key: {name: _number(value) for name, value in row.items()}
        for key, row in table.to_dict(orient="index").items()
    }


def _number(value):
    """A number for JSON: None where it is not a number."""
    if value is None or isinstance(value, str | bool | int):
        return value
    return float(value) if math.isfinite(value) else None


def _figure(value):
    return "-" if value is None or math.isnan(value) else readable(value)


def _between(low, high):
    known = not any(bound is None or math.isnan(bound) for bound in (low, high))
    return f"{_figure(low)} to {_figure(high)}" if known else "-"


def _aligned(rows):
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    lines = ("  ".join(word.ljust(width) for word, width in zip(row, widths, strict=True)) for row in rows)
    return [line.rstrip() for line in lines]


def _saved(path):
    """What changes when a file of the study is saved; an editor may remove it for a moment."""
    try:
        files = sources(path)[0].files
    except StudyError:
        files = (split_name(path)[0],)
    return [_state(file) for file in files]


def _state(file):
    try:
        state = Path(file).stat()
    except OSError:
        return None
    return state.st_mtime_ns, state.st_size
