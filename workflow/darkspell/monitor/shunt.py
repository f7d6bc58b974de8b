"""A shunt in the negative lead, with its own errors, settings and resets to full."""

from typing import NamedTuple

import numpy as np

from darkspell.core.batches import LANES
from darkspell.core.calendar import HOURS, WARM_UP_HOURS
from darkspell.core.constants import constant
from darkspell.core.jit import kernel
from darkspell.core.keyed_random import stream_key
from darkspell.monitor.coulomb_counter import walk
from darkspell.monitor.full_detection import flicker_table
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
    seen=None, errors=None, warm_up_hours=WARM_UP_HOURS,
):  # fmt: skip
    """Read a block of members' banks through a shunt.

    The walk begins `warm_up_hours` before the year's end with the deficit right, and carries its error,
    not its reading, over into the first hour. The count stops at full and at empty, where optimistic
    drift becomes a hidden reset.

    Parameters
    ----------
    bank : darkspell.bank.bank_results.BankBlock
        Or anything with its `soc`, `current`, `offer`, `accept` and `capacity`, and its `float_drop` and
        `capacity_factor` if any.
    temp_bank : numpy.ndarray
        Bank temperature [degC], float32 [8760, L]; the instrument is taken to have it too.
    chemistry : darkspell.chemistry.numbers.ChemistryNumbers
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

    Returns
    -------
    ShuntBlock
    """
    errors = instrument_errors(settings, members, seed) if errors is None else errors
    counted = Counted(settings, [errors], past=seen is not None)
    (block,) = counters_block(
        bank, temp_bank, chemistry, [counted], members, seed, seen=seen, warm_up_hours=warm_up_hours
    )
    return ShuntBlock(block.reading, *block.counts[0], block.discharged[0])


class Counted(NamedTuple):
    """One counter, or several alike that are shown together.

    Attributes
    ----------
    settings : darkspell.monitor.settings.ShuntSettings
    errors : list of tuples, one a counter
        Gain [-], offset [A] and its drift [A/K], float32 [L].
    lowest : whether the lowest reading is shown, or the mean of all
    past : whether what is wired past it is missing from its current
    """

    settings: object
    errors: list
    lowest: bool = False
    past: bool = False


class CountersBlock(NamedTuple):
    """What a counter, or several shown together, show.

    Attributes
    ----------
    reading : lowest or mean state of charge read at the end of each hour [-], float32 [8760, L]
    counts : days with a reset, and those whose first came too soon, int64 [counters, 2, L]
    discharged : charge that each counts as leaving in the year [Ah], float64 [counters, L]
    apart : hours in which the highest reading is ten points or more above the lowest, int32 [L]
    """

    reading: np.ndarray
    counts: np.ndarray
    discharged: np.ndarray
    apart: np.ndarray


def counters_block(
    bank, temp_bank, chemistry, counted, members, seed, seen=None, warm_up_hours=WARM_UP_HOURS
):  # fmt: skip
    """Read a block of members' banks through several monitors that count, on one walk over its hours.

    Parameters
    ----------
    bank, temp_bank, chemistry, members, seed, seen, warm_up_hours
        As `shunt_block` takes them.
    counted : list of Counted

    Returns
    -------
    list of CountersBlock
        In the order of `counted`.
    """
    members = np.asarray(members, np.int64)
    count, many = members.size, sum(len(one.errors) for one in counted)
    errors = np.array([row for one in counted for row in one.errors], np.float32)
    errors[:, 0] += np.float32(1.0)
    each = [one for one in counted for _ in one.errors]
    numbers = np.array([counter_numbers(bank.capacity, one.settings) for one in each], np.float32)
    whole = np.array([(one.settings.dwell_steps, one.past) for one in each], np.int64)
    ends = np.cumsum([0, *(len(one.errors) for one in counted)])
    groups = np.array([(*ends[n : n + 2], one.lowest) for n, one in enumerate(counted)], np.int64)
    reading = np.empty((len(counted), HOURS, count), np.float32)
    counts, discharged = np.zeros((many, 2, count), np.int64), np.zeros((many, count))
    apart = np.zeros((len(counted), count), np.int32)
    hours = bank.current, bank.offer, bank.accept, bank.soc, temp_bank
    floating = np.float32(bank.capacity), np.float32(getattr(bank, "float_drop", 0.0))
    factor = getattr(bank, "capacity_factor", None)
    factor = np.ones(count, np.float32) if factor is None else factor
    key, table = stream_key(seed, "monitor/flicker"), flicker_table()
    sd = np.float32(constant("monitor", "flicker_sd"))
    for first in range(0, count, LANES):
        lanes = slice(first, min(first + LANES, count))
        rows = tuple(_filled(array, lanes) for array in hours)
        through = _filled(bank.current[:0] if seen is None else seen, lanes)
        out = tuple(_filled(array, lanes) for array in (reading, counts, discharged, apart))
        walk(
            through, rows, _filled(errors, lanes), numbers, whole, groups, warm_up_hours,
            (*floating, _filled(factor, lanes)), chemistry,
            (_filled(members, lanes), key, table, sd), out,
        )  # fmt: skip
        for whole_part, part in zip((reading, counts, discharged, apart), out, strict=True):
            if part is not whole_part:
                whole_part[..., lanes] = part[..., : lanes.stop - first]
    return [
        CountersBlock(reading[n], counts[one:after], discharged[one:after], apart[n])
        for n, (one, after, _) in enumerate(groups)
    ]


def _filled(array, lanes):
    """Some lanes of an array, repeated up to `LANES` of them; the array itself if it has just these."""
    if array.shape[-1] == LANES:
        return np.ascontiguousarray(array)
    return np.ascontiguousarray(array[..., np.resize(np.arange(lanes.start, lanes.stop), LANES)])


def counter_numbers(capacity, settings):
    """What `darkspell.monitor.coulomb_counter.walk` takes of a counter's settings; tuple of float32.

    Parameters
    ----------
    capacity : float
        Of the bank [Ah].
    settings : darkspell.monitor.settings.ShuntSettings

    Returns
    -------
    tuple of 10 float32
        One over the capacity set [1/Ah], efficiency set [-], capacity of the bank over the one set [-], full voltage
        [V], tail current [A], charge of a premature reset [-], dead band [A], rating [A], exponent less one [-], and
        one over the 20 h current [1/A].
    """
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
    )
    return tuple(np.float32(value) for value in values)


def seen_current(bank, asked, past_loads, past_chargers=None, out=None):
    """Current through the shunt: the bank's less what is wired past the shunt.

    Parameters
    ----------
    bank : darkspell.bank.bank_results.BankBlock
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
