"""What a mutant is tried on: the study's reader and check, the readers of weather and of logs."""

from copy import deepcopy
from functools import cache
from pathlib import Path

import yaml

from darkspell.cli import main as cli
from darkspell.climate import site_climate
from darkspell.core.calendar import Calendar
from darkspell.log_analysis.hourly_means import hours_of
from darkspell.log_analysis.reader import read_log
from darkspell.study import study_from
from darkspell.study.loader import load_all
from darkspell.study.yaml_reader import read_file
from dev.fuzz.log_mutants import log_mutant
from dev.fuzz.study_mutants import BASE, study_mutant
from dev.fuzz.weather_mutants import weather_mutant

CONFIG = Path(cli.__file__).parents[3] / "config"
SMALL = {
    "document": {"title": "A test", "client": "Nobody", "prepared_by": "Nobody"},
    "site": {"name": "Somewhere", "latitude_deg": 45.0, "longitude_deg": 10.0},
    "climate": {"source": "monthly", "clearness_index": [0.4] * 12, "temp_air_c": [8.0] * 12},
    "system": {"nominal_voltage_v": 12},
    "arrays": {"roof": {"power_wp": 200, "tilt_deg": 45, "azimuth_deg": 180}},
    "controller": {"kind": "mppt"},
    "bank": {"chemistry": "agm", "capacity_ah": 200},
    "loads": {"lamp": {"watts": 10, "hours_per_day": 4, "tier": "essential"}},
    "target": {"statistic": "short_nights", "at_most": 1},
    "sizing": {
        "array_wp": [100, 200],
        "bank_ah": [100, 200],
        "prices": {"array_per_wp": 1, "bank_per_ah": 3},
    },
}


@cache
def examples():
    """Studies to start from: those of ``config/`` and a small one, with the files next to them."""
    return [(SMALL, None), *((read_file(path), path.parent) for path in sorted(CONFIG.glob("*.yaml")))]


def studies(rng, folder):
    """One mutant of a study, through ``darkspell check``.

    Parameters
    ----------
    rng : random.Random
    folder : pathlib.Path
        For the files of the mutant.
    """
    study, home = rng.choice(examples())
    data, done = study_mutant(rng, study)
    path = folder / "mutant.yaml"
    path.write_bytes(data)
    if b"extends" in data:
        (folder / BASE).write_text(yaml.safe_dump(study, sort_keys=False), encoding="utf-8")
    for file in home.glob("*.csv") if home else ():
        (folder / file.name).write_bytes(file.read_bytes())
    if b"\ncross:" in data:  # the command asks for one of them; here all are read
        return lambda: load_all(path) and 0, done
    return lambda: cli.main(["check", str(path)]), done


def weather(rng, folder):
    """One mutant of a weather file, through the climate of its study.

    Parameters
    ----------
    rng : random.Random
    folder : pathlib.Path
        For the files of the mutant.
    """
    name, data, section, done = weather_mutant(rng)
    (folder / name).write_bytes(data)
    given = deepcopy(SMALL) | {"climate": section}

    def action():
        study = study_from(given, "mutant", folder)
        site_climate(study, folder)
        return 0

    return action, done


def logs(rng, folder):
    """One mutant of a log, through its readers.

    Parameters
    ----------
    rng : random.Random
    folder : pathlib.Path
        For the files of the mutant.
    """
    data, section, done = log_mutant(rng)
    path = folder / "log.csv"
    path.write_bytes(data)
    given = deepcopy(SMALL) | {"log": section}

    def action():
        study = study_from(given, "mutant", folder)
        shunt = study.monitors[study.monitor]
        rows = read_log(path, study.log, study.site.utc_offset_h)
        hours_of(rows, Calendar(start_month=1), study.system.nominal_voltage_v, shunt.capacity_set_ah)
        return 0

    return action, done


TARGETS = {"studies": studies, "weather": weather, "logs": logs}
