"""An invented log of a study: ``python -m dev.log_trial.example STUDY LOG.csv`` writes it.

It comes from the second simulator, with the irradiation of its dates in a file next to it.
"""

import argparse
import sys
from pathlib import Path

from dev.log_trial.plain import plain_system
from dev.second_simulator.log import simulated_log, write_log, write_weather
from dev.second_simulator.system import FAULTS


def write_example(study, climate, path, fault, seed=1, days=60, step_min=5):
    """Write an invented log and the hourly irradiation of its dates.

    Parameters
    ----------
    study : darkspell.study.Study
    climate : darkspell.climate.SiteClimate
    path : pathlib.Path
        The log; the irradiation goes to ``<name>_weather.csv``.
    fault : str
        What differs, see `dev.second_simulator.system.FAULTS`.
    seed, days, step_min : int

    Returns
    -------
    weather : pathlib.Path
        Of the irradiation.
    truth : dev.second_simulator.system.Truth
    """
    log = simulated_log(plain_system(study, climate), fault, seed, days, step_min)
    write_log(log, path, ("soc", "current", "voltage"))
    weather = path.with_name(f"{path.stem}_weather.csv")
    write_weather(log, weather)
    return weather, log.truth


def main(words=None):
    """Write an invented log.

    Parameters
    ----------
    words : list of str, optional
    """
    from darkspell.climate import site_climate
    from darkspell.study import load_study

    parser = argparse.ArgumentParser("python -m dev.log_trial.example", description=__doc__)
    parser.add_argument("study")
    parser.add_argument("log", type=Path)
    parser.add_argument("--cause", choices=FAULTS, default="array", help="what differs (array)")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args(words)
    study = load_study(asked.study)
    weather, _ = write_example(study, site_climate(study, study.folder), asked.log, asked.cause, asked.seed)
    print(
        f"{asked.log} is written, an invented log; the weather of its dates is {weather}. To use it, in the study:"
    )
    print(f"log:\n  weather_file: {weather.resolve()}")
    print("  weather_series: {step: hourly, time_columns: [time], ghi_unit: W/m2}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
