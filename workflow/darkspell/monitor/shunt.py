"""A shunt that counts ampere-hours below full, with its own errors, settings and resets to full.

The count runs on hourly means of the current. A reset cannot: voltage and tail current meet the criteria
for minutes. So the hours in which they could be met are resolved into five-minute steps, in which the
charger's offer flickers about its hourly mean as under broken cloud. The terminal voltage of a step is the
set point if the offer reaches what the bank accepts, and below that lies on the straight line from the
open-circuit voltage, at no current, to the set point, at the accepted one.
"""

from typing import NamedTuple

import numpy as np
from numba import njit

from darkspell.bank.step import open_circuit, temperature_terms
from darkspell.calendar import HOURS, WARM_UP_HOURS
from darkspell.constants import constant
from darkspell.draws import normal_table, quick_normals, stream_key
from darkspell.monitor.settings import STEP_MINUTES, instrument_errors

STEPS = 60 // STEP_MINUTES
NEVER = 1e30
ZERO, ONE, TINY = np.float32(0.0), np.float32(1.0), np.float32(1e-9)


class ShuntBlock(NamedTuple):
    """What a shunt shows and does in a block of members.

    Attributes
    ----------
    reading : state of charge read at the end of each hour [-], float32 [8760, L]
    reset_days : days with a reset to full, int64 [L]
    premature_days : those whose first reset came while the bank held less than ``premature_soc``, int64 [L]
    """

    reading: np.ndarray
    reset_days: np.ndarray
    premature_days: np.ndarray


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
        Or anything with its `soc`, `current`, `offer`, `accept` and `capacity`.
    temp_bank : numpy.ndarray
        Bank temperature [degC], float32 [8760, L].
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
        Gain [-] and offset [A], float32 [L]; drawn if not given.
    warm_up_hours : int, optional
        Hours of the year's end that are walked first, uncounted.
    out : numpy.ndarray, optional
        Float32 [8760, L] for the reading.

    Returns
    -------
    ShuntBlock
    """
    members = np.asarray(members, np.int64)
    gain, offset = instrument_errors(settings, members, seed) if errors is None else errors
    reading = np.empty((HOURS, members.size), np.float32) if out is None else out
    counts = np.zeros((2, members.size), np.int64)
    _walk(
        bank.current if seen is None else seen,
        (bank.current, bank.offer, bank.accept, bank.soc, temp_bank),
        np.float32(1.0) + np.asarray(gain, np.float32),
        np.asarray(offset, np.float32),
        _numbers(bank.capacity, settings, chemistry),
        settings.dwell_steps,
        warm_up_hours,
        chemistry,
        (members, stream_key(seed, "monitor/flicker"), normal_table()),
        reading,
        counts,
    )
    return ShuntBlock(reading, counts[0], counts[1])


def seen_current(bank, essential, deferrable, past_monitor, out=None):
    """Current through the shunt: the bank's less what loads wired past the shunt draw.

    Parameters
    ----------
    bank : darkspell.bank.block.BankBlock
    essential, deferrable, past_monitor : numpy.ndarray
        Loads asked for, and the part of them wired past the shunt [W], float32 [8760, L]. Where part of
        the hour's load goes unserved, so does the same part of the load past the shunt.
    out : numpy.ndarray, optional
        Float32 [8760, L] for the current.

    Returns
    -------
    numpy.ndarray or None
        Charging positive [A], float32 [8760, L]; None if nothing is wired past the shunt.
    """
    if not past_monitor.any():
        return None
    out = np.empty_like(past_monitor) if out is None else out
    unserved = bank.unserved_essential, bank.unserved_deferrable
    _see(bank.current, bank.voltage, essential, deferrable, unserved, past_monitor, out)
    return out


@njit(cache=True, nogil=True, error_model="numpy", fastmath=False)
def _see(current, voltage, essential, deferrable, unserved, past, out):
    for hour in range(past.shape[0]):
        for lane in range(past.shape[1]):
            asked = essential[hour, lane] + deferrable[hour, lane]
            short = unserved[0][hour, lane] + unserved[1][hour, lane]
            served = ONE - min(short / max(asked, TINY), ONE)
            out[hour, lane] = current[hour, lane] + past[hour, lane] * served / voltage[hour, lane]


def _numbers(capacity, settings, chemistry):
    """What the walk takes: see the unpacking in `_walk`."""
    full = settings.full_voltage - constant("monitor", "voltage_tolerance")
    values = (
        1.0 / settings.capacity,
        settings.efficiency,
        capacity / settings.capacity,
        full,
        settings.full_current,
        least_share(full, chemistry),
        1.0 + 3.7 * constant("monitor", "flicker_sd"),
        constant("monitor", "premature_soc"),
    )
    return tuple(np.float32(value) for value in values), constant("monitor", "flicker_sd")


def least_share(full_voltage, chemistry):
    """Least share of the accepted current that lifts any bank to `full_voltage` [V]; `NEVER` if none does."""
    top = float(open_circuit(np.float32(1.0), chemistry))
    ends = (float(temperature_terms(t, chemistry)[0]) for t in (chemistry.clip_low, chemistry.clip_high))
    highest = max(ends)
    if full_voltage <= top:
        return 0.0
    return (full_voltage - top) / (highest - top) if highest >= full_voltage else NEVER


@njit(cache=True, nogil=True, error_model="numpy", fastmath=False)
def _walk(seen, bank, scale, offset, numbers, dwell, warm_up, c, flicker, reading, counts):
    current, offer, accept, soc, temp = bank
    (per_ah, efficiency, ratio, full, tail, least, most, premature), sd = numbers
    members, key, table = flicker
    lanes = scale.size
    deficit, candidate = np.empty(lanes, np.float32), np.empty(lanes, np.int32)
    run, today = np.zeros(lanes, np.int64), np.zeros(lanes, np.bool_)
    noise = np.empty(STEPS)
    hours = soc.shape[0]
    for lane in range(lanes):
        deficit[lane] = ratio * (ONE - soc[hours - warm_up - 1, lane])
    for count in range(hours + warm_up):
        hour = (count - warm_up) % hours
        if count == warm_up:
            for lane in range(lanes):
                began = soc[0, lane] - current[0, lane] * per_ah / ratio
                error = deficit[lane] - ratio * (ONE - soc[hours - 1, lane])
                deficit[lane] = max(ratio * (ONE - began) + (error if warm_up > 0 else ZERO), ZERO)
        if hour % 24 == 0:
            today[:] = False
        _count(seen[hour], scale, offset, efficiency, per_ah, deficit)
        if _candidates(offer[hour], accept[hour], scale, offset, least, most, tail, candidate) > 0:
            for lane in range(lanes):
                if candidate[lane] == 0 or (today[lane] and deficit[lane] == ZERO):
                    run[lane] = 0
                    continue
                quick_normals(key, 3 * hour, members[lane], table, noise)
                run[lane] = _dwell(
                    noise, sd, run[lane], dwell, offer[hour, lane], accept[hour, lane],
                    seen[hour, lane] - current[hour, lane], scale[lane], offset[lane],
                    soc[hour - 1, lane], temp[hour, lane], full, tail, c,
                )  # fmt: skip
                if run[lane] >= dwell:
                    deficit[lane] = ZERO
                    if not today[lane] and count >= warm_up:
                        counts[0, lane] += 1
                        counts[1, lane] += soc[hour, lane] < premature
                    today[lane] = True
        else:
            run[:] = 0
        for lane in range(lanes):
            reading[hour, lane] = ONE - deficit[lane]


@njit(nogil=True, error_model="numpy")
def _count(seen, scale, offset, efficiency, per_ah, deficit):
    """Add an hour's measured current to the deficit, a share of the capacity set."""
    for lane in range(deficit.size):
        amps = seen[lane] * scale[lane] + offset[lane]
        left = deficit[lane] - amps * per_ah * (efficiency if amps > ZERO else ONE)
        left = left if left > ZERO else ZERO
        deficit[lane] = left if left < ONE else ONE


@njit(nogil=True, error_model="numpy")
def _candidates(offer, accept, scale, offset, least, most, tail, candidate):
    """Mark the lanes in which a step of this hour could meet the criteria; how many."""
    found = 0
    for lane in range(candidate.size):
        needed = least * accept[lane]
        could = (offer[lane] > ZERO) & (offer[lane] * most >= needed)
        could &= needed * scale[lane] + offset[lane] <= tail
        candidate[lane] = 1 if could else 0
        found += candidate[lane]
    return found


@njit(nogil=True, error_model="numpy")
def _dwell(noise, sd, run, dwell, offer, accept, past, scale, offset, soc, temp, full, tail, c):
    """Steps in a row, up to `dwell`, that meet the criteria, after an hour that began with `run` of them."""
    ocv = open_circuit(soc, c)
    rise = max(temperature_terms(temp, c)[0] - ocv, ZERO)
    for step in range(STEPS):
        amps = offer * np.float32(1.0 + sd * noise[step])
        volts = ocv + rise * min(amps / max(accept, TINY), ONE)
        measured = (min(amps, accept) + past) * scale + offset
        run = run + 1 if (volts >= full) & (measured <= tail) else 0
        if run >= dwell:
            break
    return run
