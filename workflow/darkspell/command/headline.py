"""The answer of a finished study in a few lines, from its summary."""

import json
from pathlib import Path


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
    lines = [line for line in (_nights(summary), _depth(summary), _autonomy(summary)) if line]
    place = results.relative_to(folder)
    return "\n".join([name, *(f"  {line}" for line in lines), f"  Read next: {place / 'proposal.html'}"])


def _nights(summary):
    nights, years = summary.get("short_nights"), summary.get("years_with_short_nights")
    if not nights:
        return ""
    text = f"{_figure(nights['value'])} short nights a year on average{_between(nights)}"
    return f"{text}; {frequency(years['value'])}." if years else f"{text}."


def frequency(share):
    """A share of years as a frequency, with per cent in brackets."""
    if share <= 0.0:
        return "no year of those drawn has one"
    if share > 0.5:
        return f"{10.0 * share:.0f} years in 10 have one ({100.0 * share:.0f} %)"
    return f"about 1 year in {1.0 / share:.0f} has one ({100.0 * share:.2g} %)"


def _depth(summary):
    true, reported = summary.get("annual_max_depth_true"), summary.get("annual_max_depth_reported")
    if not true:
        return ""
    text = f"The deepest discharge of a year is {_figure(true['value'])} {true['unit']}"
    if reported:
        text += f"; the monitor will show {_figure(reported['value'])} {reported['unit']}"
    return text + "."


def _autonomy(summary):
    days = summary.get("autonomy_worst_month_days")
    if not days:
        return ""
    return f"Begun full in the worst month, it lasts at least {_figure(days['value'])} days in 9 years of 10."


def _between(entry):
    low, high = entry.get("mean_low"), entry.get("mean_high")
    return (
        ""
        if None in (low, high)
        else f" (between {_figure(low)} and {_figure(high)}, 95 % interval of the mean)"
    )


def _figure(value):
    return f"{value:.2g}" if abs(value) < 10 else f"{value:.0f}"
