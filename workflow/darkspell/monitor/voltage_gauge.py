"""A gauge that reads the terminal voltage and takes the state of charge from a table."""

import numpy as np

from darkspell.core.batches import LANES
from darkspell.core.constants import constant
from darkspell.core.jit import inlined, kernel
from darkspell.monitor.settings import member_normals

ZERO, ONE = np.float32(0.0), np.float32(1.0)
NEARLY = np.float32(0.999999)  # eight roundings under full
KNOTS = 8
VOLTS, AMPS, TEMP, READ, BIAS = (n * LANES for n in range(5))


def gauge_block(voltage, chemistry, nominal_voltage, correction=None, bias=None, wait=None, out=None):
    """State of charge that a voltage gauge shows.

    The chemistry's table of rested voltages, read backwards at the hour's terminal voltage. Under load it
    reads low, under charge high, and where the table is flat a few millivolts cost tens of points.

    Parameters
    ----------
    voltage : numpy.ndarray
        Mean terminal voltage of each hour [V], float32 [8760, L].
    chemistry : str
        A chemistry of the table of constants.
    nominal_voltage : float
        12, 24 or 48 V.
    correction : tuple, optional
        ``(current, temp, ohms, per_k, per_k2, usual)``, where the gauge adds the drop of a load back before
        it reads its table: bank current [A] and temperature [degC], float32 [8760, L], resistance [ohm] and
        its rise in the cold [1/K, 1/K2]; with `usual` [A] above 0, that current's drop at all times.
    bias : numpy.ndarray, optional
        Error of its voltmeter [V], float32 [L].
    wait : tuple of (numpy.ndarray, float), optional
        Bank current [A], float32 [8760, L], and the current [A] above which the gauge, rather than read,
        goes on showing what it showed.
    out : numpy.ndarray, optional
        Float32 [8760, L] for the reading.

    Returns
    -------
    numpy.ndarray
        Reading [-], 0 to 1, float32 [8760, L].
    """
    reading = np.empty_like(voltage) if out is None else out
    lanes = voltage.shape[1]
    current, temp, ohms, per_k, per_k2, usual = correction or (voltage, voltage, 0.0, 0.0, 0.0, 0.0)
    current, most = wait or (current, np.inf)
    numbers = tuple(np.float32(x) for x in (ohms, per_k, per_k2, usual, most))
    bias = np.zeros(lanes, np.float32) if bias is None else bias
    scale = tuple(tuple(part) for part in scale_of(chemistry, nominal_voltage))
    for first in range(0, lanes, LANES):
        some = slice(first, first + LANES)
        _read(voltage[:, some], current[:, some], temp[:, some], bias[some], numbers, scale, reading[:, some])
    return reading


def study_gauge(name, monitor, study, chemistry, bank, temp, members):
    """What a gauge of a study shows for a block of members; float32 [8760, L]."""
    ohms = chemistry.resistance / bank.capacity
    correction = None
    if monitor.table == "loaded":
        correction = bank.current, temp, ohms, 0.0, 0.0, study_load_current(study)
    elif monitor.table == "corrected":
        slopes = float(chemistry.resistance_per_k), float(chemistry.resistance_per_k2)
        correction = bank.current, temp, ohms, *slopes, 0.0
    bias = member_normals(f"monitor/{name}", members, study.engine.seed, 1)[:, 0] * monitor.voltmeter_error_mv
    wait = None
    if monitor.waits_for_rest:
        wait = bank.current, constant("monitor", "rest_current_c") * bank.capacity
    return gauge_block(
        bank.voltage,
        study.bank.chemistry,
        study.system.nominal_voltage_v,
        correction=correction,
        bias=(bias * 1e-3).astype(np.float32),
        wait=wait,
    )


def study_load_current(study):
    """Mean current of a study's loads at nominal voltage [A]: the load that a table under load is made for."""
    from darkspell.loads.budget import appliances_from, daily_budget

    watts = float(daily_budget(appliances_from(study)).mean(axis=1).sum()) / 24.0
    return watts / study.system.nominal_voltage_v


def scale_of(chemistry, nominal_voltage):
    """The gauge's scale: where its segments begin [V], their width [V] and slope [1/V]; from 0 charge.

    Segments add up, all rising: where a table is flat, slope changes of either sign would cancel.
    """
    cells = constant("bank", chemistry, "cells_per_12v") * nominal_voltage / 12.0
    soc = np.asarray(constant("bank", chemistry, "ocv_soc"), float)
    volts = np.asarray(constant("bank", chemistry, "ocv_v_cell"), float) * cells
    spare = KNOTS - (soc.size - 1)
    starts = np.concatenate([volts[:-1], np.full(spare, 1e6)])
    widths = np.concatenate([np.diff(volts), np.zeros(spare)])
    slopes = np.concatenate([np.diff(soc) / np.diff(volts), np.zeros(spare)])
    return tuple(part.astype(np.float32) for part in (starts, widths, slopes))


@inlined
def _segment(v, start, width, slope):
    return slope * min(max(v - start, ZERO), width)


@kernel
def _read(voltage, current, temp, bias, numbers, scale, reading):
    ohms, per_k, per_k2, usual, most = numbers
    s, d, m = scale
    hours, lanes = voltage.shape
    w = np.zeros(5 * LANES, np.float32)
    for lane in range(lanes):
        w[BIAS + lane] = bias[lane]
        w[READ + lane] = ONE
    for hour in range(hours):
        for lane in range(lanes):
            w[VOLTS + lane] = voltage[hour, lane]
        if ohms > ZERO or most < np.inf:
            for lane in range(lanes):
                w[AMPS + lane] = current[hour, lane]
            for lane in range(lanes):
                w[TEMP + lane] = temp[hour, lane]
        for lane in range(LANES):
            below = max(np.float32(25.0) - w[TEMP + lane], ZERO)
            out = usual if usual > ZERO else max(-w[AMPS + lane], ZERO)
            drop = ohms * (ONE + below * (per_k + below * per_k2)) * out
            v = w[VOLTS + lane] + w[BIAS + lane] + drop
            low = _segment(v, s[0], d[0], m[0]) + _segment(v, s[1], d[1], m[1])
            low += _segment(v, s[2], d[2], m[2]) + _segment(v, s[3], d[3], m[3])
            top = _segment(v, s[4], d[4], m[4]) + _segment(v, s[5], d[5], m[5])
            top += _segment(v, s[6], d[6], m[6]) + _segment(v, s[7], d[7], m[7])
            soc = low + top
            soc = ONE if soc > NEARLY else max(soc, ZERO)
            w[READ + lane] = soc if abs(w[AMPS + lane]) <= most else w[READ + lane]
        for lane in range(lanes):
            reading[hour, lane] = w[READ + lane]
