"""Loss of load from hour arrays, by member and by month: energy, hours, days, nights and events.

Indices after R. Billinton & R. N. Allan, Reliability Evaluation of Power Systems (2nd ed., 1996). Loss of
load is counted for essential loads only; energies of both tiers are summed.
"""

from typing import NamedTuple

import numpy as np

from darkspell.core.constants import constant
from darkspell.core.jit import kernel, part
from darkspell.statistics.registry import CRITICAL_KEYS

LOSS_FLOOR = constant("statistics", "loss_floor")
_COUNTS = ("lolh", "lold", "short_nights", "events")
_ENERGIES = ("eue_essential_kwh", "eue_kwh", "demand_kwh")


class Events(NamedTuple):
    """Runs of consecutive hours with unserved essential load, in order of member, then start.

    Attributes
    ----------
    member : ndarray
        Lane in which the event happened; int64 [events].
    start : ndarray
        Hour of the study year in which it began; int64 [events].
    length : ndarray
        Length [h]; int64 [events].
    energy : ndarray
        Unserved essential energy [Wh]; float64 [events].
    """

    member: np.ndarray
    start: np.ndarray
    length: np.ndarray
    energy: np.ndarray


def reliability(
    unserved_essential, unserved_deferrable, load_essential, load_deferrable, calendar, night_floor,
    loss_floor=LOSS_FLOOR,
):  # fmt: skip
    """Reduce one batch of members to its loss of load.

    Parameters
    ----------
    unserved_essential, unserved_deferrable : ndarray
        Energy asked for and not delivered, by tier [Wh]; float32 [8760, L].
    load_essential, load_deferrable : ndarray
        Energy asked for, by tier [Wh in the hour, or W]; float32 [8760, L].
    calendar : darkspell.core.calendar.Calendar
        The study year.
    night_floor : float
        Unserved essential energy of one hour above which its night is short [Wh].
    loss_floor : float
        Unserved essential energy of one hour above which the hour counts as lost [Wh].

    Returns
    -------
    members : dict of ndarray
        ``demand_kwh``, ``eue_kwh``, ``eue_essential_kwh``, ``lolh``,
        ``lold``, ``short_nights``, ``events``, ``longest_event_h``; float64 [L].
    months : dict of ndarray
        The same without the last, by calendar month, January first; float64 [L, 12]. A night belongs to the
        month of its evening, an event to the month in which it began.

    Notes
    -----
    The year is taken as a ring, as nights and the warm-up are: its first morning and its last evening make
    one night, and an event running at both ends is one event.
    """
    counts, energies, longest = _reduce(
        unserved_essential, unserved_deferrable, load_essential, load_deferrable,
        calendar.month_of_hour, calendar.day_of_hour, calendar.night_of_hour, night_floor, loss_floor,
    )  # fmt: skip
    months = {name: counts[i].T.astype(float) for i, name in enumerate(_COUNTS)}
    months |= {name: energies[i].T / 1000 for i, name in enumerate(_ENERGIES)}
    members = {name: table.sum(axis=1) for name, table in months.items()}
    members["longest_event_h"] = longest.astype(float)
    return members, months


def critical_losses(
    unserved_essential, load_essential, load_critical, calendar, night_floor, unserved_critical=None
):
    """Loss of load of the critical tier, for which other essential loads are shed.

    Of what is not delivered in an hour, loads that are essential but not critical go without first:
    U_crit = max(U - (P_essential - P_critical), 0). What an empty bank denies to loads that are never disconnected
    counts as critical.

    Parameters
    ----------
    unserved_essential : float32 array [8760, L]
        Energy asked for and not delivered to essential and critical loads [Wh].
    load_essential, load_critical : float32 arrays [8760, L]
        Essential load, the critical included, and the critical alone [W]; None where no load is critical.
    calendar : darkspell.core.calendar.Calendar
    night_floor : float
        As in `reliability`.
    unserved_critical : float32 array [8760, L], optional
        Where an inverter switches critical loads off by itself: what they lack [Wh], in place of U_crit.

    Returns
    -------
    members : dict of float64 arrays [L]
        `darkspell.statistics.registry.CRITICAL_KEYS`; zeros where no load is critical.
    months : dict of float64 arrays [L, 12]
        The same by calendar month, January first.
    """
    lanes = unserved_essential.shape[1]
    if load_critical is None:
        return {key: np.zeros(lanes) for key in CRITICAL_KEYS}, {
            key: np.zeros((lanes, 12)) for key in CRITICAL_KEYS
        }
    short = unserved_critical
    if short is None:
        short = unserved_essential - (load_essential - load_critical)
    short = np.where(short > LOSS_FLOOR, short, np.float32(0.0))  # what is left of rounding is no loss
    nothing = np.zeros_like(short)
    members, months = reliability(short, nothing, load_critical, nothing, calendar, night_floor)
    names = dict(zip(CRITICAL_KEYS, ("lolh", "short_nights", "eue_essential_kwh"), strict=True))
    return tuple({key: found[name] for key, name in names.items()} for found in (members, months))


@kernel
def _reduce(
    essential, deferrable, load_essential, load_deferrable, month, day, night, night_floor, loss_floor
):
    hours, lanes = essential.shape
    counts = np.zeros((4, 12, lanes), np.int64)
    energies = np.zeros((3, 12, lanes))
    run, longest = np.zeros(lanes, np.int64), np.zeros(lanes, np.int64)
    last_day, last_night = np.full(lanes, -1), np.full(lanes, -1)
    for h in range(hours):
        m = month[h]
        for lane in range(lanes):
            energies[0, m, lane] += essential[h, lane]
            energies[1, m, lane] += float(essential[h, lane]) + float(deferrable[h, lane])
            energies[2, m, lane] += float(load_essential[h, lane]) + float(load_deferrable[h, lane])
        for lane in range(lanes):
            lost = essential[h, lane]
            if lost > loss_floor:
                counts[0, m, lane] += 1
                counts[1, m, lane] += last_day[lane] != day[h]
                last_day[lane] = day[h]
                counts[3, m, lane] += run[lane] == 0
                run[lane] += 1
                longest[lane] = max(longest[lane], run[lane])
            else:
                run[lane] = 0
            if lost > night_floor and h >= 12 and last_night[lane] != night[h]:
                counts[2, month[h - 12], lane] += 1
                last_night[lane] = night[h]
    for lane in range(lanes):
        _close_ring(essential[:, lane], lane, run[lane], last_night[lane], month, night, counts, longest,
                    night_floor, loss_floor)  # fmt: skip
    return counts, energies, longest


@part
def _close_ring(lost, lane, run, last_night, month, night, counts, longest, night_floor, loss_floor):
    """Join the last night and the last event of one lane to the first morning of its year."""
    hours = lost.size
    morning_short = False
    for h in range(12):
        morning_short |= lost[h] > night_floor
    if morning_short and last_night != night[0]:
        counts[2, month[hours - 1], lane] += 1
    if lost[0] > loss_floor and 0 < run < hours:
        h = 0
        while lost[h] > loss_floor:
            h += 1
        counts[3, month[0], lane] -= 1
        longest[lane] = max(longest[lane], run + h)


def list_events(unserved_essential, loss_floor=LOSS_FLOOR):
    """Every event of a batch, with its start, length and energy.

    Parameters
    ----------
    unserved_essential : ndarray
        Energy asked for and not delivered [Wh]; [hours, L], or [hours] for one member.
    loss_floor : float
        Unserved energy of one hour above which the hour counts as lost [Wh].

    Returns
    -------
    Events
        The year is a ring: an event running at both ends starts near the end.
    """
    lost = np.asarray(unserved_essential)
    lost = lost.reshape(lost.shape[0], -1)
    found = [_events_of_lane(lost[:, lane], loss_floor) for lane in range(lost.shape[1])]
    member = np.repeat(np.arange(len(found)), [part[0].size for part in found])
    return Events(member, *(np.concatenate(parts) for parts in zip(*found, strict=True)))


def _events_of_lane(lost, loss_floor):
    hours = lost.size
    bad = lost > loss_floor
    if bad.all():
        return np.array([0]), np.array([hours]), np.array([lost.sum(dtype=float)])
    start = np.flatnonzero(bad & ~np.roll(bad, 1))
    end = np.flatnonzero(bad & ~np.roll(bad, -1)) + 1
    if start.size and end[0] <= start[0]:
        end = np.append(end[1:], end[0] + hours)
    total = np.concatenate(([0.0], np.cumsum(np.tile(lost, 2), dtype=float)))
    return start, end - start, total[end] - total[start]


def monthly_energy(power, calendar):
    """Sum hour arrays by month.

    Parameters
    ----------
    power : ndarray
        Hourly mean power [W], or energy of the hour [Wh]; [8760, L].
    calendar : darkspell.core.calendar.Calendar
        The study year.

    Returns
    -------
    ndarray
        Energy [kWh]; float64 [L, 12], January first.
    """
    return _monthly_sums(power, calendar.month_of_hour) / 1000


@kernel
def _monthly_sums(power, month):
    hours, lanes = power.shape
    total = np.zeros((12, lanes))
    for h in range(hours):
        for lane in range(lanes):
            total[month[h], lane] += power[h, lane]
    return total.T


def monthly_means(daily, calendar):
    """Means of daily values by month.

    Parameters
    ----------
    daily : ndarray
        Any unit, such as daily clearness; [L, 365] in study order.
    calendar : darkspell.core.calendar.Calendar
        The study year.

    Returns
    -------
    ndarray
        float64 [L, 12], January first.
    """
    daily = np.asarray(daily, float)
    return np.stack([daily[:, calendar.month_of_day == month].mean(axis=1) for month in range(12)], axis=1)
