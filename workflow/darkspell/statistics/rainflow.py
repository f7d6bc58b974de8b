"""Rainflow counting of charge cycles.

References
----------
ASTM E1049-85, Standard practices for cycle counting in fatigue analysis, section 5.4.4.
"""

import numpy as np

from darkspell.core.jit import kernel, part


def rainflow(series):
    """Count the cycles of one series.

    Parameters
    ----------
    series : array_like
        State of charge or depth of discharge, any unit; shape [points].

    Returns
    -------
    ranges, means, counts : ndarray
        Range and mean of each cycle, in the unit of the series, and its count, 1.0 or 0.5; float64 [cycles],
        in the order in which the cycles close. The end points of the series count as reversals.
    """
    cycles = _rainflow(reversals(np.asarray(series, float)))
    return cycles[:, 0], cycles[:, 1], cycles[:, 2]


@kernel
def reversals(series):
    """Points at which a series turns, with its end points.

    Parameters
    ----------
    series : array

    Returns
    -------
    float64 array [reversals]
        As many as points at most.
    """
    kept = np.empty(series.size)
    count = 0
    for value in series:
        if count and value == kept[count - 1]:
            continue
        if count > 1 and (kept[count - 1] > kept[count - 2]) == (value > kept[count - 1]):
            count -= 1
        kept[count] = value
        count += 1
    return kept[:count]


@kernel
def _rainflow(points):
    cycles = np.empty((points.size, 3))
    stack = np.empty(points.size)
    found, high = 0, 0
    for point in points:
        stack[high] = point
        high += 1
        while high >= 3 and abs(stack[high - 1] - stack[high - 2]) >= abs(stack[high - 2] - stack[high - 3]):
            weight = 0.5 if high == 3 else 1.0
            _note(cycles, found, stack[high - 3], stack[high - 2], weight)
            found += 1
            if high == 3:
                stack[0], stack[1] = stack[1], stack[2]
                high = 2
            else:
                stack[high - 3] = stack[high - 1]
                high -= 2
    for i in range(high - 1):
        _note(cycles, found, stack[i], stack[i + 1], 0.5)
        found += 1
    return cycles[:found]


@part
def _note(cycles, at, a, b, weight):
    cycles[at, 0], cycles[at, 1], cycles[at, 2] = abs(a - b), (a + b) / 2, weight
