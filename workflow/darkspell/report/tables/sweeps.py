"""Steps of the sweeps, one column for each key."""

import json

import pandas as pd

from darkspell.design.cost_table import price_of_change
from darkspell.study.sweeps import steps_of_sweeps

LEFT_OUT = ("changes",)  # the columns of the keys have them


def sweeps_table(study, whatifs):
    """Table of sweeps.csv.

    Parameters
    ----------
    study : darkspell.study.Study
        With its sweeps.
    whatifs : pandas.DataFrame
        As whatifs.csv: the steps are what-ifs.

    Returns
    -------
    pandas.DataFrame
        A row a step and statistic: ``sweep``, a column for each key of any sweep (empty where the sweep does not
        have it), ``cost`` (first cost of the step; NaN where its bank has no price), then the columns of whatifs.csv.
    """
    steps = list(steps_of_sweeps(study.sweeps))
    keys = list(dict.fromkeys(key for _, _, changes in steps for key in changes))
    shown = [
        {"sweep": title, "whatif": name, "cost": price_of_change(study, study.with_changes(changes))[0]}
        | {key: _cell(value) for key, value in changes.items()}
        for title, name, changes in steps
    ]
    table = pd.DataFrame(shown, columns=["sweep", "whatif", "cost", *keys])
    table = table.merge(whatifs.drop(columns=list(LEFT_OUT)), on="whatif", how="inner")
    first = ["sweep", *keys, "cost"]
    return table[[*first, *table.columns.drop(first)]]


def _cell(value):
    return value if isinstance(value, int | float | str) else json.dumps(value, ensure_ascii=False)
