"""One simulated log from end to end, and the files that a reader of logs takes."""

from dataclasses import dataclass

import numpy as np

from dev.second_simulator.bank import drawn_bank, drawn_switches, run
from dev.second_simulator.fifth_family import (
    drawn_fifth_bank,
    drawn_fifth_charger,
    fifth_array_power,
    fifth_household,
    fifth_weather,
    run_fifth,
)
from dev.second_simulator.fourth_family import (
    drawn_fourth_bank,
    drawn_fourth_charger,
    fourth_array_power,
    fourth_household,
    fourth_weather,
    run_fourth,
)
from dev.second_simulator.instruments import Samples, irradiance_record, logged
from dev.second_simulator.loads import household
from dev.second_simulator.other_bank import drawn_other_bank, drawn_other_charger, run_other
from dev.second_simulator.other_loads import other_household
from dev.second_simulator.other_sky import other_array_power, other_weather
from dev.second_simulator.pv import array_power, under_snow
from dev.second_simulator.sky import weather
from dev.second_simulator.system import Truth, drawn_truth
from dev.second_simulator.third_family import (
    drawn_third_bank,
    run_third,
    third_array_power,
    third_household,
    third_weather,
)

RUN_IN = 25  # days before the log begins
FAMILIES = ("first", "other", "third", "fourth", "fifth")
COLUMNS = {
    "voltage": ("voltage",),
    "soc": ("soc",),
    "current": ("current",),
    "current+voltage": ("current", "voltage"),
    "charge+load": ("charge_current", "load_current", "voltage"),
    "power": ("power",),
}


def _first_household(system, first, days, scale, extra_share, _air, rng):
    return household(system, first, days, scale, extra_share, rng)


SKIES = dict(
    first=weather, other=other_weather, third=third_weather, fourth=fourth_weather, fifth=fifth_weather
)
ARRAYS = dict(
    first=array_power,
    other=other_array_power,
    third=third_array_power,
    fourth=fourth_array_power,
    fifth=fifth_array_power,
)
LOADS = dict(
    first=_first_household,
    other=other_household,
    third=third_household,
    fourth=fourth_household,
    fifth=fifth_household,
)
BANKS = dict(
    first=(drawn_bank, drawn_switches, run),
    other=(drawn_other_bank, drawn_other_charger, run_other),
    third=(drawn_third_bank, drawn_other_charger, run_third),
    fourth=(drawn_fourth_bank, drawn_fourth_charger, run_fourth),
    fifth=(drawn_fifth_bank, drawn_fifth_charger, run_fifth),
)


@dataclass(frozen=True)
class SimulatedLog:
    """A log, the weather of its dates, and the truth.

    Parameters
    ----------
    samples : Samples
    truth : Truth
        `load` is the energy asked for over that of the study, in the log's dates.
    first : datetime64[D]
    days : int
    irradiance : float64 array [hours]
        As a record of the dates gives it [W/m2].
    served_share, lowest : float
        Share of the energy asked for that was served; lowest state of charge [-].
    """

    samples: Samples
    truth: Truth
    first: np.datetime64
    days: int
    irradiance: np.ndarray
    served_share: float
    lowest: float


def simulated_log(system, fault, seed, days=60, step_min=5, mean=False, record="measured", family="first"):
    """Simulate one system and its log.

    Parameters
    ----------
    system : dev.second_simulator.system.PlainSystem
    fault : str
        See `dev.second_simulator.system.FAULTS`.
    seed : int
    days, step_min : int
        Length of the log, and minutes between its rows.
    mean : bool
        Rows are means of their interval.
    record : str
        See `dev.second_simulator.instruments.irradiance_record`.
    family : str
        One of `FAMILIES`: which sky, array, loads and bank.

    Returns
    -------
    SimulatedLog
    """
    rng = np.random.default_rng([seed, 4242])
    truth = drawn_truth(fault, system.monitor["offset_sd"], rng)
    first = np.datetime64("2023-01-01") + int(rng.integers(30, 365 * 2))
    begin, total = first - RUN_IN, days + RUN_IN
    extra, scale = 0.0, truth.load
    sky = SKIES[family](system, begin, total, rng)
    if fault == "load" and rng.random() < 0.5:
        scale, extra = truth.load / 1.3, 0.3
    air = sky["temp_air"].to_numpy()
    daily = air.reshape(total, 1440).mean(1)
    essential, deferrable, past, nominal = LOADS[family](system, begin, total, scale, extra, daily, rng)
    power = ARRAYS[family](system, sky, rng) * truth.array * under_snow(system, sky, rng)
    warm = np.convolve(air, np.full(1440, 1 / 1440.0), mode="same")
    if system.indoor is not None:
        warm = np.clip(warm + 4.0, *system.indoor)
    make_bank, make_charger, carry_out = BANKS[family]
    bank, charger = make_bank(system, truth.capacity, rng), make_charger(system, rng)
    minutes = carry_out(bank, charger, power, essential, deferrable, warm, rng.uniform(0.7, 1.0))
    cut = slice(RUN_IN * 1440, None)
    kept = type(minutes)(*(getattr(minutes, name)[cut] for name in ("current", "voltage", "soc", "served")))
    asked = (essential + deferrable)[cut]
    truth = Truth(
        float(asked.sum() / 60.0 / nominal[RUN_IN:].sum()), truth.array, truth.capacity, truth.offset, fault
    )
    samples = logged(system, kept, past[cut] / kept.voltage, truth.offset, first, step_min, mean, rng)
    record_hours = irradiance_record(sky.iloc[cut], record, rng)
    served = float(kept.served.sum() / max(asked.sum(), 1e-9))
    return SimulatedLog(samples, truth, first, days, record_hours, served, float(kept.soc.min()))


def write_log(log, path, columns):
    """Write the log as a CSV file with some of its columns.

    Parameters
    ----------
    log : object
        As `simulated_log` gives it.
    path : pathlib.Path
    columns : sequence of str
        Of ``soc``, ``current``, ``voltage``.
    """
    stamps = log.samples.seconds.astype("datetime64[s]")
    parts = [getattr(log.samples, name) for name in columns]
    rows = ["time," + ",".join(columns)]
    for stamp, *values in zip(stamps, *parts, strict=True):
        rows.append(str(stamp).replace("T", " ") + "," + ",".join(f"{value:.2f}" for value in values))
    path.write_text("\n".join(rows) + "\n")


def write_weather(log, path):
    """Write the irradiance of the dates as an hourly CSV, labelled by the beginning of the hour.

    Parameters
    ----------
    log : object
        As `simulated_log` gives it.
    path : pathlib.Path
    """
    stamps = log.first.astype("datetime64[h]") + np.arange(log.irradiance.size)
    rows = ["time,ghi"]
    for stamp, value in zip(stamps, log.irradiance, strict=True):
        rows.append(f"{str(stamp).replace('T', ' ')}:00,{value:.1f}")
    path.write_text("\n".join(rows) + "\n")
