"""How long a bank takes to be full again: begun empty in each month, and after each deep dawn or cut-off.

The first is asked of every month alike, whatever the weather that empties a bank; the second is what the
years brought, with the dull weather that led to it.
"""

from typing import NamedTuple

import numpy as np

from darkspell.core.calendar import HOURS
from darkspell.core.constants import constant
from darkspell.core.rounding import significant
from darkspell.statistics.autonomy import by_month
from darkspell.statistics.charge_summary import DAWN_HOUR
from darkspell.statistics.intervals import quantile_interval
from darkspell.statistics.proportions import share_interval
from darkspell.statistics.reliability import LOSS_FLOOR

RECOVERY_DAYS = constant("statistics", "recovery_days")
FEWEST = constant("statistics", "rare_members")
BEGUN_EMPTY, AS_IT_CAME = "begun empty", "as it came"
NEVER = np.int32(4 * HOURS)


class Spells(NamedTuple):
    """Times from a deep dawn or a cut-off to the next full charge; int64 arrays [spells].

    Attributes
    ----------
    member : lane
    start : hour of the study year at whose end the bank was found deep, or in which load was lost
    length : hours to the next full charge; a year where there is none
    """

    member: np.ndarray
    start: np.ndarray
    length: np.ndarray


def recovery_spells(soc, unserved, calendar, full_soc, depth, loss_floor=LOSS_FLOOR):
    """Every spell of a block, the first deep dawn or lost hour after a full charge being its beginning.

    Parameters
    ----------
    soc, unserved : float32 arrays [8760, L]
        State of charge at the end of the hour [-]; essential energy asked for and not delivered [Wh].
    calendar : darkspell.core.calendar.Calendar
    full_soc : float
        State of charge from which the bank counts as full [-].
    depth : float
        Depth of discharge beyond which a dawn is deep [-].
    loss_floor : float
        Unserved energy of an hour above which it counts as lost [Wh].

    Returns
    -------
    Spells
        The year is a ring: a spell may run over its end.
    """
    dawn = calendar.hour_of_day == DAWN_HOUR - 1
    begun = (dawn[:, None] & (soc < 1.0 - depth)) | (unserved > loss_floor)
    hour, lane = np.nonzero(begun)
    hours = np.arange(2 * HOURS, dtype=np.int32)[:, None]
    full = np.where(np.tile(soc >= full_soc, (2, 1)), hours, NEVER)
    there = np.minimum.accumulate(full[::-1], axis=0)[::-1][hour, lane]
    length = np.where(there == NEVER, HOURS, there - hour)
    group = np.where(there == NEVER, -1, there % HOURS)
    order = np.lexsort((-length, group, lane))
    pairs = np.stack((lane[order], group[order]))
    fresh = np.ones(order.size, bool)
    fresh[1:] = (pairs[:, 1:] != pairs[:, :-1]).any(axis=0)
    kept = order[fresh & (length[order] > 0)]
    return Spells(lane[kept], hour[kept], length[kept])


def recovery_table(empty, spells, parameter_draw, calendar, seed=0):
    """Rows of recovery.csv, one a month and kind.

    Parameters
    ----------
    empty : int array [36, members]
        Hours from an empty bank to a full one, starts as `darkspell.statistics.autonomy.start_hours` has them.
    spells : dict of int arrays [spells]
        ``member``, ``start``, ``length``, see `Spells`.
    parameter_draw : int array [members]
    calendar : darkspell.core.calendar.Calendar
    seed : int

    Returns
    -------
    pandas.DataFrame
        ``start_month`` (1-12), ``kind`` (`BEGUN_EMPTY` or `AS_IT_CAME`), ``years_pct`` with ``years_pct_low`` and
        ``years_pct_high`` (share of years that saw such a spell begin in the month [%]; `AS_IT_CAME` alone),
        ``days_p10``, ``days_p50``, ``days_p90``, ``days_low``, ``days_high`` (interval of the median, 95 %; not a
        number where fewer than 20 years saw it), ``beyond_pct`` (not full within `RECOVERY_DAYS` [%]), ``n``
        (years). Of several spells in a month and year the longest counts.
    """
    import pandas as pd

    parameter_draw, seen = np.asarray(parameter_draw), np.full((12, len(parameter_draw)), np.nan)
    month = calendar.month_of_hour[np.asarray(spells["start"], int)]
    days = np.minimum(np.asarray(spells["length"]) / 24.0, RECOVERY_DAYS)
    np.fmax.at(seen, (month, np.asarray(spells["member"], int)), days)
    begun = by_month(empty)
    rows = [
        (m + 1, BEGUN_EMPTY, *(np.nan,) * 3, *_days(begun[m], parameter_draw, seed), len(parameter_draw))
        for m in calendar.month_order
    ]
    for m in calendar.month_order:
        there = np.isfinite(seen[m])
        bounds = share_interval(there.astype(float), parameter_draw)
        shares = (100.0 * float(value) for value in (there.mean(), *bounds))
        found = _days(seen[m][there][:, None], parameter_draw[there], seed)
        rows.append((m + 1, AS_IT_CAME, *shares, *found, int(there.sum())))
    table = pd.DataFrame(rows, columns=COLUMNS)
    numbers = list(COLUMNS[2:-1])
    table[numbers] = table[numbers].apply(significant)
    return table


COLUMNS = (
    "start_month", "kind", "years_pct", "years_pct_low", "years_pct_high", "days_p10", "days_p50", "days_p90",
    "days_low", "days_high", "beyond_pct", "n",
)  # fmt: skip


def _days(days, parameter_draw, seed):
    """Percentiles, interval of the median and share beyond the horizon of days [members, starts]."""
    if not len(days):
        return (np.nan,) * 6
    percentiles = np.quantile(days, (0.1, 0.5, 0.9))
    known = len(days) >= FEWEST
    bounds = quantile_interval(days, parameter_draw, 0.5, seed=seed) if known else (np.nan, np.nan)
    return *percentiles, *bounds, 100.0 * (days >= RECOVERY_DAYS).mean()
