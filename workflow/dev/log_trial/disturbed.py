"""Logs as faulty loggers write them: ``python -m dev.log_trial.disturbed STUDY`` prints how often a cause is named.

The systems are unchanged ones of the second simulator: every cause that is named is a wrong one.
"""

import argparse
import sys

import numpy as np

from darkspell.log_analysis.classification import DIFFERS
from darkspell.log_analysis.compare import compare_rows, log_hours
from darkspell.log_analysis.reader import Rows
from darkspell.log_analysis.report_text import causes_stated
from dev.log_trial.measure import rows_of, simulated, weather_of
from dev.log_trial.plain import plain_system
from dev.log_trial.trial import REPORTING

DAY = 86400.0


def _with(rows, current):
    return Rows(rows.name, rows.seconds, {**rows.values, "current": current}, [])


def _part(rows, keep):
    values = {kind: part[keep] for kind, part in rows.values.items()}
    return Rows(rows.name, rows.seconds[keep], values, [])


def _held(rows):
    """Current and voltage that stand still for four days in the middle."""
    middle = 0.5 * (rows.seconds[0] + rows.seconds[-1])
    inside = np.flatnonzero(np.abs(rows.seconds - middle) < 2.0 * DAY)
    values = {kind: part.copy() for kind, part in rows.values.items()}
    for part in values.values():
        part[inside] = part[inside[0]]
    return Rows(rows.name, rows.seconds, values, [])


def _moved(rows, from_middle):
    late = rows.seconds > 0.5 * (rows.seconds[0] + rows.seconds[-1]) if from_middle else True
    return Rows(rows.name, rows.seconds + 3600.0 * np.where(late, 1.0, 0.0), rows.values, [])


def _cut_off(rows):
    current = rows.values["current"]
    return _with(rows, np.minimum(current, 0.5 * np.nanmax(current)))


def _gaps(rows):
    day = (rows.seconds // DAY).astype(int)
    return _part(rows, ~np.isin(day, np.unique(day)[3::5]))


def _rounded(rows, digit):
    return _with(rows, np.round(rows.values["current"] / digit) * digit)


DISTURBED = {
    "as it is": lambda rows: rows,
    "sign of the current reversed": lambda rows: _with(rows, -rows.values["current"]),
    "clock an hour late": lambda rows: _moved(rows, False),
    "summer time from the middle on": lambda rows: _moved(rows, True),
    "current cut off at half of its greatest": _cut_off,
    "one day in five missing": _gaps,
    "all columns stand still for four days": _held,
    "current in steps of 0.1 A": lambda rows: _rounded(rows, 0.1),
    "current in steps of 1 A": lambda rows: _rounded(rows, 1.0),
    "every sixth row": lambda rows: _part(rows, np.arange(rows.seconds.size) % 6 == 0),
}


def named(study, system, rows, log, seed):
    """Causes that are named, and what else is said first; (list of str, str).

    Parameters
    ----------
    study : Study
    system : System
    rows : Rows
    log : simulated log
    seed : int
    """
    rows, hours = log_hours(study, system, rows)
    found = compare_rows(study, system, rows, hours, weather_of(log, system, hours.dates), seed)
    if found.reversed:
        return [], "sign"
    if not causes_stated(found):
        return [], "another kind"
    causes = [one.name for one in found.verdicts if one.state == DIFFERS]
    return causes, "clock" if found.evidence.clock else ""


def main(words=None):
    """Print the numbers.

    Parameters
    ----------
    words : list of str, optional
    """
    from darkspell.climate import site_climate
    from darkspell.simulation.system import build_system
    from darkspell.study import load_study
    from darkspell.weather.site_sky import sky_of

    parser = argparse.ArgumentParser("python -m dev.log_trial.disturbed", description=__doc__)
    parser.add_argument("study")
    parser.add_argument("--logs", type=int, default=10, help="simulated systems (10)")
    asked = parser.parse_args(words)
    study = load_study(asked.study)
    system = build_system(study, site_climate(study, study.folder), sky_of(study))
    plain, causes, said = plain_system(study, system.climate), {}, {}
    for number in range(0, 2 * asked.logs, 2):  # the even ones are unchanged
        log, _ = simulated(plain, number, REPORTING)
        for name, change in DISTURBED.items():
            rows = change(rows_of(log, "current+voltage"))
            found, word = named(study, system, rows, log, REPORTING + number)
            causes.setdefault(name, []).append(found)
            said.setdefault(name, []).append(word)
    for name, found in causes.items():
        wrong = sum(bool(part) for part in found)
        words = ", ".join(f"{word} {said[name].count(word)}" for word in ("sign", "clock", "another kind"))
        which = ", ".join(sorted({cause for part in found for cause in part})) or "-"
        print(
            f"{study.name}, {name}: a cause named in {wrong} of {len(found)} ({which}); said instead: {words}"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
