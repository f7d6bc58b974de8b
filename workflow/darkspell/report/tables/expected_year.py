"""What an ordinary year looks like in the bank and on the monitor: bands that a logged year is held against."""

import numpy as np

from darkspell.core.calendar import MONTH_NAMES
from darkspell.core.messages import N_
from darkspell.core.rounding import significant

GROUPS = {
    "depth": "How deep it goes",
    "recovery": "How soon it is full again",
    "use": "How much passes through",
}
# Group, quantity, unit, statistic in the bank and on the monitor.
YEARLY = (
    ("depth", "deepest of the year", "%", "max_depth_true_pct", "max_depth_reported_pct"),
    (
        "recovery",
        N_("usual time from one full charge to the next"),
        N_("days"),
        "usual_interval_true",
        "usual_interval_reported",
    ),
    (
        "recovery",
        N_("longest time from one full charge to the next"),
        N_("days"),
        "longest_full_charge_interval_days",
        "longest_full_charge_interval_reported_days",
    ),
    ("use", N_("charge taken out in the year"), "Ah", "discharge_throughput_ah", "discharge_counted_ah"),
    ("use", N_("charge taken out on a mean day"), "Ah", "daily_true", "daily_counted"),
    ("use", N_("equivalent full cycles"), "-", "equivalent_full_cycles", "cycles_counted"),
)
BANDS = (0.1, 0.5, 0.9)
COLUMNS = ("group", "quantity", "month", "unit", "source", "p10", "p50", "p90", "n")


def expected_year(members, months, calendar, rated_ah, set_ah):
    """Bands of an ordinary year, in the bank and as the owner's monitor shows them.

    Parameters
    ----------
    members : dict of float arrays [members]
        As members.csv.
    months : dict of float arrays [members, 12]
        Of which the state of charge at dawn is taken, January first.
    calendar : darkspell.core.calendar.Calendar
    rated_ah, set_ah : float
        Capacity on the label, and the one set in the monitor [Ah].

    Returns
    -------
    pandas.DataFrame
        `COLUMNS`: ``group`` is ``depth``, ``recovery`` or ``use``; ``month`` 1-12, 0 for the whole year;
        ``source`` is ``bank`` or ``monitor``; a tenth of the years is below ``p10``, half below ``p50``.
    """
    import pandas as pd

    members = members | {
        "usual_interval_true": _usual(members["full_charges"]),
        "usual_interval_reported": _usual(members["full_charges_reported"]),
        "daily_true": np.asarray(members["discharge_throughput_ah"]) / 365.0,
        "daily_counted": np.asarray(members["discharge_counted_ah"]) / 365.0,
        "equivalent_full_cycles": np.asarray(members["discharge_throughput_ah"]) / rated_ah,
        "cycles_counted": np.asarray(members["discharge_counted_ah"]) / set_ah,
    }
    rows = []
    for group, quantity, unit, *names in YEARLY:
        for source, name in zip(("bank", "monitor"), names, strict=True):
            rows.append((group, quantity, 0, unit, source, *_bands(members[name])))
        if quantity == YEARLY[0][1]:
            for month in calendar.month_order:
                for source, kind in (("bank", "true"), ("monitor", "reported")):
                    depth = 100.0 - np.asarray(months[f"dawn_soc_{kind}_pct"])[:, month]
                    rows.append(("depth", "at dawn", month + 1, "%", source, *_bands(depth)))
    return pd.DataFrame(rows, columns=COLUMNS)


def month_name(number):
    """Name of a month 1-12, ``year`` for 0.

    Parameters
    ----------
    number : int
    """
    return MONTH_NAMES[int(number) - 1] if number else "year"


def _usual(full_days):
    """Mean days from one day with a full charge to the next; 365 where there is one at most."""
    return 365.0 / np.maximum(np.asarray(full_days, float), 1.0)


def _bands(values):
    values = np.asarray(values, float)
    return (*significant(np.quantile(values, BANDS)), len(values))
