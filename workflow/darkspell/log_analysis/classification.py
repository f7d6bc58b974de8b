"""From draws to a verdict: what differs, what is as designed, what this log cannot tell."""

from dataclasses import dataclass

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.quantities import CAUSES

LEAST_OFFSET = 4.0  # mA: no log tells less
DIFFERS, FITS, UNTOLD = "differs", "as designed", "cannot be told"


@dataclass(frozen=True)
class Verdict:
    """What is known of one cause.

    Parameters
    ----------
    name : str
        One of `darkspell.log_analysis.quantities.CAUSES`.
    middle, low, high : float
        Median and 95 % interval; NaN where the log has no evidence.
    design : float
        What the study says.
    tolerance : float
        What is off without being a fault, in the unit of the value.
    state : str
        `DIFFERS`, `FITS` or `UNTOLD`.
    reason : str
        Why it cannot be told; empty otherwise.
    """

    name: str
    middle: float
    low: float
    high: float
    design: float
    tolerance: float
    state: str
    reason: str = ""

    @property
    def above(self):
        """Whether the value lies above the design."""
        return self.middle > self.design

    @property
    def excess(self):
        """Distance of the median from the design, in tolerances; 0 where nothing is shown to differ."""
        return abs(self.middle - self.design) / self.tolerance if self.state == DIFFERS else 0.0


def classify(name, draws, design, tolerance, reason=""):
    """Verdict on one cause from its draws.

    Parameters
    ----------
    name : str
    draws : float array or None
        What the log says; None where it has no evidence.
    design, tolerance : float
    reason : str
        Why there is no evidence.

    Returns
    -------
    Verdict
        It differs if it lies beyond the tolerance with probability `sure`; it is as designed if it lies within
        `telling_share` tolerances with that probability.
    """
    if draws is None:
        return Verdict(name, np.nan, np.nan, np.nan, design, tolerance, UNTOLD, reason)
    sure, wide = constant("log_analysis", "sure"), constant("log_analysis", "telling_share") * tolerance
    low, middle, high = np.quantile(draws, [0.025, 0.5, 0.975])
    beyond = max((draws > design + tolerance).mean(), (draws < design - tolerance).mean())
    if beyond >= sure:
        state, why = DIFFERS, ""
    elif (np.abs(draws - design) <= wide).mean() >= sure:
        state, why = FITS, ""
    else:
        state, why = UNTOLD, "its interval is too wide"
    return Verdict(name, float(middle), float(low), float(high), design, tolerance, state, why)


def verdicts(found, offset_sd):
    """Verdicts on all causes; list of `Verdict`.

    Parameters
    ----------
    found : darkspell.log_analysis.quantities.Evidence
    offset_sd : float
        Ordinary offset of the monitor, standard deviation [A].
    """
    out = []
    for name in CAUSES:
        tolerance = constant("log_analysis", f"{name}_tolerance")
        tolerance *= max(offset_sd, LEAST_OFFSET * 1e-3) if name == "offset" else 1.0
        design = 0.0 if name == "offset" else 1.0
        out.append(classify(name, found.draws.get(name), design, tolerance, found.reasons.get(name, "")))
    return out


def main_cause(found):
    """Name of what differs most, in tolerances; None if nothing does.

    Parameters
    ----------
    found : list of Verdict
    """
    differing = [one for one in found if one.state == DIFFERS]
    return max(differing, key=lambda one: one.excess).name if differing else None
