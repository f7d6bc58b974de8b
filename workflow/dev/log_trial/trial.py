"""How often logs are read rightly: ``python -m dev.log_trial.trial`` prints it.

The logs come from the second simulator (`dev.second_simulator`), which shares no code with the package. Half of
them are unchanged but for ordinary scatter, the others have one fault. Each log is of a system of its own, drawn at
random (`dev.log_trial.drawn_studies`), or all are of a study that is named. Constants were set on the calibrating
seeds of the first family of banks, loads and skies; what is printed without ``--calibrate`` comes from other seeds,
and with ``--family other`` from a family that no constant was set on.
"""

import argparse
import sys
import time
from dataclasses import dataclass

import numpy as np

from darkspell.log_analysis.classification import DIFFERS, FITS
from darkspell.log_analysis.compare import compare_rows, log_hours
from darkspell.log_analysis.quantities import CAUSES
from darkspell.log_analysis.weather import NOT_KNOWN
from dev.log_trial.drawn_studies import drawn_study
from dev.log_trial.measure import days_of, rows_of, simulated, weather_of
from dev.log_trial.plain import plain_system
from dev.second_simulator.log import FAMILIES

COLUMNS = ("current+voltage", "current", "soc", "power", "charge+load", "voltage")
CALIBRATING, REPORTING = 1, 27001


@dataclass(frozen=True)
class Outcome:
    """What came of one log: its truth, how it was handed over, verdicts by cause, and the misfit."""

    truth: object
    columns: str
    weather: bool
    step_min: int
    verdicts: dict
    misfit: list


def cases(count, seed, family="first", study=None, system=None, days=60):
    """Simulated logs with the studies that they are read with; yields (study, system, log, step_min).

    Parameters
    ----------
    count, seed : int
        Number of simulated systems, and first of their seeds.
    family : str
        See `dev.second_simulator.log.simulated_log`.
    study, system : optional
        One study for all logs; without it each log has a drawn one, and a length of its own.
    days : int
        Length of the logs of a given study.
    """
    for number in range(count):
        if study is None:
            own, own_system = drawn_study(number, seed)
            length = days_of(number, seed)
        else:
            own, own_system, length = study, system, days
        plain = plain_system(own, own_system.climate)
        yield own, own_system, *simulated(plain, number, seed, length, family)


def outcomes(logs, seed, columns=COLUMNS, weathers=(True, False), tell=None):
    """Read some logs of the second simulator; list of `Outcome`.

    Parameters
    ----------
    logs : iterable
        Of `cases`.
    seed : int
    columns, weathers : sequences
        Each log is read once for each pair.
    tell : callable, optional
        Called with the number of systems read so far.
    """
    out = []
    for number, (study, system, log, step) in enumerate(logs):
        for which in columns:
            rows, hours = log_hours(study, system, rows_of(log, which))
            for known in weathers:
                weather = weather_of(log, system, hours.dates) if known else NOT_KNOWN
                found = compare_rows(study, system, rows, hours, weather, seed + number)
                verdicts = {one.name: one for one in found.verdicts}
                out.append(Outcome(log.truth, which, known, step, verdicts, found.misfit))
        if tell:
            tell(number + 1)
    return out


def wrongly(one, cause):
    """Whether a cause is named though the truth is not outside the ordinary range on the same side.

    A load that is above that range by ordinary scatter is no wrong accusation.

    Parameters
    ----------
    one : Outcome
    cause : str
    """
    if not accused(one, cause):
        return False
    verdict, truth = one.verdicts[cause], getattr(one.truth, cause)
    low, high = verdict.ordinary
    return truth <= high if verdict.above else truth >= low


def accused(one, cause):
    """Whether a cause is named as differing.

    Parameters
    ----------
    one : result of one log
    cause : str
        One of `CAUSES`.
    """
    return not one.misfit and cause in one.verdicts and one.verdicts[cause].state == DIFFERS


def lines(results):
    """The numbers of one way of handing logs over, as text.

    Parameters
    ----------
    results : list
        Results of the logs.
    """
    healthy = [one for one in results if one.truth.fault == "none"]
    false = sum(any(wrongly(one, cause) for cause in CAUSES) for one in healthy)
    named = sum(any(accused(one, cause) for cause in CAUSES) for one in healthy)
    wrong = sum(
        any(wrongly(one, cause) for cause in CAUSES if cause != one.truth.fault)
        for one in results
        if one.truth.fault != "none"
    )
    faulty = [one for one in results if one.truth.fault != "none"]
    right = {
        cause: (
            sum(accused(one, cause) for one in faulty if one.truth.fault == cause),
            sum(one.truth.fault == cause for one in faulty),
        )
        for cause in CAUSES
    }
    kept, told, width = {}, {}, {}
    for cause in CAUSES:
        known = [one for one in results if cause in one.verdicts and np.isfinite(one.verdicts[cause].low)]
        inside = [
            one.verdicts[cause].low <= getattr(one.truth, cause) <= one.verdicts[cause].high for one in known
        ]
        kept[cause] = (sum(inside), len(inside))
        width[cause] = (
            np.median([(v.verdicts[cause].high - v.verdicts[cause].low) / 2 for v in known]) if known else 0
        )
        told[cause] = sum(one.verdicts[cause].state in (FITS, DIFFERS) for one in known)
    misfit = sum(bool(one.misfit) for one in results)
    return [
        f"  unchanged logs accused: {false} of {len(healthy)} (and {named - false} of a difference they have); "
        f"wrong cause named: {wrong} of {len(faulty)}; not of this kind: {misfit} of {len(results)}",
        "  right cause named: " + ", ".join(f"{cause} {a} of {b}" for cause, (a, b) in right.items()),
        "  intervals hold: "
        + ", ".join(
            f"{cause} {a} of {b}" + (f" ({100 * a / b:.0f} %, half width {width[cause]:.3f})" if b else "")
            for cause, (a, b) in kept.items()
        ),
        "  told at all (differs or as designed): " + ", ".join(f"{cause} {told[cause]}" for cause in CAUSES),
    ]


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

    parser = argparse.ArgumentParser("python -m dev.log_trial.trial", description=__doc__)
    parser.add_argument("study", nargs="?", help="a study file; drawn systems if left out")
    parser.add_argument("--logs", type=int, default=80, help="simulated systems (80)")
    parser.add_argument("--columns", nargs="+", choices=COLUMNS, default=COLUMNS)
    parser.add_argument("--days", type=int, default=60, help="length of the logs of a study (60)")
    parser.add_argument("--family", choices=FAMILIES, default="first", help="of the second simulator (first)")
    parser.add_argument("--calibrate", action="store_true", help="the calibrating seeds")
    asked = parser.parse_args(words)
    study = system = None
    if asked.study:
        study = load_study(asked.study)
        system = build_system(study, site_climate(study, study.folder), sky_of(study))
    begun = time.process_time()

    def tell(count):
        if count % 20 == 0:
            print(f"after {count} systems", file=sys.stderr, flush=True)

    seed = CALIBRATING if asked.calibrate else REPORTING
    logs = cases(asked.logs, seed, asked.family, study, system, asked.days)
    results = outcomes(logs, seed, asked.columns, tell=tell)
    name = study.name if study else f"drawn systems, {asked.family} family"
    for columns in asked.columns:
        for weather in (True, False):
            part = [one for one in results if one.columns == columns and one.weather == weather]
            print(f"{name}, {columns}, weather {'known' if weather else 'not known'}, {len(part)} logs")
            print("\n".join(lines(part)))
    print(f"{(time.process_time() - begun) / max(len(results), 1):.2f} s of processor a log", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
