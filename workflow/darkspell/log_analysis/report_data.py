"""The comparison of one log for machines."""

import numpy as np

from darkspell.log_analysis import log_facts, next_steps
from darkspell.log_analysis import report_text as words
from darkspell.log_analysis.report import table


def data(study, comparison, page):
    """Answer of `darkspell compare --json` for one log; dict that JSON can hold.

    Parameters
    ----------
    study : darkspell.study.Study
    comparison : darkspell.log_analysis.compare.Comparison
    page : pathlib.Path
        The page that was written.
    """
    dates = comparison.hours.dates
    rows = [
        {name: _plain(value) for name, value in row.items()} for row in table(comparison).to_dict("records")
    ]
    causes = {one.name for one in comparison.verdicts} if words.causes_stated(comparison) else set()
    return {
        "study": study.name,
        "log": comparison.name,
        "first_date": str(dates[0]),
        "last_date": str(dates[-1]),
        "page": str(page),
        "summary": log_facts.summary(comparison),
        "answer": words.answer(comparison),
        "hardly_charged": comparison.seen.run_down is not None,
        "facts": {row["quantity"]: row["value"] for row in rows if row["quantity"] not in causes},
        "units": {row["quantity"]: row["unit"] for row in rows},
        "causes": [row for row in rows if row["quantity"] in causes],
        "what_the_verdicts_mean": words.meaning(comparison) if causes else "",
        "next_steps": next_steps.steps(comparison),
        "cannot_be_told": words.untold(comparison),
        "weather_known": bool(comparison.weather.known),
        "notes": list(comparison.notes),
    }


def _plain(value):
    """A value as JSON has it; null where it is not known."""
    if isinstance(value, str):
        return value
    value = float(value)
    return value if np.isfinite(value) else None
