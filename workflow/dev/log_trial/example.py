"""An invented log of a study: ``python -m dev.log_trial.example STUDY LOG.csv`` writes it."""

import argparse
import sys
from pathlib import Path

import numpy as np

from darkspell.climate import daily_extraterrestrial
from darkspell.core.atomic_files import write_text
from darkspell.core.calendar import DAYS
from dev.log_trial.made import CAUSES, made_logs

YEAR = 2025


def write_example(assembly, path, cause, days=60, seed=1):
    """Write an invented log, and beside it the daily irradiation of its dates.

    Parameters
    ----------
    assembly : darkspell.simulation.system.Assembly
    path : pathlib.Path
        The log; the irradiation goes to ``<name>_weather.csv``.
    cause : str
        What differs, see `dev.log_trial.made.CAUSES`.
    days, seed : int

    Returns
    -------
    pathlib.Path
        Of the irradiation.
    """
    log = made_logs(assembly, [cause] * 64, days, seed)[0]
    calendar = assembly.calendar
    start = np.datetime64(f"{YEAR}-01-01") + int(calendar.day_of_year[log.first_day]) - 1
    times = start.astype("datetime64[s]") + log.seconds.astype("timedelta64[s]")
    rows = ["time,soc,current,voltage"]
    for time, *numbers in zip(times, log.soc, log.current, log.voltage, strict=True):
        rows.append(f"{str(time).replace('T', ' ')},{numbers[0]:.1f},{numbers[1]:.2f},{numbers[2]:.2f}")
    write_text(path, "\n".join(rows) + "\n")
    weather = path.with_name(f"{path.stem}_weather.csv")
    extra = daily_extraterrestrial(assembly.study.site.latitude_deg, calendar.day_of_year)
    lines = ["date,ghi"]
    for day in range(days):
        at = (log.first_day + day) % DAYS
        lines.append(f"{start + day},{log.clearness[at] * extra[at]:.3f}")
    write_text(weather, "\n".join(lines) + "\n")
    return weather


def main(words=None):
    """Write an invented log."""
    from darkspell.climate import site_climate
    from darkspell.simulation.system import assemble, sky_of
    from darkspell.study import load_study

    parser = argparse.ArgumentParser("python -m dev.log_trial.example", description=__doc__)
    parser.add_argument("study")
    parser.add_argument("log", type=Path)
    parser.add_argument("--cause", choices=CAUSES, default="array", help="what differs (array)")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args(words)
    study = load_study(asked.study)
    assembly = assemble(study, site_climate(study, study.folder), sky_of(study))
    weather = write_example(assembly, asked.log, asked.cause, seed=asked.seed)
    print(
        f"{asked.log} is written, an invented log; the weather of its dates is {weather}. To use it, beside it:"
    )
    print(f"log:\n  weather_file: {weather.name}\n  weather_series: {{step: daily, ghi_unit: kWh/m2}}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
