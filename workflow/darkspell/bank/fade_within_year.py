"""The wear of a year fed back into that year: the bank's capacity as it falls from hour to hour.

The hour of the bank works per ampere-hour of present capacity. A bank that has lost a part of it is therefore the
same bank under traces that are larger by that part, and the step need know nothing of it. Cycles and warmth take
their share evenly through the year; what time too long after a full charge takes falls in those hours. Controller
limit, standing draw, cable and generator keep their size per ampere-hour, and the resistance does not grow: second
to a loss of a few per cent.
"""

import numpy as np

from darkspell.bank.bank_results import run_block
from darkspell.core.constants import constant

TEMPERATURE, POWERS = (
    2,
    9,
)  # of what the bank's drivers take: the temperature and all from the ninth on are no power


def late_hours(soc, chemistry):
    """Hours later after a full charge than the chemistry allows; see `darkspell.bank.maintenance.bank_care`.

    Parameters
    ----------
    soc : float32 array [8760, L]
    chemistry : str

    Returns
    -------
    bool array [8760, L]
        None are late where the chemistry wants no full charges.
    """
    wanted = 24 * constant("bank", chemistry, "full_charge_wanted_days")
    if not wanted:
        return np.zeros(soc.shape, bool)
    hour = np.arange(soc.shape[0])[:, None]
    full = soc >= np.float32(constant("bank", chemistry, "full_soc"))
    return hour - np.maximum.accumulate(np.where(full, hour, -1), axis=0) > wanted


def capacity_left(loss, partial, late):
    """Capacity at the end of each hour over that at the year's beginning [-].

    Parameters
    ----------
    loss : float array [L]
        What the year takes of the capacity that it begins with [-].
    partial : float array [L]
        The part of it that late hours take [-].
    late : bool array [8760, L]
        From `late_hours`.

    Returns
    -------
    float32 array [8760, L]
    """
    passed = np.arange(1, late.shape[0] + 1)[:, None] / late.shape[0]
    waited = np.cumsum(late, axis=0, dtype=np.float32)
    waited /= np.maximum(waited[-1:], 1.0)
    return (1.0 - (loss - partial) * passed - partial * waited).astype(np.float32)


def run_wearing(traces, left, scales, controls, chemistry):
    """Run a year whose bank loses capacity from hour to hour.

    Parameters
    ----------
    traces, scales, controls, chemistry
        As `darkspell.bank.bank_results.run_block` takes them.
    left : float32 array [8760, 64]
        From `capacity_left`.

    Returns
    -------
    soc : float32 array [8760, 64]
        Over the capacity of the hour [-].
    unserved_essential, unserved_deferrable : float32 arrays [8760, 64]
        [Wh].
    """
    larger = tuple(row if n == TEMPERATURE or n >= POWERS else row / left for n, row in enumerate(traces))
    bank = run_block(larger, scales, controls, chemistry)
    return bank.soc, bank.unserved_essential * left, bank.unserved_deferrable * left
