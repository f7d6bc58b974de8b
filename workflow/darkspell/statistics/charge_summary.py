"""How deep a bank goes, what it holds at dawn, how soon it is full again, and how much passes through."""

import numpy as np

from darkspell.core.constants import constant
from darkspell.core.jit import kernel

DAWN_HOUR = constant("statistics", "dawn_hour")


def charge_summary(soc, calendar, full_soc, dawn_hour=DAWN_HOUR):
    """Reduce state of charge, true or reported, by member and month.

    Parameters
    ----------
    soc : ndarray
        State of charge at the end of each hour, a fraction [-]; float32 [8760, L].
    calendar : darkspell.core.calendar.Calendar
        The study year.
    full_soc : float
        State of charge from which the bank counts as full [-].
    dawn_hour : int
        Local standard time at which the dawn reading is taken, 1-24 [h].

    Returns
    -------
    members : dict of ndarray
        ``max_depth_pct`` [%], ``full_charges`` (days with an hour at full) and
        ``longest_full_charge_interval_days`` (longest time without being full; full at the start of the
        year, and an interval still open at its end counts); float64 [L].
    months : dict of ndarray
        ``max_depth_pct`` [%], ``dawn_soc_pct`` (mean over days) [%] and ``days_with_full_charge``; float64
        [L, 12], January first.
    """
    lowest, dawn, full_days, longest = _walk(
        soc, calendar.month_of_hour, calendar.hour_of_day, np.float32(full_soc), dawn_hour - 1
    )
    days = np.bincount(calendar.month_of_day, minlength=12)
    months = {
        "max_depth_pct": 100 * (1 - lowest.T),
        "dawn_soc_pct": 100 * dawn.T / days,
        "days_with_full_charge": full_days.T.astype(float),
    }
    members = {
        "max_depth_pct": months["max_depth_pct"].max(axis=1),
        "full_charges": months["days_with_full_charge"].sum(axis=1),
        "longest_full_charge_interval_days": longest / 24,
    }
    return members, months


@kernel
def _walk(soc, month, hour_of_day, full_soc, dawn_hour):
    hours, lanes = soc.shape
    lowest, dawn = np.full((12, lanes), np.inf), np.zeros((12, lanes))
    full_days = np.zeros((12, lanes), np.int64)
    today = np.zeros(lanes, np.int64)
    below, longest = np.zeros(lanes, np.int64), np.zeros(lanes, np.int64)
    for h in range(hours):
        m = month[h]
        for lane in range(lanes):
            lowest[m, lane] = min(lowest[m, lane], float(soc[h, lane]))
            full = soc[h, lane] >= full_soc
            today[lane] = 1 if full else today[lane]
            below[lane] = 0 if full else below[lane] + 1
            longest[lane] = max(longest[lane], below[lane])
        if hour_of_day[h] == dawn_hour:
            for lane in range(lanes):
                dawn[m, lane] += soc[h, lane]
        if hour_of_day[h] == 23:
            for lane in range(lanes):
                full_days[m, lane] += today[lane]
                today[lane] = 0
    return lowest, dawn, full_days, longest


def throughput(current, rated_capacity):
    """Charge that leaves the bank in a year.

    Parameters
    ----------
    current : ndarray
        Net current at the bank's terminals, charging positive [A]; float32 [8760, L].
    rated_capacity : float
        Capacity on the label [Ah].

    Returns
    -------
    dict of ndarray
        ``discharge_throughput_ah`` [Ah] and ``equivalent_full_cycles`` [-]; float64 [L].
    """
    discharged = _discharged(current)
    return {
        "discharge_throughput_ah": discharged,
        "equivalent_full_cycles": discharged / rated_capacity,
    }


@kernel
def _discharged(current):
    hours, lanes = current.shape
    total = np.zeros(lanes)
    for h in range(hours):
        for lane in range(lanes):
            total[lane] += max(-float(current[h, lane]), 0.0)
    return total
