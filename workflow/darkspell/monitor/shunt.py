"""A shunt in the negative lead, with its own errors, settings and resets to full."""

from typing import NamedTuple

import numpy as np

from darkspell.bank.drive import LANES
from darkspell.calendar import HOURS, WARM_UP_HOURS
from darkspell.constants import constant
from darkspell.draws import normal_table, stream_key
from darkspell.kernels import kernel
from darkspell.monitor.counter import walk
from darkspell.monitor.settings import instrument_errors

ZERO, ONE, TINY = np.float32(0.0), np.float32(1.0), np.float32(1e-9)


class ShuntBlock(NamedTuple):
    """What a shunt shows and does in a block of members.

    Attributes
    ----------
    reading : state of charge read at the end of each hour [-], float32 [8760, L]
    reset_days : days with a reset to full, int64 [L]
    premature_days : those whose first reset came while the bank held less than ``premature_soc``, int64 [L]
    discharged : charge that it counts as leaving in the year [Ah], float64 [L]
    """

    reading: np.ndarray
    reset_days: np.ndarray
    premature_days: np.ndarray
    discharged: np.ndarray


def shunt_block(
    bank, temp_bank, chemistry, settings, members, seed,
    seen=None, errors=None, warm_up_hours=WARM_UP_HOURS, out=None,
):  # fmt: skip
    """Read a block of members' banks through a shunt.

    The walk begins `warm_up_hours` before the year's end with the deficit right, and carries its error,
    not its reading, over into the first hour. The count stops at full and at empty, where optimistic
    drift becomes a hidden reset.

    Parameters
    ----------
    bank : darkspell.bank.block.BankBlock
        Or anything with its `soc`, `current`, `offer`, `accept` and `capacity`, and its `float_drop` if any.
    temp_bank : numpy.ndarray
        Bank temperature [degC], float32 [8760, L]; the instrument is taken to have it too.
    chemistry : darkspell.bank.chemistry.ChemistryNumbers
    settings : darkspell.monitor.settings.ShuntSettings
    members : array_like of int
        Shape [L].
    seed : int
        The study's seed.
    seen : numpy.ndarray, optional
        Current that flows through the shunt [A], float32 [8760, L], from `seen_current`; the bank's own
        if nothing is wired past it.
    errors : tuple of numpy.ndarray, optional
        Gain [-], offset [A] and its drift [A/K], float32 [L]; drawn if not given.
    warm_up_hours : int, optional
        Hours of the year's end that are walked first, uncounted.
    out : numpy.ndarray, optional
        Float32 [8760, L] for the reading.

    Returns
    -------
    ShuntBlock
    """
    errors = instrument_errors(settings, members, seed) if errors is None else errors
    block = counters_block(
        bank, temp_bank, chemistry, settings, members, seed, [errors],
        seen=seen, warm_up_hours=warm_up_hours, out=out,
    )  # fmt: skip
    return ShuntBlock(block.reading, *block.counts[0], block.discharged[0])


class CountersBlock(NamedTuple):
    """What several counters alike show together.

    Attributes
    ----------
    reading : lowest or mean state of charge read at the end of each hour [-], float32 [8760, L]
    counts : days with a reset, and those whose first came too soon, int64 [counters, 2, L]
    discharged : charge that each counts as leaving in the year [Ah], float64 [counters, L]
    apart : hours in which the highest reading stands ten points or more above the lowest, int32 [L]
    """

    reading: np.ndarray
    counts: np.ndarray
    discharged: np.ndarray
    apart: np.ndarray


def counters_block(
    bank, temp_bank, chemistry, settings, members, seed, errors,
    seen=None, lowest=False, warm_up_hours=WARM_UP_HOURS, out=None,
):  # fmt: skip
    """Read a block of members' banks through several counters that differ in their errors alone.

    Parameters
    ----------
    bank, temp_bank, chemistry, settings, members, seed, seen, warm_up_hours, out
        As `shunt_block` takes them.
    errors : sequence of tuples
        Of each counter: gain [-], offset [A] and its drift [A/K], float32 [L].
    lowest : bool
        Whether the lowest reading is shown, or the mean of all.

    Returns
    -------
    CountersBlock
    """
    members = np.asarray(members, np.int64)
    errors = np.array(errors, np.float32)
    errors[:, 0] += np.float32(1.0)
    many, count = len(errors), members.size
    reading = np.empty((HOURS, count), np.float32) if out is None else out
    counts, discharged = np.zeros((many, 2, count), np.int64), np.zeros((many, count))
    apart = np.zeros(count, np.int32)
    numbers = counter_numbers(bank.capacity, settings)
    floating = np.float32(bank.capacity), np.float32(getattr(bank, "float_drop", 0.0))
    hours = (
        bank.current if seen is None else seen,
        bank.current,
        bank.offer,
        bank.accept,
        bank.soc,
        temp_bank,
    )
    key, table = stream_key(seed, "monitor/flicker"), normal_table()
    for first in range(0, count, LANES):
        lanes = slice(first, first + LANES)
        through, *rows = (np.ascontiguousarray(array[:, lanes]) for array in hours)
        part = np.empty_like(through) if count > LANES else reading
        walk(
            through, tuple(rows), np.ascontiguousarray(errors[:, :, lanes]), numbers, settings.dwell_steps,
            warm_up_hours, floating, chemistry, (members[lanes], key, table), lowest, part,
            counts[:, :, lanes], discharged[:, lanes], apart[lanes],
        )  # fmt: skip
        if part is not reading:
            reading[:, lanes] = part
    return CountersBlock(reading, counts, discharged, apart)


def counter_numbers(capacity, settings):
    """What `darkspell.monitor.counter.walk` takes of a counter's settings; tuple of float32."""
    values = (
        1.0 / settings.capacity,
        settings.efficiency,
        capacity / settings.capacity,
        settings.full_voltage - constant("monitor", "voltage_tolerance"),
        min(settings.full_current, 1e6),
        constant("monitor", "premature_soc"),
        settings.least_counted,
        min(settings.rating, 1e6),
        settings.rate_exponent - 1.0,
        20.0 / settings.capacity,
        constant("monitor", "flicker_sd"),
    )
    return tuple(np.float32(value) for value in values)


def seen_current(bank, asked, past_loads, past_chargers=None, out=None):
    """Current through the shunt: the bank's less what is wired past the shunt.

    Parameters
    ----------
    bank : darkspell.bank.block.BankBlock
    asked, past_loads : numpy.ndarray
        Loads asked for, and the part of them wired past the shunt [W], float32 [8760, L]. Where part of
        the hour's load goes unserved, so does the same part of the load past the shunt.
    past_chargers : numpy.ndarray, optional
        Power that enters past the shunt [W], float32 [8760, L].
    out : numpy.ndarray, optional
        Float32 [8760, L] for the current.

    Returns
    -------
    numpy.ndarray or None
        Charging positive [A], float32 [8760, L]; None if nothing is wired past the shunt.
    """
    if not past_loads.any() and past_chargers is None:
        return None
    out = np.empty_like(past_loads) if out is None else out
    given = np.zeros((1, past_loads.shape[1]), np.float32) if past_chargers is None else past_chargers
    unserved = bank.unserved_essential, bank.unserved_deferrable
    _see(bank.current, bank.voltage, asked, unserved, past_loads, given, out)
    return out


@kernel
def _see(current, voltage, asked, unserved, past, given, out):
    for hour in range(past.shape[0]):
        from_chargers = given[hour % given.shape[0]]
        for lane in range(past.shape[1]):
            short = unserved[0][hour, lane] + unserved[1][hour, lane]
            served = ONE - min(short / max(asked[hour, lane], TINY), ONE)
            watts = past[hour, lane] * served - from_chargers[lane]
            out[hour, lane] = current[hour, lane] + watts / voltage[hour, lane]
