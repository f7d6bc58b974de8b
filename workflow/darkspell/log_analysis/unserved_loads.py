"""Hours in which loads may have been switched off, and how much of what was asked for that hides."""

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.full_charge import disconnected_hours
from darkspell.log_analysis.quantities import DRAWS

AFTER_H = 16  # hours after a dark hour without loads in which they may still be off


def after_disconnection(hours, expected, offset):
    """Hours that follow a disconnection of the loads within the length of a night; bool [H].

    Parameters
    ----------
    hours, expected, offset
        As for `darkspell.log_analysis.load_evidence.load_courses`.
    """
    off = disconnected_hours(hours, expected, float(np.median(offset)))
    return np.convolve(off, np.ones(AFTER_H))[: off.size] > 0.5


def serving_hours(hours, expected, depth, offset):
    """Hours with a current in which nothing is disconnected; bool [H].

    Parameters
    ----------
    hours, expected, depth, offset
        As for `darkspell.log_analysis.load_evidence.load_courses`.
    """
    use = np.isfinite(hours.load_current if hours.measured_load else hours.current)
    if expected.deferrable_share <= 0.0:
        return use & ~disconnected_hours(hours, expected, float(np.median(offset)))
    shed = 0.9 * expected.shed_depth
    with np.errstate(invalid="ignore"):
        use &= ~(depth > shed * expected.capacity)
        low = hours.soc < 1.0 - shed
        use &= ~(low & np.isnan(depth)) if hours.measured_current else ~low & (hours.soc < 0.995)
    return use & ~disconnected_hours(hours, expected, float(np.median(offset)))


def unserved_share(hours, expected, depth, offset):
    """Greatest share of the energy asked for that may not have been served [-].

    Hours in which everything was disconnected, or in which the bank was low enough for it, and the deferrable part in
    hours in which the bank was low enough to shed it, or not known not to be.

    Parameters
    ----------
    hours, expected, depth, offset
        As for `darkspell.log_analysis.load_evidence.load_courses`.
    """
    known = np.isfinite(hours.current)
    shed = 0.9 * expected.shed_depth
    with np.errstate(invalid="ignore"):
        if not hours.measured_current:
            low, shed = hours.soc < constant("log_analysis", "low_reading"), hours.soc < 1.0 - shed
            unknown = np.zeros(known.size, bool)
        else:
            low = hours.voltage < expected.low_resting
            shed, unknown = depth > shed * expected.capacity, np.isnan(depth)
    if not known.any():
        return 1.0
    off = low | disconnected_hours(hours, expected, float(np.median(offset)))
    idle = _idle(hours, expected, float(np.median(offset)))
    if np.isfinite(hours.voltage).any():
        off |= idle & (np.convolve(low, np.ones(49), mode="same") > 0.5)
    elif hours.measured_current:
        # Weeks without a full charge and without a voltage may hide anything.
        with np.errstate(invalid="ignore"):
            off |= unknown | (idle & (depth > 0.3 * expected.capacity))
    shed_only = (shed | unknown) & ~off
    return float(off[known].mean() + expected.deferrable_share * shed_only[known].mean())


def _idle(hours, expected, offset):
    """Dark hours in which hardly anything flows out of the bank; bool [H]."""
    least = max(0.25 * float(expected.steady.mean()), 0.1 * expected.planned) / expected.nominal
    amps = hours.load_current if hours.measured_load else offset - hours.current
    with np.errstate(invalid="ignore"):
        return (amps < least) & (expected.envelope <= 0.0)


def shed_factor(hours, expected, depth, rng):
    """Load asked for over that served, where deferrable loads may have been shed unseen [-]; float64 [draws].

    Weeks after the last full charge nobody knows how deep the bank is.

    Parameters
    ----------
    hours : Hours
    expected : Expected
    depth : float64 [H]
        Depth of discharge [-].
    rng : numpy.random.Generator
    """
    known = np.isfinite(hours.current)
    unknown = float(np.isnan(depth[known]).mean()) if known.any() and hours.measured_current else 0.0
    share = min(expected.deferrable_share, 0.9) * rng.uniform(0.0, 1.0, DRAWS)
    return 1.0 + unknown * share / (1.0 - share)


def unserved_factor(hours, expected, depth, offset, rng):
    """Load asked for over that seen, where some of it went unserved [-]; float64 [draws], 1 or more.

    Loads are switched off when there is much of them: hours that are left show less than was asked for, never more.

    Parameters
    ----------
    hours, expected, depth, offset
        As for `darkspell.log_analysis.load_evidence.load_courses`.
    rng : numpy.random.Generator
    """
    share = unserved_share(hours, expected, depth, offset)
    return np.exp(constant("log_analysis", "unserved_sd") * share * np.abs(rng.standard_normal(DRAWS)))
