"""How many events a year brings, by their length: many short ones and a long one are not the same to live with."""

import numpy as np

from darkspell.core.rounding import significant
from darkspell.statistics.bounded_means import bounded_intervals
from darkspell.statistics.proportions import share_interval

CLASSES = ((1, 2), (3, 6), (7, 12), (13, 24), (25, 72), (73, 8760))  # h, both included; our choice
COLUMNS = (
    "from_h", "to_h", "events", "events_low", "events_high", "years_pct", "years_pct_low", "years_pct_high",
    "eue_essential_kwh", "eue_essential_kwh_low", "eue_essential_kwh_high", "n",
)  # fmt: skip


def lengths_table(events, members, parameter_draw, demand, seed=0):
    """Rows of event_lengths.csv, one a class of length.

    Parameters
    ----------
    events : dict of arrays [events]
        ``member``, ``length`` [h], ``energy`` [Wh] of every event, see `darkspell.simulation.run.Simulation`.
    members : int array [members]
        Numbers of all members, those without an event too.
    parameter_draw : int array [members]
    demand : float
        Mean energy asked for in a year [kWh]; sets the size of an event where none was seen.
    seed : int

    Returns
    -------
    pandas.DataFrame
        `COLUMNS`: events a year that last from ``from_h`` to ``to_h`` hours, the share of years that have any [%],
        and the essential energy that they leave unserved in a year, each with the 95 % interval of its mean.
    """
    import pandas as pd

    place = np.searchsorted(members, events["member"])
    within = np.searchsorted([first for first, _ in CLASSES], events["length"], side="right") - 1
    count, energy = (np.zeros((len(members), len(CLASSES))) for _ in range(2))
    np.add.at(count, (place, within), 1.0)
    np.add.at(energy, (place, within), np.asarray(events["energy"], float) / 1000.0)
    any_low, any_high = share_interval((count > 0).astype(float), parameter_draw)
    table = pd.DataFrame(CLASSES, columns=["from_h", "to_h"])
    for name, values in (("events", count), ("eue_essential_kwh", energy)):
        low, high, _ = bounded_intervals(values, parameter_draw, [name] * len(CLASSES), demand, seed)
        table[name], table[f"{name}_low"], table[f"{name}_high"] = values.mean(axis=0), low, high
    table["years_pct"] = 100.0 * (count > 0).mean(axis=0)
    table["years_pct_low"], table["years_pct_high"] = 100.0 * any_low, 100.0 * any_high
    table["n"] = len(members)
    numbers = list(COLUMNS[2:-1])
    table[numbers] = table[numbers].apply(significant)
    return table[list(COLUMNS)]
