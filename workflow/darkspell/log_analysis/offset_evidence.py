"""Current shown when none flows, from one full bank to the next, else by the balance of the whole log."""

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.full_charge import counted_charge
from darkspell.log_analysis.quantities import DRAWS


def offset_draws(hours, expected, full, draws, reasons, rng):
    """Draws of the offset [A], weighed by what monitors usually have; float64 [draws].

    What is stated of the offset rests on the log alone: an offset of 0.3 A is rare, and looked for all the same.
    Loads and array are read with the weighed draws.

    Parameters
    ----------
    hours : darkspell.log_analysis.quantities.Hours
    expected : darkspell.log_analysis.quantities.Expected
    full : int array
        From `darkspell.log_analysis.full_charge.full_hours`.
    draws, reasons : dict
        Filled: the draws if the offset can be told, otherwise why not.
    rng : numpy.random.Generator
    """
    if not hours.measured_current:
        reasons["offset"] = "the log has no measured current"
        return _unmeasured(expected, rng)
    if hours.clipped:
        reasons["offset"] = "the logger cuts the current off at its limit"
        return _unmeasured(expected, rng)
    proven = np.isfinite(hours.voltage).any() or expected.weather_known
    span = full[-1] - full[0] if proven and full.size > 1 else 0
    if span < 24 * constant("log_analysis", "least_span_days"):
        if hours.current.size < 24 * constant("log_analysis", "least_balance_days"):
            reasons["offset"] = "the bank is not seen to be full at two times far enough apart"
            return _unmeasured(expected, rng)
        if one_way(hours.current):
            reasons["offset"] = "the current flows almost only one way; no balance can be drawn"
            return _unmeasured(expected, rng)
        draws["offset"] = _balance(hours, expected, rng)
        return weighed(draws["offset"], expected, rng)
    charge, filled = counted_charge(hours)
    into = np.cumsum(np.maximum(filled, 0.0))
    by_voltage = np.isfinite(hours.voltage).any()
    spread = constant("log_analysis", "full_sd" if by_voltage else "full_sd_current")
    if expected.steep:
        spread = max(spread, constant("log_analysis", "full_sd_steep"))
    spread = spread * expected.capacity
    time = full.astype(float)
    lost = 1.0 - (expected.efficiency + expected.efficiency_sd * rng.standard_normal(DRAWS))
    slope = _theil_sen(time, charge[full])
    rate = _theil_sen(time, into[full])
    independent = max(min(full.size, span / 72.0), 2.0)
    fit_sd = spread / span * np.sqrt(12.0 / (independent + 4.0))
    sampling = sampling_error(hours) / np.sqrt(span)
    missing = np.isnan(hours.current[full[0] : full[-1]]).mean() * 0.2 * np.abs(filled).mean()
    rounding = constant("log_analysis", "rounding_share") * hours.resolution
    noise = np.sqrt(fit_sd**2 + sampling**2 + missing**2 + rounding**2 + _scale_error(hours, rate) ** 2)
    noise = noise * rng.standard_normal(DRAWS)
    out = slope - np.maximum(lost, 0.0) * np.maximum(rate - np.maximum(slope, 0.0), 0.0) + noise
    draws["offset"] = out
    return weighed(out, expected, rng)


def weighed(draws, expected, rng):
    """Draws of the offset by a log alone, resampled by what monitors usually have [A]; float64 [draws].

    Most have an ordinary offset, some a faulty one: where the log allows an ordinary offset it is the likelier.

    Parameters
    ----------
    draws : float array [draws]
    expected : darkspell.log_analysis.quantities.Expected
    rng : numpy.random.Generator
    """
    share, wide = (constant("log_analysis", name) for name in ("faulty_offsets", "untold_offset"))
    usual = 2.0 * expected.offset_sd + 0.02
    chance = (1.0 - share) / usual * np.exp(-0.5 * (draws / usual) ** 2)
    chance += share / wide * np.exp(-0.5 * (draws / wide) ** 2)
    chance = np.cumsum(chance + 1e-12)
    return draws[np.searchsorted(chance, rng.random(draws.size) * chance[-1])]


def one_way(current):
    """Whether a current flows almost only into the bank, or almost only out of it.

    Parameters
    ----------
    current : float64 [H]
        Net current of the bank [A], positive into it.
    """
    into, out = np.nansum(np.maximum(current, 0.0)), -np.nansum(np.minimum(current, 0.0))
    return min(into, out) < 0.2 * max(into, out)


def _unmeasured(expected, rng):
    """What an offset may be that no log shows: ordinary ones mostly, faulty ones among them [A]; float64 [draws]."""
    usual = 2.0 * expected.offset_sd + 0.02
    faulty = rng.random(DRAWS) < constant("log_analysis", "faulty_offsets")
    size = np.where(faulty, constant("log_analysis", "untold_offset"), usual)
    return size * rng.standard_normal(DRAWS)


def sampling_error(hours):
    """Sampling error of an hour's current [A]; larger where rows an hour apart may keep step with a load.

    Parameters
    ----------
    hours : Hours
    """
    return hours.current_sd * (constant("log_analysis", "coarse_sampling") if hours.coarse else 1.0)


def _scale_error(hours, into):
    """Standard deviation of the charge that enters each hour, where it comes from a power alone [A]."""
    return constant("log_analysis", "assumed_voltage_sd") * into if hours.assumed_voltage else 0.0


def _balance(hours, expected, rng):
    """Offset by the balance of the whole log [A]: what the bank held first and last is between empty and full."""
    charge, filled = counted_charge(hours)
    count = filled.size
    change = expected.capacity * rng.uniform(-1.0, 1.0, DRAWS)
    lost = 1.0 - (expected.efficiency + expected.efficiency_sd * rng.standard_normal(DRAWS))
    seen = np.isfinite(hours.voltage).any() or expected.weather_known
    if (
        expected.steep and seen
    ):  # a bank that is hardly ever full loses less to gassing, nobody knows how much less
        lost = lost * rng.uniform(0.0, 1.0, DRAWS)
    rate, into = charge[-1] / count, np.maximum(filled, 0.0).mean()
    sampling = sampling_error(hours) / np.sqrt(count)
    missing = np.isnan(hours.current).mean() * 0.2 * np.abs(filled).mean()
    rounding = constant("log_analysis", "rounding_share") * hours.resolution
    noise = np.sqrt(sampling**2 + missing**2 + rounding**2 + _scale_error(hours, into) ** 2)
    noise = noise * rng.standard_normal(DRAWS)
    return rate - change / count - np.maximum(lost, 0.0) * max(into - max(rate, 0.0), 0.0) + noise


def _theil_sen(x, y):
    """Median of the slopes of all pairs that lie at least a quarter of the span apart."""
    i, j = np.triu_indices(x.size, 1)
    far = x[j] - x[i] >= 0.25 * (x[-1] - x[0])
    return float(np.median((y[j] - y[i])[far] / (x[j] - x[i])[far]))
