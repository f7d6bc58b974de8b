"""From intervals to a finding: what differs, what is as designed, what cannot be told from this log."""

from dataclasses import dataclass

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.inference import TARGETS

LEAST_OFFSET = 4.0  # mA: no log tells less
DIFFERS, FITS, UNTOLD = "differs", "as designed", "cannot be told"


@dataclass(frozen=True)
class Told:
    """What is known of one thing.

    Parameters
    ----------
    name : str
        One of ``load``, ``array``, ``capacity``, ``offset``, ``efficiency``.
    middle, low, high : float
        Median and 95 % interval; NaN where the log says nothing.
    design : float
        What the study says.
    tolerance : float
        What is off without being a fault, in the unit of the value.
    state : str
        `DIFFERS`, `FITS` or `UNTOLD`.
    """

    name: str
    middle: float
    low: float
    high: float
    design: float
    tolerance: float
    state: str

    @property
    def excess(self):
        """Distance of the interval's nearer end from the band of tolerance, over the tolerance; 0 within."""
        band = self.design - self.tolerance, self.design + self.tolerance
        return max(self.low - band[1], band[0] - self.high, 0.0) / self.tolerance


def told(name, middle, low, high, design, tolerance):
    """State of one thing from its interval; `Told`."""
    wide = constant("log_analysis", "telling_share") * tolerance
    if not np.isfinite([low, high]).all():
        state = UNTOLD
    elif low > design + tolerance or high < design - tolerance:
        state = DIFFERS
    elif low >= design - wide and high <= design + wide:
        state = FITS
    else:
        state = UNTOLD
    return Told(name, float(middle), float(low), float(high), design, tolerance, state)


def findings(posterior, offset_ma):
    """What is told of load, array, capacity and offset; list of `Told`.

    Parameters
    ----------
    posterior : darkspell.log_analysis.inference.Posterior
    offset_ma : float
        What the study takes the monitor's offset for, one standard deviation [mA].
    """
    out = []
    for at, name in enumerate(TARGETS[:4]):
        tolerance = constant("log_analysis", f"{name}_tolerance")
        tolerance *= max(offset_ma, LEAST_OFFSET) * 1e-3 if name == "offset" else 1.0
        design = 0.0 if name == "offset" else 1.0
        out.append(told(name, posterior.middle[at], posterior.low[at], posterior.high[at], design, tolerance))
    return out


def main_cause(found):
    """Name of what differs most, in tolerances beyond its own; None if nothing does."""
    differing = [one for one in found if one.state == DIFFERS]
    return max(differing, key=lambda one: one.excess).name if differing else None
