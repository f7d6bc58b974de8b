"""Electronics inside batteries: each counts for itself, several in parallel disagree.

All see the bank's voltage. The current parts among them unequally, and the electronics of each believe a
capacity of their own; both act as an error of scale.
"""

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from darkspell.monitor.settings import instrument_errors, member_normals
from darkspell.monitor.shunt import Counted, counters_block


class PackBlock(NamedTuple):
    """What the electronics of all batteries show together.

    Attributes
    ----------
    reading : state of charge shown [-], float32 [8760, L]
    apart_hours : hours in which the highest reading is ten points or more above the lowest, int32 [L]
    reset_days, premature_days, discharged : means over the batteries, as of `darkspell.monitor.shunt`
    """

    reading: np.ndarray
    apart_hours: np.ndarray
    reset_days: np.ndarray
    premature_days: np.ndarray
    discharged: np.ndarray


def pack_block(bank, temp_bank, chemistry, settings, monitor, members, seed, seen=None):
    """Read a block of members' banks through the electronics of its batteries.

    Parameters
    ----------
    bank, temp_bank, chemistry, members, seed, seen
        As `darkspell.monitor.shunt.shunt_block` takes them.
    settings : darkspell.monitor.settings.ShuntSettings
        From `darkspell.monitor.settings.pack_settings`.
    monitor : darkspell.study.monitors.Pack

    Returns
    -------
    PackBlock
    """
    counted = pack_counted(settings, monitor, members, seed)
    counted = counted._replace(past=seen is not None)
    return shown_together(*counters_block(bank, temp_bank, chemistry, [counted], members, seed, seen=seen))


def pack_counted(settings, monitor, members, seed):
    """The electronics of all batteries, for `darkspell.monitor.shunt.counters_block`.

    Parameters
    ----------
    settings : darkspell.monitor.settings.ShuntSettings
    monitor : darkspell.study.monitors.Pack
    members : int array [lanes]
    seed : int

    Returns
    -------
    darkspell.monitor.shunt.Counted
    """
    return Counted(
        settings, battery_errors(settings, monitor, members, seed), lowest=monitor.shown == "lowest"
    )


def shown_together(block):
    """What they show and do.

    Parameters
    ----------
    block : darkspell.monitor.shunt.ShuntBlock
        Of all batteries of the bank, [batteries, lanes] where it counts.

    Returns
    -------
    `PackBlock`
    """
    resets, premature = block.counts.mean(axis=0)
    return PackBlock(block.reading, block.apart, resets, premature, block.discharged.mean(axis=0))


def battery_errors(settings, monitor, members, seed):
    """Scale error, offset and drift of the electronics of each battery.

    Shares of the current add up to the whole; offsets are per battery, in amperes of the whole bank.

    Parameters
    ----------
    settings : darkspell.monitor.settings.ShuntSettings
    monitor : darkspell.study.monitors.Pack
    members : int array [lanes]
    seed : int

    Returns
    -------
    list of tuples as `instrument_errors`
    """
    members, count = np.asarray(members), monitor.batteries
    draws = np.stack(
        [member_normals(f"monitor/{settings.name}/{n}", members, seed, 2) for n in range(1, count + 1)]
    )
    shares = 1.0 + monitor.share_spread_pct / 100.0 * draws[:, :, 0]
    shares /= shares.mean(axis=0)
    believed = 1.0 + monitor.capacity_error_pct / 100.0 * draws[:, :, 1]
    out = []
    for n in range(count):
        named = replace(settings, name=f"{settings.name}/{n + 1}/instrument")
        gain, offset, drift = instrument_errors(named, members, seed)
        scale = (1.0 + gain) * shares[n] / believed[n]
        out.append(((scale - 1.0).astype(np.float32), (offset / believed[n]).astype(np.float32), drift))
    return out
