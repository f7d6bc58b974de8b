"""Logs of the second simulator, read by the package; what came of each."""

from types import SimpleNamespace

import numpy as np

from darkspell.climate.extraterrestrial import daily_extraterrestrial
from darkspell.climate.record.record import day_of_year, leap_day
from darkspell.log_analysis.reader import Rows
from darkspell.log_analysis.weather import NOT_KNOWN, on_calendar
from dev.second_simulator.log import COLUMNS, simulated_log

# Half unchanged, half with one fault; drawn in this order.
FAULTS = ("none", "load", "none", "array", "none", "offset", "none", "capacity")
SAMPLINGS = (1, 5, 10, 60)
RECORDS = ("measured", "estimated")
LENGTHS = (30, 60, 60, 120)


def rows_of(log, columns):
    """A simulated log's rows as the package's reader gives them.

    Parameters
    ----------
    log : simulated log
    columns : str
        Key of `COLUMNS`.
    """
    samples, values = log.samples, {}
    if "soc" in COLUMNS[columns]:
        values["soc"] = samples.soc / 100.0
    if "current" in COLUMNS[columns]:
        values["current"] = samples.current
    if "voltage" in COLUMNS[columns]:
        values["voltage"] = samples.voltage
    if "power" in COLUMNS[columns]:
        values["power"] = samples.current * samples.voltage
    if "load_current" in COLUMNS[columns]:
        values["load_current"] = samples.load
        values["charge_current"] = samples.current + samples.load
        values["current"] = values["charge_current"] - values["load_current"]
    return Rows("simulated.csv", samples.seconds, values, [])


def weather_of(log, system, dates):
    """Hourly record of the log's dates; `darkspell.log_analysis.weather.KnownWeather`.

    Parameters
    ----------
    log : simulated log
    system : System
    dates : datetime64[D] [days]
    """
    days = log.first + np.arange(log.days)
    keep = ~leap_day(days)
    hours = log.irradiance.reshape(-1, 24)[keep]
    extra = daily_extraterrestrial(system.study.site.latitude_deg, day_of_year(days[keep]))
    record = SimpleNamespace(dates=days[keep], kt=hours.sum(1) / 1000.0 / extra, ghi=hours, name="a record")
    found = on_calendar(record, system.calendar, dates)
    return NOT_KNOWN if found is None else found


def simulated(plain, number, seed, days=60, family="first"):
    """Log number `number` of a series: fault, sampling and kind of record go round.

    Parameters
    ----------
    plain : dev.second_simulator.system.PlainSystem
    number, seed : int
    days : int
        Length of the log.
    family : str
        See `dev.second_simulator.log.simulated_log`.

    Returns
    -------
    log : dev.second_simulator.log.SimulatedLog
    step_min : int
        Minutes between rows.
    """
    rng = np.random.default_rng([seed, number, 7])
    step = int(rng.choice(SAMPLINGS))
    return simulated_log(
        plain, FAULTS[number % len(FAULTS)], 100_000 * seed + number, days, step,
        mean=step == 60 and rng.random() < 0.5, record=str(rng.choice(RECORDS)), family=family,
    ), step  # fmt: skip


def days_of(number, seed):
    """Length of a log of a drawn study [days]: from one month to four.

    Parameters
    ----------
    number, seed : int
    """
    return int(np.random.default_rng([seed, number, 8]).choice(LENGTHS))
