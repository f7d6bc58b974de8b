"""The answer of a finished study in a few lines, from its summary."""

import csv
import json
from math import floor
from pathlib import Path

from darkspell.core.rounding import readable
from darkspell.design.cause_words import CAUSES, NOT_OF_SIZE, WORDS
from darkspell.report.document.typesetter import WITHOUT


def headline(name, folder):
    """Answer, how sure, and where the rest is.

    Parameters
    ----------
    name : str
        Study.
    folder : pathlib.Path
        The one that holds ``results/``.

    Returns
    -------
    str
    """
    results = Path(folder, "results", name)
    try:
        summary = json.loads((results / "summary.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        summary = {}
    lines = (
        _nights(summary), _critical(summary), *_cause(summary), _depth(summary), _autonomy(summary),
        *_cut_outs(results / "disconnects.csv"),
    )  # fmt: skip
    lines = [line for line in lines if line]
    place = results.relative_to(folder)
    page = "proposal.html" if (results / "proposal.html").is_file() else "summary.json"
    ends = [f"Read next: {place / page}"]
    if page == "proposal.html" and not (results / "proposal.pdf").is_file():
        ends.append(WITHOUT)
    return "\n".join([name, *(f"  {line}" for line in (*lines, *ends))])


def _nights(summary):
    nights, years = summary.get("short_nights"), summary.get("years_with_short_nights")
    if not nights:
        return ""
    met = summary.get("probability_met")
    chance = f"Chance that this site meets the target: {chance_words(met['value'])}." if met else ""
    often = f"Short nights in a coming year: {frequency(years['value'])}." if years else ""
    average = f"Best guess of the long-run average: {_figure(nights['value'])} short nights a year{_between(nights)}."
    return " ".join(filter(None, (chance, often, average)))


def chance_words(share):
    """A probability in per cent that is never rounded to certainty, nor up to one that it does not reach.

    Parameters
    ----------
    share : float
        0 to 1.

    Returns
    -------
    str
    """
    return f"{min(max(floor(100.0 * share + 1e-9), 1), 99)} %"


def _critical(summary):
    nights = summary.get("critical_short_nights")
    if not nights:
        return ""
    return f"Critical loads: {_figure(nights['value'])} short nights a year{_between(nights)}."


def _cause(summary):
    """Why loads go unserved, and what was tried against it."""
    cause = summary.get("main_cause")
    if not cause:
        return
    yield (
        f"Main cause, in {_share(cause['value'])} of the hours without essential power: {CAUSES[cause['cause']]}."
    )
    rows = cause.get("remedies", [])
    if rows:
        tried = "; ".join(f"{WORDS[row['remedy']]}: {_figure(row['value'])}{_between(row)}" for row in rows)
        larger = " Larger sizes are no cure for this cause." if cause["cause"] in NOT_OF_SIZE else ""
        yield f"Tried on the same years ({rows[0]['statistic']} a year): {tried}.{larger}"


def _share(value):
    return f"{min(100.0 * value, 100.0):.0f} %"


def frequency(share):
    """A share of years as a frequency, with per cent in parentheses.

    Parameters
    ----------
    share : float
        0 to 1.

    Returns
    -------
    str
    """
    if share <= 0.0:
        return "no year of those drawn has one"
    if share > 0.5:
        return f"{10.0 * share:.0f} years in 10 have one ({100.0 * share:.0f} %)"
    return f"about 1 year in {1.0 / share:.0f} has one ({100.0 * share:.2g} %)"


def _depth(summary):
    true, reported = summary.get("annual_max_depth_true"), summary.get("annual_max_depth_reported")
    if not true:
        return ""
    text = f"In one year of ten the bank falls to {_figure(100.0 - true['value'])} % of charge or lower"
    if reported:
        text += f", on the monitor to {_figure(100.0 - reported['value'])} %"
    return text + "."


def _autonomy(summary):
    days = summary.get("autonomy_worst_month_days")
    if not days:
        return ""
    lasts = (
        f"A full bank lasts at least {_figure(days['value'])} days in the month in which it lasts shortest"
    )
    return f"{lasts}, 9 times in 10 (simulated weather)."


def _cut_outs(path):
    """What each cut-out that goes by a reading does; all other lines are without it."""
    try:
        with path.open(encoding="utf-8", newline="") as file:
            rows = {(row["monitor"], row["statistic"]): row for row in csv.DictReader(file)}
    except OSError:
        return
    for monitor in dict.fromkeys(monitor for monitor, _ in rows):
        times, early, late = (
            rows[monitor, name] for name in ("disconnects", "early_disconnects", "late_disconnects")
        )
        yield (
            f"The cut-out by {monitor} acts {_figure(float(times['by_reading']))} times a year: too early "
            f"{_counted(early)}, too late {_counted(late)}. The lines above are without it."
        )


def _counted(row):
    low, high = float(row["low"]), float(row["high"])
    bounds = _between({"place_low": low, "place_high": high}, "95 % sampling error")
    return f"{_figure(float(row['by_reading']))}{bounds}"


def _between(entry, words="95 %"):
    low, high = entry.get("place_low"), entry.get("place_high")
    return "" if None in (low, high) else f" (between {_figure(low)} and {_figure(high)}, {words})"


def _figure(value):
    return readable(value, 2) if abs(value) < 10 else f"{value:.0f}"
