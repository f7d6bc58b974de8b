"""How far each kind of monitor is from the truth, for each chemistry: ``python -m dev.monitor_ranking [study]``.

The study gets a bank of each chemistry in turn, one array, and the monitors of `KINDS`. Printed is the mean absolute
error in points of percent over all hours, from midnight to six, below 50 % charge, from 50 to 90 %, and in those of
the latter in which the bank has been at rest for `REST_H` hours. The last row is the error of who reads nothing and
always says the median.
"""

import argparse

import numpy as np
import pandas as pd

from darkspell import api
from darkspell.core.constants import CHEMISTRIES, constant
from darkspell.monitor.all_monitors import readings

STUDY, MEMBERS = "config/tarn_hut.yaml", 64
LITHIUM = ("lfp", "nmc", "naion")
VOLTS = 24.0  # NMC cells make no 12 V bank
CAPACITY_AH = {True: 140.0, False: 280.0}  # of lithium, and of all others: the same charge to use
ARRAY_WP = 550.0  # full on half of all days, below half of its charge in dull weeks
REST_H = 4
NO_RESET = 80.0  # full-charge voltage that no bank of 24 V reaches
OWN_TABLE_MV = 20.0  # of 24 V: a table measured on the very bank
KINDS = {
    "shunt": {"kind": "shunt", "set_up": "fitted"},
    "shunt, never reset": {"kind": "shunt", "set_up": "fitted", "full_voltage_v": NO_RESET},
    "shunt, nobody set it": {"kind": "shunt", "set_up": "neglected"},
    "internal electronics": {"kind": "pack"},
    "gauge": {"kind": "gauge"},
    "gauge, corrected": {"kind": "gauge", "table": "corrected"},
    "gauge, waits for rest": {"kind": "gauge", "waits_for_rest": True},
    "the same, own table": {"kind": "gauge", "waits_for_rest": True, "table_error_mv": OWN_TABLE_MV},
}
HOURS = ("all", "night", "below_50", "50_to_90", "at_rest")
GUESS = "the median, always"


def ranked_study(study, chemistry):
    """The study with a bank of this chemistry and the monitors of `KINDS`.

    Parameters
    ----------
    study : darkspell.study.Study
    chemistry : str

    Returns
    -------
    darkspell.study.Study
    """
    array, *others = study.arrays
    off = {f"monitors.{name}": None for name in study.monitors} | {f"arrays.{name}": None for name in others}
    names = {f"monitors.m{i}": dict(kind) for i, kind in enumerate(KINDS.values())}
    return study.with_changes(
        off | names | {
            "bank.chemistry": chemistry, "bank.capacity_ah": CAPACITY_AH[chemistry in LITHIUM],
            f"arrays.{array}.power_wp": ARRAY_WP, "system.nominal_voltage_v": VOLTS,
        }
    )  # fmt: skip


def at_rest(current, capacity):
    """Hours that end `REST_H` hours with less than the 200 h current; bool array as `current`.

    Parameters
    ----------
    current : float array [8760, members]
        Of the bank [A].
    capacity : float
        [Ah].
    """
    still = np.abs(current) < constant("monitor", "rest_current_c") * capacity
    rested = still.copy()
    for back in range(1, REST_H):
        rested &= np.roll(still, back, axis=0)
    rested[:REST_H] = False
    return rested


def errors(study, chemistry):
    """Mean absolute error of each monitor [points] over each kind of hour; pandas.DataFrame.

    Parameters
    ----------
    study : darkspell.study.Study
    chemistry : str

    Returns
    -------
    pandas.DataFrame
        A row for each of `KINDS`, a column for each of `HOURS`; not a number where no hour is of that kind. Its
        ``attrs["share"]`` is the share of each kind of hour [-], ``attrs["full_days"]`` the days with a full bank.
    """
    changed = ranked_study(study, chemistry)
    system, some = api._system(changed, MEMBERS), np.arange(MEMBERS)
    traces = system.traces(some, some % changed.engine.parameter_draws)
    bank = system.bank(traces)
    of_day = np.arange(bank.soc.shape[0])[:, None] % 24
    middle = (bank.soc >= 0.5) & (bank.soc < 0.9)
    hours = {
        "all": np.ones(bank.soc.shape, bool), "night": np.broadcast_to(of_day < 6, bank.soc.shape),
        "below_50": bank.soc < 0.5, "50_to_90": middle,
        "at_rest": middle & at_rest(bank.current, changed.bank.capacity_ah),
    }  # fmt: skip
    found = readings(changed, system.chemistry, bank, traces, some)
    rows = {}
    for name, reading in zip(KINDS, found.values(), strict=True):
        away = 100.0 * np.abs(reading.soc - bank.soc)
        rows[name] = [away[which].mean() if which.any() else np.nan for which in hours.values()]
    truth = [bank.soc[which] for which in hours.values()]
    rows[GUESS] = [100.0 * np.abs(soc - np.median(soc)).mean() if soc.size else np.nan for soc in truth]
    table = pd.DataFrame(rows, index=HOURS).T
    table.attrs["share"] = {name: float(which.mean()) for name, which in hours.items()}
    full = bank.soc >= constant("bank", chemistry, "full_soc")
    table.attrs["full_days"] = float(full.reshape(-1, 24, MEMBERS).any(axis=1).mean() * 365.0)
    return table


def main(arguments=None):
    """Print a table for each chemistry.

    Parameters
    ----------
    arguments : list of str, optional
    """
    parser = argparse.ArgumentParser(
        prog="python -m dev.monitor_ranking", description=__doc__.splitlines()[0]
    )
    parser.add_argument("study", nargs="?", default=STUDY)
    asked = parser.parse_args(arguments)
    study = api.read_study(asked.study)
    print("mean absolute error, points of percent; share of such hours, %")
    for chemistry in CHEMISTRIES:
        table = errors(study, chemistry)
        shares = "".join(f"{100.0 * share:10.0f}" for share in table.attrs["share"].values())
        print(f"\n{chemistry}, full on {table.attrs['full_days']:.0f} days a year")
        print(" " * 24 + "".join(f"{name:>10}" for name in HOURS) + f"\n{'share':24}{shares}")
        for name, row in table.iterrows():
            print(f"{name:24}" + "".join(f"{value:10.1f}" for value in row), flush=True)


if __name__ == "__main__":
    main()
