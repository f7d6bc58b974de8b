"""From draws to a verdict: what differs, what is as designed, what this log cannot tell."""

from dataclasses import dataclass, replace

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.load_nights import NightUse
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
        Unit of its distance from the study, in the unit of the value.
    ordinary : (float, float)
        What a system may have without a fault.
    state : str
        `DIFFERS`, `FITS` or `UNTOLD`.
    reason : str
        Why it cannot be told; empty otherwise.
    night : darkspell.log_analysis.load_nights.NightUse or None
        Of the load: its use by night, where that is what differs.
    """

    name: str
    middle: float
    low: float
    high: float
    design: float
    tolerance: float
    ordinary: tuple
    state: str
    reason: str = ""
    night: NightUse | None = None

    @property
    def above(self):
        """Whether the value lies above the design."""
        return self.night is not None or self.middle > self.design

    @property
    def excess(self):
        """Distance of the median from the design, in tolerances; 0 where nothing is shown to differ."""
        if self.state != DIFFERS:
            return 0.0
        off = abs(self.middle - self.design) if np.isfinite(self.middle) else 0.0
        return off / self.tolerance

    @property
    def as_designed(self):
        """Range wholly within which an interval counts as as designed; (float, float)."""
        reach = constant("log_analysis", "telling_share") * self.tolerance
        return self.design - reach, self.design + reach


def classify(name, draws, design, tolerance, ordinary, reason=""):
    """Verdict on one cause from its draws.

    Parameters
    ----------
    name : str
    draws : float array or None
        What the log says; None where it has no evidence.
    design, tolerance : float
    ordinary : (float, float)
    reason : str
        Why there is no evidence.

    Returns
    -------
    Verdict
        It differs if its 95 % interval lies wholly outside the ordinary range; it is as designed if it lies wholly
        within `telling_share` tolerances.
    """
    if draws is None:
        return Verdict(name, np.nan, np.nan, np.nan, design, tolerance, ordinary, UNTOLD, reason)
    low, middle, high = (float(part) for part in np.quantile(draws, [0.025, 0.5, 0.975]))
    out = Verdict(name, middle, low, high, design, tolerance, ordinary, UNTOLD, "its interval is too wide")
    if low > ordinary[1] or high < ordinary[0]:
        return replace(out, state=DIFFERS, reason="")
    if out.as_designed[0] <= low and high <= out.as_designed[1]:
        return replace(out, state=FITS, reason="")
    return out


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
        if name == "offset":
            tolerance *= max(offset_sd, LEAST_OFFSET * 1e-3)
            ordinary, design = (-tolerance, tolerance), 0.0
        else:
            ordinary, design = tuple(constant("log_analysis", f"{name}_ordinary")), 1.0
        why = found.reasons.get(name, "")
        out.append(classify(name, found.draws.get(name), design, tolerance, ordinary, why))
    return _with_nights(out, found.night)


def _with_nights(out, night):
    """Verdicts in which the load differs by night alone, where no other hours of the planned loads explain its use.

    An offset that differs makes nights doubtful, and so do loads that were switched off in others.
    """
    named = any(one.name == "offset" and one.state == DIFFERS for one in out)
    unserved = any(one.name == "load" and not np.isfinite(one.low) for one in out)
    if named or unserved or night is None or night.beyond < constant("log_analysis", "sure"):
        return out
    return [
        replace(one, state=DIFFERS, reason="", night=night)
        if one.name == "load" and one.state != DIFFERS
        else one
        for one in out
    ]


def main_cause(found):
    """Name of what differs most, in tolerances; None if nothing does.

    Parameters
    ----------
    found : list of Verdict
    """
    differing = [one for one in found if one.state == DIFFERS]
    return max(differing, key=lambda one: one.excess).name if differing else None
