"""How far a reading is from the truth, by member: errors, and what they do to a warning."""

from typing import NamedTuple

import numpy as np

from darkspell.core.jit import kernel

BINS = 1000  # of 0.1 points
JOINT_BINS = 800  # of 0.25 points, -100 to 100
SINCE_FULL = (0, 1, 2, 4, 7, 14, 30)  # days; classes begin here


class ReadingErrors(NamedTuple):
    """Errors of a reading against the true state of charge; reading less truth, points of percent.

    Attributes
    ----------
    mean_pct : mean error, positive if the reading is too high [%], float64 [L]
    p95_pct : 95th percentile of the absolute error over the year's hours [%], float64 [L]
    off_5_h, off_10_h, off_20_h : hours off by 5, 10, 20 points or more [h], float64 [L]
    missed_warning_h : hours that read at or above the warning level with the bank below it [h], float64 [L]
    false_alarm_h : hours that read below it with the bank at or above [h], float64 [L]
    """

    mean_pct: np.ndarray
    p95_pct: np.ndarray
    off_5_h: np.ndarray
    off_10_h: np.ndarray
    off_20_h: np.ndarray
    missed_warning_h: np.ndarray
    false_alarm_h: np.ndarray


def reading_errors(reading, soc, warn_below, calendar, since=None, joint=None, count=None):
    """Compare a reading with the truth.

    Parameters
    ----------
    reading, soc : numpy.ndarray
        State of charge read, and true, at the end of each hour [-], float32 [8760, L].
    warn_below : float
        State of charge below which the monitor warns [-].
    calendar : darkspell.core.calendar.Calendar
        The study year.
    since : numpy.ndarray, optional
        Class of days since the bank was full, from `classes_since_full`.
    joint : numpy.ndarray, optional, added to
        Hours by class of days since full, month and error in `JOINT_BINS`, from `joint_counts`.

    count : int, optional
        How many of the members go into `joint`; all if not given.

    Returns
    -------
    ReadingErrors
        Percentiles are taken from counts in steps of 0.1 points.
    """
    lanes = reading.shape[1]
    total, warnings = np.zeros(lanes), np.zeros((2, lanes), np.int32)
    counts = np.zeros((lanes, BINS + 1), np.uint16)
    if joint is None:
        since, joint = np.zeros((1, lanes), np.uint8), np.zeros((0, 12, JOINT_BINS + 1), np.uint32)
    month, real = calendar.month_of_hour, lanes if count is None else count
    _compare(reading, soc, np.float32(warn_below), month, since, total, warnings, counts, joint, real)
    up_to = np.cumsum(counts, axis=1, dtype=np.int64)
    hours = float(up_to[0, -1])
    return ReadingErrors(
        100.0 * total / hours,
        _percentile(up_to, 0.95),
        *(hours - up_to[:, 10 * points - 1] for points in (5, 10, 20)),
        *warnings.astype(float),
    )


def joint_counts():
    """Room for the counts of one monitor: uint32 [classes since full, 12, JOINT_BINS + 1]."""
    return np.zeros((len(SINCE_FULL), 12, JOINT_BINS + 1), np.uint32)


def classes_since_full(soc, full_soc):
    """Class of the days since the bank was last full, in truth, by hour.

    The year begins as if full.

    Parameters
    ----------
    soc : float32 array [8760, L]
        State of charge of the bank [-].
    full_soc : float
        State of charge from which the bank counts as full [-].

    Returns
    -------
    uint8 [8760, L], see `SINCE_FULL`
    """
    out = np.empty(soc.shape, np.uint8)
    _since(soc, np.float32(full_soc), np.array(SINCE_FULL[1:], np.int32) * np.int32(24), out)
    return out


@kernel
def _since(soc, full, edges, out):
    hours, kind = np.zeros(soc.shape[1], np.int32), np.zeros(soc.shape[1], np.int32)
    zero, one = np.int32(0), np.int32(1)
    for hour in range(soc.shape[0]):
        for lane in range(soc.shape[1]):
            hours[lane] = zero if soc[hour, lane] >= full else hours[lane] + one
        for edge in edges:
            for lane in range(soc.shape[1]):
                kind[lane] = (zero if edge == edges[0] else kind[lane]) + (
                    one if hours[lane] >= edge else zero
                )
        for lane in range(soc.shape[1]):
            out[hour, lane] = kind[lane]


def _percentile(up_to, share):
    """Quantile of each row of cumulative counts, linear within its bin [points]."""
    target = share * up_to[0, -1]
    place = (up_to < target).sum(axis=1)
    rows = np.arange(up_to.shape[0])
    before = np.where(place > 0, up_to[rows, place - 1], 0)
    return (place + (target - before) / (up_to[rows, place] - before)) * 100.0 / BINS


@kernel
def _compare(reading, soc, warn, month, since, total, warnings, counts, joint, real):
    lanes = reading.shape[1]
    many, half = np.float32(JOINT_BINS / 2), np.float32(0.5)
    one, zero, bins = np.int32(1), np.int32(0), np.float32(BINS)
    today, place = np.zeros(lanes, np.float32), np.empty(lanes, np.int32)
    for hour in range(reading.shape[0]):
        for lane in range(lanes):
            today[lane] += reading[hour, lane] - soc[hour, lane]
        for lane in range(lanes):
            place[lane] = np.int32(abs(reading[hour, lane] - soc[hour, lane]) * bins)
        for lane in range(lanes):
            warnings[0, lane] += one if (reading[hour, lane] >= warn) & (soc[hour, lane] < warn) else zero
        for lane in range(lanes):
            warnings[1, lane] += one if (reading[hour, lane] < warn) & (soc[hour, lane] >= warn) else zero
        for lane in range(lanes):
            counts[lane, min(place[lane], BINS)] += 1
        if joint.shape[0] > 0:
            for lane in range(lanes):
                place[lane] = np.int32((reading[hour, lane] - soc[hour, lane] + one) * many + half)
            for lane in range(real):
                joint[since[hour, lane], month[hour], place[lane]] += 1
        if hour % 24 == 23:
            for lane in range(lanes):
                total[lane] += today[lane]
                today[lane] = np.float32(0.0)
