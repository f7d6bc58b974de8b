"""Electronics inside batteries: each counts for itself, several in parallel disagree.

All see the bank's voltage. The current parts among them unequally, and the electronics of each believe a
capacity of their own; both act as an error of scale.
"""

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from darkspell.kernels import kernel
from darkspell.monitor.settings import instrument_errors, member_normals
from darkspell.monitor.shunt import shunt_block

APART = np.float32(0.1)


class PackBlock(NamedTuple):
    """What the electronics of all batteries show together.

    Attributes
    ----------
    reading : state of charge shown [-], float32 [8760, L]
    apart_hours : hours in which the highest reading stands ten points or more above the lowest, int32 [L]
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
    errors = battery_errors(settings, monitor, members, seed)
    blocks = [
        shunt_block(bank, temp_bank, chemistry, settings, members, seed, seen=seen, errors=one)
        for one in errors
    ]
    reading, apart = blocks[0].reading, np.zeros(len(members), np.int32)
    if len(blocks) > 1:
        shown = _lowest if monitor.shown == "lowest" else _mean
        shown(tuple(block.reading for block in blocks), reading, apart)
    means = [np.mean(parts, axis=0) for parts in zip(*(block[1:] for block in blocks), strict=True)]
    return PackBlock(reading, apart, *means)


def battery_errors(settings, monitor, members, seed):
    """Scale error, offset and drift of the electronics of each battery; list of tuples as `instrument_errors`.

    Shares of the current add up to the whole; offsets are per battery, in amperes of the whole bank.
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


def _shown_by(lowest):
    """Kernel that joins the readings of several batteries into the first, and counts hours apart."""

    @kernel
    def join(readings, out, apart):
        share = np.float32(1.0 / len(readings))
        lanes = out.shape[1]
        low, high, total = (
            np.empty(lanes, np.float32),
            np.empty(lanes, np.float32),
            np.empty(lanes, np.float32),
        )
        for hour in range(out.shape[0]):
            for lane in range(lanes):
                low[lane] = high[lane] = total[lane] = readings[0][hour, lane]
            for n in range(1, len(readings)):
                one = readings[n]
                for lane in range(lanes):
                    value = one[hour, lane]
                    low[lane] = min(low[lane], value)
                    high[lane] = max(high[lane], value)
                    total[lane] += value
            for lane in range(lanes):
                out[hour, lane] = low[lane] if lowest else total[lane] * share
                apart[lane] += np.int32(1) if high[lane] - low[lane] >= APART else np.int32(0)

    return join


_lowest, _mean = _shown_by(True), _shown_by(False)
