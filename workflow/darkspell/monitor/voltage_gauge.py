"""A gauge that reads the terminal voltage and takes the state of charge from a table.

Real gauges err by more than their voltmeter. The table is made for another bank than the one at hand, so each
member has an error of its table. The voltage at rest remembers what went before: between charging and discharging
branch (hysteresis of lithium iron phosphate and nickel cells), and for hours after a charge (lead-acid). A gauge
that takes the load's drop out again knows the bank's resistance only roughly.
"""

from typing import NamedTuple

import numpy as np

from darkspell.core.batches import LANES
from darkspell.core.constants import constant
from darkspell.core.jit import inlined, kernel
from darkspell.monitor.settings import member_normals

ZERO, ONE = np.float32(0.0), np.float32(1.0)
NEARLY = np.float32(0.999999)  # eight roundings under full
KNOTS = 8
# Rows of the work space: values of one hour, what is shown, the voltmeter's error, and what the bank remembers.
VOLTS, AMPS, TEMP, READ, BIAS, FLOW, BRANCH, GAP, OHMS = (n * LANES for n in range(9))
WORK_ROWS = 9


class Memory(NamedTuple):
    """How the bank's voltage remembers charge and discharge.

    The branch x moves with the charge that flows, x <- x + (target - x) min(abs(I) h / (share C), 1), where the
    target is 1 while charging and `low` while discharging; every hour without charge it keeps the share `keep`.
    Without charge the voltage is x `gap` above the bank's own curve; while charging the charger sets the voltage.

    Attributes
    ----------
    current : float32 array [8760, lanes]
        Of the bank, charging positive [A].
    per_ah : float
        One over the charge that takes the bank from one branch to the other [1/Ah].
    low, keep : float
        Branch that a discharge leads to, and share of the branch that an hour leaves [-].
    gap : float32 array [lanes]
        Voltage of the branch x = 1 over the curve [V].
    """

    current: np.ndarray
    per_ah: float
    low: float
    keep: float
    gap: np.ndarray


def gauge_block(
    voltage, chemistry, nominal_voltage, correction=None, bias=None, wait=None, out=None, memory=None, known=None
):  # fmt: skip
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
    memory : Memory, optional
    known : numpy.ndarray, optional
        Resistance that the gauge counts with over the bank's own [-], float32 [L]; 1 if not given.

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
    if memory is None:
        memory = Memory(voltage[:0], 0.0, 0.0, 1.0, np.zeros(lanes, np.float32))
    branch = tuple(np.float32(x) for x in (memory.per_ah, memory.low, memory.keep))
    known = np.ones(lanes, np.float32) if known is None else known
    for first in range(0, lanes, LANES):
        some = slice(first, first + LANES)
        own = bias[some], memory.gap[some], known[some]
        flow = memory.current[:, some]
        _read(
            voltage[:, some],
            current[:, some],
            temp[:, some],
            flow,
            own,
            numbers,
            branch,
            scale,
            reading[:, some],
        )
    return reading


def study_gauge(name, monitor, study, chemistry, bank, temp, members):
    """What a gauge of a study shows for a block of members.

    Parameters
    ----------
    name : str
        Name of the gauge in the study; it keys its random draws.
    monitor : darkspell.study.monitors.Gauge
    study : darkspell.study.Study
    chemistry : darkspell.chemistry.numbers.ChemistryNumbers
    bank : darkspell.bank.bank_results.BankBlock
    temp : float32 array [8760, lanes]
        Bank temperature [degC].
    members : int array [lanes]

    Returns
    -------
    float32 [8760, L]
    """
    ohms = chemistry.resistance / bank.capacity
    correction = None
    if monitor.table == "loaded":
        correction = bank.current, temp, ohms, 0.0, 0.0, study_load_current(study)
    elif monitor.table == "corrected":
        slopes = float(chemistry.resistance_per_k), float(chemistry.resistance_per_k2)
        correction = bank.current, temp, ohms, *slopes, 0.0
    bias = member_normals(f"monitor/{name}", members, study.engine.seed, 1)[:, 0] * monitor.voltmeter_error_mv
    own = member_normals(f"monitor/{name}/table", members, study.engine.seed, 3)
    bias = bias + own[:, 0] * table_error_mv(monitor, study)
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
        memory=bank_memory(study, bank, own[:, 1]),
        known=np.exp(constant("monitor", "known_resistance_sd") * own[:, 2]).astype(np.float32),
    )


def table_error_mv(monitor, study):
    """Error of a gauge's table, standard deviation [mV]: the study's, else that of the kind of bank.

    Parameters
    ----------
    monitor : darkspell.study Gauge
    study : darkspell.study.Study

    Returns
    -------
    float
        [mV]
    """
    if monitor.table_error_mv is not None:
        return monitor.table_error_mv
    per_12v = constant("monitor", "gauge", study.bank.chemistry, "table_error_12v")
    return 1e3 * per_12v * study.system.nominal_voltage_v / 12.0


def bank_memory(study, bank, normals):
    """How the voltage of a study's bank remembers.

    Parameters
    ----------
    study : darkspell.study.Study
    bank : darkspell.bank.bank_results.BankBlock
    normals : float array [lanes]
        Standard normal numbers, one a member: which gap between the branches its bank has.

    Returns
    -------
    `Memory`
    """
    from scipy.special import ndtr

    kind = study.bank.chemistry

    def of(name):
        return constant("monitor", "gauge", kind, name)

    least, most = of("gap_v_cell")
    cells = study.cells
    gap = (least + (most - least) * ndtr(normals)) * cells * (0.5 if of("low_branch") < 0.0 else 1.0)
    keep = np.exp(-1.0 / of("rest_h")) if of("rest_h") > 0.0 else 1.0
    share = constant("monitor", "branch_share") * bank.capacity
    return Memory(bank.current, 1.0 / share, of("low_branch"), keep, gap.astype(np.float32))


def study_load_current(study):
    """Mean current of a study's loads at nominal voltage [A]: the load that a table under load is made for.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    float
        [A]
    """
    from darkspell.loads.budget import appliances_from, daily_budget

    watts = float(daily_budget(appliances_from(study)).mean(axis=1).sum()) / 24.0
    return watts / study.system.nominal_voltage_v


def scale_of(chemistry, nominal_voltage):
    """The gauge's scale: where its segments begin [V], their width [V] and slope [1/V]; from 0 charge.

    Segments add up, all rising: where a table is flat, slope changes of either sign would cancel.

    Parameters
    ----------
    chemistry : str
    nominal_voltage : float
        [V].

    Returns
    -------
    starts, widths, slopes : float32 arrays [8]
        [V, V, 1/V].
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
def _read(voltage, current, temp, flow, own, numbers, branch, scale, reading):
    """Read hours through the gauge of each member.

    Parameters
    ----------
    voltage, current, temp : float32 arrays [hours, lanes]
        Terminal voltage [V], current and temperature that the gauge measures [A, degC].
    flow : float32 array [hours, lanes], or one of no hours where the voltage remembers nothing
        Current of the bank [A].
    own : tuple of float32 arrays [lanes]
        Error of voltmeter and table [V], voltage of the charged branch over the curve [V], resistance that the
        gauge counts with over the bank's [-].
    numbers : tuple of float32
        Resistance [ohm] and its rise in the cold [1/K, 1/K2], usual current, and greatest current at which it
        reads [A].
    branch : tuple of float32
        `Memory.per_ah`, `.low`, `.keep`.
    scale : three tuples of float32
        From `scale_of`.
    reading : float32 array [hours, lanes], written
        [-].

    Notes
    -----
    v = V + bias + R (1 + a dT + b dT^2) I_out, and x `gap` more in hours without charge; the reading is table(v).
    """
    ohms, per_k, per_k2, usual, most = numbers
    per_ah, low_branch, keep = branch
    s, d, m = scale
    hours, lanes = voltage.shape
    remembers = flow.shape[0] > 0
    w = np.zeros(WORK_ROWS * LANES, np.float32)
    for lane in range(lanes):
        w[BIAS + lane] = own[0][lane]
        w[GAP + lane] = own[1][lane]
        w[OHMS + lane] = own[2][lane] * ohms
        w[READ + lane] = ONE
        w[BRANCH + lane] = ONE
    for hour in range(hours):
        for lane in range(lanes):
            w[VOLTS + lane] = voltage[hour, lane]
        if remembers:
            for lane in range(lanes):
                w[FLOW + lane] = flow[hour, lane]
            for lane in range(LANES):
                amps = w[FLOW + lane]
                moved = min(abs(amps) * per_ah, ONE)
                toward = ONE if amps > ZERO else low_branch
                kept = w[BRANCH + lane] * (ONE if amps > ZERO else keep)
                x = kept + (toward - kept) * moved
                w[BRANCH + lane] = x
                w[VOLTS + lane] += ZERO if amps > ZERO else x * w[GAP + lane]
        if ohms > ZERO or most < np.inf:
            for lane in range(lanes):
                w[AMPS + lane] = current[hour, lane]
            for lane in range(lanes):
                w[TEMP + lane] = temp[hour, lane]
        for lane in range(LANES):
            below = max(np.float32(25.0) - w[TEMP + lane], ZERO)
            out = usual if usual > ZERO else max(-w[AMPS + lane], ZERO)
            drop = w[OHMS + lane] * (ONE + below * (per_k + below * per_k2)) * out
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
