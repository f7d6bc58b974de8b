"""How often the log is read rightly: ``python -m dev.log_trial.trial STUDY`` prints it.

Invented logs of 60 days, half unchanged, the others with one change; weather of the dates known or not. The
thresholds were set on the calibrating seeds; what is printed without ``--calibrate`` comes from others.
"""

import argparse
import sys
import time

import numpy as np

from darkspell.log_analysis.classification import DIFFERS, FITS, findings, main_cause
from darkspell.log_analysis.hourly_means import hour_means
from darkspell.log_analysis.inference import ASKED, HourLog, infer
from dev.log_trial.made import made_logs

DAYS = 60
CAUSES = (["none"] * 4 + ["load", "array", "capacity", "offset"]) * 8
CALIBRATING, REPORTING = 1000, 2000


def outcomes(assembly, count, seed, known, tell=None):
    """Read some invented logs.

    Parameters
    ----------
    assembly : darkspell.simulation.system.Assembly
    count : int
    seed : int
        First seed; each makes 64 logs.
    known : bool
        Whether the weather of the dates is known: daily clearness with the error of a satellite's.
    tell : callable, optional
        Called with the list so far after each log.

    Returns
    -------
    list of (cause, list of Told, dict, Posterior)
        True cause, what was told, true values, intervals.
    """
    out, offset = [], assembly.study.monitors[assembly.study.monitor].offset_ma
    for start in range(0, count, len(CAUSES)):
        logs = made_logs(assembly, CAUSES, DAYS, seed + start)
        for at, log in enumerate(logs[: count - start]):
            clearness = None
            if known:
                rng = np.random.default_rng([seed + start, at])
                clearness = np.round(log.clearness * np.exp(0.05 * rng.standard_normal(365)), 3)
            posterior = infer(assembly, hourly(log), clearness, seed=seed + start + at)
            out.append((log.cause, findings(posterior, offset), log.asked, posterior))
            if tell:
                tell(out)
    return out


def hourly(log):
    """An invented log as hours of the study's calendar."""
    hours = (24 * log.first_day + np.arange(24 * DAYS)) % 8760
    current, voltage = (hour_means(log.seconds, part, 24 * DAYS) for part in (log.current, log.voltage))
    return HourLog(hours, current.astype(np.float32), voltage.astype(np.float32))


def summary(results):
    """Counts and shares as lines of text; list of str."""
    lines = []
    unchanged = [found for cause, found, *_ in results if cause == "none"]
    alarms = sum(main_cause(found) is not None for found in unchanged)
    blamed = [main_cause(found) for found in unchanged if main_cause(found)]
    which = f": {', '.join(sorted(blamed))}" if blamed else ""
    share = _pct(alarms, len(unchanged))
    lines.append(f"unchanged logs {len(unchanged)}: false alarms {alarms} ({share}){which}")
    for name in ASKED:
        states = [next(one for one in found if one.name == name).state for found in unchanged]
        lines.append(f"  {name}: as designed {states.count(FITS)}, cannot be told {_untold(states)}")
    named_all = right_all = 0
    for name in ASKED:
        rows = [found for cause, found, *_ in results if cause == name]
        right = sum(main_cause(found) == name for found in rows)
        wrong = sum(main_cause(found) not in (None, name) for found in rows)
        states = [next(one for one in found if one.name == name).state for found in rows]
        missed = sum(
            state == FITS and main_cause(found) is None for state, found in zip(states, rows, strict=True)
        )
        named_all, right_all = named_all + right + wrong, right_all + right
        lines.append(
            f"{name} changed, {len(rows)} logs: named {right} ({_pct(right, len(rows))}), "
            f"another cause named {wrong} ({_pct(wrong, len(rows))}), called as designed {missed}, "
            f"cannot be told {len(rows) - right - wrong - missed}"
        )
    lines.append(f"right cause among those told: {right_all} of {named_all} ({_pct(right_all, named_all)})")
    lines.append(f"coverage of the 95 % intervals: {_coverage(results)}")
    return lines


def _coverage(results):
    parts = []
    for at, name in enumerate(ASKED):
        inside = [p.low[at] <= asked[name] <= p.high[at] for _, _, asked, p in results]
        width = np.median([p.high[at] - p.low[at] for *_, p in results])
        parts.append(f"{name} {_pct(sum(inside), len(inside))} (median width {width:.3g})")
    return ", ".join(parts)


def misses(results):
    """Errors in units of the interval's half width, by what is asked: 80th, 95th, 98th percentile; text."""
    lines = []
    for at, name in enumerate(ASKED):
        half = np.array([(p.high[at] - p.low[at]) / 2 for *_, p in results])
        off = np.array([abs(p.middle[at] - asked[name]) for _, _, asked, p in results])
        cut = np.quantile(off / half, [0.8, 0.95, 0.98])
        shares = ", ".join(f"{value:.2f}" for value in cut)
        lines.append(f"  {name}: {shares}; rms {np.sqrt((off**2).mean()):.4g}")
    return lines


def _untold(states):
    return len(states) - states.count(FITS) - states.count(DIFFERS)


def _pct(part, whole):
    return f"{100.0 * part / whole:.1f} %" if whole else "none"


def main(words=None):
    """Print the numbers."""
    from darkspell.climate import site_climate
    from darkspell.simulation.system import assemble, sky_of
    from darkspell.study import load_study

    parser = argparse.ArgumentParser("python -m dev.log_trial.trial", description=__doc__)
    parser.add_argument("study")
    parser.add_argument("--logs", type=int, default=400)
    parser.add_argument(
        "--calibrate", action="store_true", help="the calibrating seeds, and what they miss by"
    )
    parser.add_argument("--weather", choices=("known", "unknown", "both"), default="both")
    asked = parser.parse_args(words)
    study = load_study(asked.study)
    assembly = assemble(study, site_climate(study, study.folder), sky_of(study))
    seed = CALIBRATING if asked.calibrate else REPORTING
    for known in (True, False):
        if asked.weather != "both" and known != (asked.weather == "known"):
            continue
        begun = time.process_time()

        def tell(so_far):
            if len(so_far) % 80 == 0 and len(so_far) < asked.logs:
                print(f"\nafter {len(so_far)} logs", *summary(so_far), sep="\n", file=sys.stderr, flush=True)

        results = outcomes(assembly, asked.logs, seed, known, tell)
        print(f"\n{study.name}, {asked.logs} logs of {DAYS} days, weather {'known' if known else 'unknown'}")
        print("\n".join(summary(results)))
        if asked.calibrate:
            print("errors over half widths, 80th, 95th, 98th percentile")
            print("\n".join(misses(results)))
        print(f"{(time.process_time() - begun) / asked.logs:.2f} s of processor a log", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
