"""What a log shows of its system: some fifty numbers made alike from a log and from simulated hours.

Nothing here knows what is true. The marks are chosen for what they tell apart: nights show loads and offset;
currents below the set point, the array; the balance of ampere-hours from full to full, the offset; resting
voltage against charge removed, the capacity.
"""

import numpy as np
from numba import njit

NAMES = (
    "night", "evening", "midnight", "morning_dark", "day", "all", "before_noon", "after_noon",
    "high_90", "high_95", "high_98", "slope", "intercept", "plateau_low", "plateau_middle", "saturated",
    "balance", "balanced_hours", "swing", "swing_high", "deepest", "below",
    "volt_night", "volt_5", "volt_25", "volt_50", "volt_75", "rest_level", "rest_current", "rest_charge",
    "rest_charge_2", "bright", "dull", "lift",
)  # fmt: skip
NEEDS_VOLTAGE = (
    "slope", "intercept", "plateau_low", "plateau_middle", "saturated", "balance", "balanced_hours", "lift",
    "volt_night", "volt_5", "volt_25", "volt_50", "volt_75", "rest_level", "rest_current", "rest_charge",
    "rest_charge_2",
)  # fmt: skip


def marks(current, voltage, valid, sun, hour_of_day, tolerance):
    """Marks of a set of lanes.

    Parameters
    ----------
    current, voltage : float32 arrays [lanes, hours]
        [A, V]; anything where `valid` is false.
    valid : bool array [hours]
        Hours that the log covers.
    sun : float64 array [hours]
        Current that the array of the study is expected to give [A]: under the weather of the dates where it
        is known, under a clear sky otherwise; 0 at night.
    hour_of_day : int array [hours]
    tolerance : float
        Below the highest voltage by less than this, the bank stands at its set point [V].

    Returns
    -------
    float64 array [lanes, marks]
        In the order of `NAMES`.
    """
    rows, out = np.flatnonzero(valid), np.zeros((current.shape[0], len(NAMES)))
    amps, volts = (np.ascontiguousarray(part[:, rows]) for part in (current, voltage))
    ordered = np.sort(amps, axis=1), np.sort(volts, axis=1)
    _marks(amps, volts, ordered, rows, sun, np.asarray(hour_of_day), float(tolerance), out)
    return out


def usable(has_current, has_voltage):
    """Which marks a log with these columns can give; bool array [marks]."""
    volt_only = ("volt_night", "volt_5", "volt_25", "volt_50", "volt_75")
    keep = []
    for name in NAMES:
        if name in volt_only:
            keep.append(has_voltage)
        elif name in NEEDS_VOLTAGE:
            keep.append(has_voltage and has_current)
        else:
            keep.append(has_current)
    return np.array(keep)


@njit(cache=True, nogil=True, error_model="numpy")
def _quantile(ordered, share):
    if ordered.size == 0:
        return 0.0
    return ordered[min(int(share * ordered.size), ordered.size - 1)]


@njit(cache=True, nogil=True, error_model="numpy")
def _mean(total, count):
    return total / count if count > 0 else 0.0


@njit(cache=True, nogil=True, error_model="numpy")
def _marks(amps, volts, ordered, rows, sun, clock, tolerance, out):
    peak = 0.0
    for r in rows:
        peak = max(peak, sun[r])
    for lane in range(amps.shape[0]):
        sorted_both = ordered[0][lane], ordered[1][lane]
        _lane(amps[lane], volts[lane], sorted_both, rows, sun, clock, peak, tolerance, out[lane])


@njit(cache=True, nogil=True, error_model="numpy")
def _lane(amps, volts, sorted_both, rows, sun, clock, peak, tolerance, mark):
    n = rows.size
    by_part = np.zeros((6, 2))
    total = 0.0
    ordered, ordered_volts = sorted_both
    top = _quantile(ordered_volts, 0.97)
    first_full, last_full = -1, -1
    fit = np.zeros(5)  # sums of the line of current on expected sun
    plateau = np.empty(n)
    held = 0
    bright, dull = np.zeros(2), np.zeros(2)
    lit = 0
    for i in range(n):
        hour, light, a = clock[rows[i]], sun[rows[i]], amps[i]
        total += a
        if light <= 0.0:
            part = 0 if hour >= 12 and hour < 23 else (1 if hour >= 23 or hour < 3 else 2)
        else:
            part = 3 if hour < 12 else 4
            lit += 1
        by_part[part, 0] += a
        by_part[part, 1] += 1.0
        at_top = volts[i] >= top - tolerance
        if light > 0.15 * peak and at_top:
            plateau[held] = a
            held += 1
        if light > 0.05 * peak and not at_top:
            fit[0] += 1.0
            fit[1] += light
            fit[2] += a
            fit[3] += light * light
            fit[4] += light * a
        if light > 0.55 * peak:
            bright[0] += a
            bright[1] += 1.0
        elif light > 0.0:
            dull[0] += a
            dull[1] += 1.0
    nights = by_part[0] + by_part[1] + by_part[2]
    mark[0] = _mean(nights[0], nights[1])
    for part in range(3):
        mark[1 + part] = _mean(by_part[part, 0], by_part[part, 1])
    mark[4] = _mean(by_part[3, 0] + by_part[4, 0], by_part[3, 1] + by_part[4, 1])
    mark[5] = total / n
    mark[6] = _mean(by_part[3, 0], by_part[3, 1])
    mark[7] = _mean(by_part[4, 0], by_part[4, 1])
    mark[8], mark[9], mark[10] = _quantile(ordered, 0.9), _quantile(ordered, 0.95), _quantile(ordered, 0.98)
    spread = fit[0] * fit[3] - fit[1] * fit[1]
    if fit[0] > 5 and spread > 0.0:
        mark[11] = (fit[0] * fit[4] - fit[1] * fit[2]) / spread
        mark[12] = (fit[2] - mark[11] * fit[1]) / fit[0]
    low = np.sort(plateau[:held])
    mark[13], mark[14] = _quantile(low, 0.1), _quantile(low, 0.4)
    mark[15] = _mean(float(held), float(lit))
    rest = mark[13] + 0.02 * max(mark[10], 0.1)
    for i in range(n):
        full = volts[i] >= top - tolerance and sun[rows[i]] > 0.15 * peak and amps[i] <= rest
        if full and first_full < 0:
            first_full = i
        if full:
            last_full = i
    between = 0.0
    for i in range(first_full + 1, last_full + 1):
        between += amps[i]
    span = last_full - first_full
    mark[16] = between / span if first_full >= 0 and span >= 24 else total / n
    mark[17] = span / n if first_full >= 0 else 0.0
    _charge_marks(amps, volts, rows, sun, mark[16], ordered_volts, mark)
    mark[31], mark[32] = _mean(bright[0], bright[1]), _mean(dull[0], dull[1])
    mark[33] = top - _quantile(ordered_volts, 0.5)


@njit(cache=True, nogil=True, error_model="numpy")
def _charge_marks(amps, volts, rows, sun, drift, ordered_volts, mark):
    """Depth by the day, and the voltage of the nights against current and charge removed."""
    n = rows.size
    deficit, deepest, below = 0.0, 0.0, 0.0
    day, low, high, running = -1, 0.0, 0.0, 0.0
    swings = np.empty(n // 12 + 2)
    days = 0
    normal = np.zeros((4, 5))
    volt_night, nights = 0.0, 0.0
    x = np.empty(4)
    for i in range(n):
        a = amps[i] - drift
        deficit = max(deficit - a, 0.0)
        deepest = max(deepest, deficit)
        below += deficit
        if rows[i] // 24 != day:
            if day >= 0:
                swings[days] = high - low
                days += 1
            day, low, high, running = rows[i] // 24, 0.0, 0.0, 0.0
        running += a
        low, high = min(low, running), max(high, running)
        if sun[rows[i]] <= 0.0 and (i == 0 or sun[rows[max(i - 3, 0)]] <= 0.0):
            volt_night += volts[i]
            nights += 1.0
            x[0], x[1], x[2], x[3] = 1.0, amps[i], deficit, deficit * deficit
            for j in range(4):
                for k in range(4):
                    normal[j, k] += x[j] * x[k]
                normal[j, 4] += x[j] * volts[i]
    ordered = np.sort(swings[:days])
    mark[18] = _mean(ordered.sum(), float(days))
    mark[19] = _quantile(ordered, 0.9)
    mark[20], mark[21] = deepest, below / n
    mark[22] = _mean(volt_night, nights)
    mark[23], mark[24] = _quantile(ordered_volts, 0.05), _quantile(ordered_volts, 0.25)
    mark[25], mark[26] = _quantile(ordered_volts, 0.5), _quantile(ordered_volts, 0.75)
    if nights > 20:
        for j in range(4):
            normal[j, j] *= 1.0 + 1e-6
            normal[j, j] += 1e-9
        fitted = np.linalg.solve(np.ascontiguousarray(normal[:, :4]), np.ascontiguousarray(normal[:, 4]))
        mark[27], mark[28], mark[29], mark[30] = fitted[0], fitted[1], fitted[2], fitted[3]
