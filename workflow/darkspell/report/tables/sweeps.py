"""Steps of the sweeps, one column for each key."""

import json

import pandas as pd

from darkspell.study.sweeps import steps_of_sweeps

LEFT_OUT = ("changes",)  # the columns of the keys have them


def sweeps_table(sweeps, whatifs):
    """Table of sweeps.csv.

    Parameters
    ----------
    sweeps : dict
        As ``study.sweeps``.
    whatifs : pandas.DataFrame
        As whatifs.csv: the steps are what-ifs.

    Returns
    -------
    pandas.DataFrame
        A row a step and statistic: ``sweep``, a column for each key of any sweep (empty where the sweep does not
        have it), then the columns of whatifs.csv.
    """
    steps = list(steps_of_sweeps(sweeps))
    keys = list(dict.fromkeys(key for _, _, changes in steps for key in changes))
    shown = [
        {"sweep": title, "whatif": name} | {key: _cell(value) for key, value in changes.items()}
        for title, name, changes in steps
    ]
    table = pd.DataFrame(shown, columns=["sweep", "whatif", *keys])
    table = table.merge(whatifs.drop(columns=list(LEFT_OUT)), on="whatif", how="inner")
    return table[["sweep", *keys, *table.columns.drop(["sweep", *keys])]]


def _cell(value):
    return value if isinstance(value, int | float | str) else json.dumps(value, ensure_ascii=False)
