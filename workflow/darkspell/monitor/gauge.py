"""A gauge that reads the terminal voltage and believes that the bank is at rest."""

import numpy as np
from numba import njit

from darkspell.constants import constant

ZERO, ONE = np.float32(0.0), np.float32(1.0)


def gauge_block(voltage, chemistry, nominal_voltage, out=None):
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
    out : numpy.ndarray, optional
        Float32 [8760, L] for the reading.

    Returns
    -------
    numpy.ndarray
        Reading [-], 0 to 1, float32 [8760, L].
    """
    reading = np.empty_like(voltage) if out is None else out
    _read(voltage, *scale_of(chemistry, nominal_voltage), reading)
    return reading


def scale_of(chemistry, nominal_voltage):
    """The gauge's scale: voltages [V] from which the slope changes, and by how much [1/V]; from 0 charge."""
    cells = constant("bank", chemistry, "cells_per_12v") * nominal_voltage / 12.0
    soc = np.asarray(constant("bank", chemistry, "ocv_soc"), float)
    volts = np.asarray(constant("bank", chemistry, "ocv_v_cell"), float) * cells
    slopes = np.diff(soc) / np.diff(volts)
    return volts[:-1].astype(np.float32), np.diff(slopes, prepend=0.0).astype(np.float32)


@njit(cache=True, nogil=True, error_model="numpy", fastmath=False)
def _read(voltage, starts, changes, reading):
    for hour in range(voltage.shape[0]):
        for lane in range(voltage.shape[1]):
            soc = ZERO
            for knot in range(starts.size):
                above = voltage[hour, lane] - starts[knot]
                soc += changes[knot] * (above if above > ZERO else ZERO)
            soc = soc if soc > ZERO else ZERO
            reading[hour, lane] = soc if soc < ONE else ONE
