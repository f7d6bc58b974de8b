"""The days of a log against the days of the system as designed."""

from dataclasses import dataclass

import numpy as np

from darkspell.core.constants import constant

SHARES = (0.1, 0.25, 0.5, 0.75, 0.9)
WORDS = {"lowest_soc": "lowest reading of the day", "lowest_voltage": "lowest hourly voltage of the day",
         "ah_out": "charge out of the bank by day"}  # fmt: skip
UNITS = {"lowest_soc": "%", "lowest_voltage": "V", "ah_out": "Ah"}


def ordinary_systems(count, offset_sd, rng):
    """Factors of load, array and capacity, and offsets, of systems as designed that differ as ordinary ones do.

    Parameters
    ----------
    count : int
    offset_sd : float
        Ordinary offset of the monitor, standard deviation [A].
    rng : numpy.random.Generator

    Returns
    -------
    float64 array [4, count]
    """
    z = rng.standard_normal((4, count))
    spread = [
        constant("log_analysis", name) for name in ("band_load_sd", "array_tolerance", "capacity_tolerance")
    ]
    return np.vstack([np.exp(np.array(spread)[:, None] * z[:3]), offset_sd * z[3:]])


@dataclass(frozen=True)
class DesignBands:
    """One daily quantity of the log over the bands of the design.

    Parameters
    ----------
    quantity : str
        One of `WORDS`.
    logged : float64 array [days]
        NaN on days with more than four hours missing.
    bands : float64 array [5, days]
        Quantiles `SHARES` of the simulated days.
    outside : float
        Share of the log's days outside the band of eight days in ten [-].
    usual, most : float
        The same in simulated logs of the system as designed: median, and exceeded by one in twenty [-].
    shift : float
        What, up to a limit, a voltage differs by from the design all through the log [V], in the bands; 0 for other
        quantities. A bank has a curve, and a voltmeter an error, of its own: days are compared without it.
    at_limit : bool
        Whether the log differs by more than that limit.
    """

    quantity: str
    logged: np.ndarray
    bands: np.ndarray
    outside: float
    usual: float
    most: float
    shift: float = 0.0
    at_limit: bool = False


def design_bands(hours, lanes, nominal=12.0):
    """Daily quantity of the log over the bands of the design.

    Parameters
    ----------
    hours : darkspell.log_analysis.hourly_means.LogHours
    lanes : darkspell.log_analysis.log_simulator.Lanes
        Of the system as designed.
    nominal : float
        Voltage of the bank [V].

    Returns
    -------
    DesignBands
    """
    log = hours.log
    if np.isfinite(hours.soc).any():
        name, seen, made = "lowest_soc", hours.soc[None] * 100.0, lanes.soc * 100.0
    elif log.has_voltage:
        name, seen, made = "lowest_voltage", log.voltage[None].astype(float), lanes.voltage
    else:
        name, seen, made = (
            "ah_out",
            -np.minimum(log.current[None].astype(float), 0.0),
            -np.minimum(lanes.current, 0.0),
        )
    missing = ~np.isfinite(seen[0])
    made = np.where(missing, np.nan, made)
    logged, simulated = (_daily(part, name) for part in (seen, made))
    own, at_limit = np.zeros(len(simulated) + 1), False
    if name == "lowest_voltage":
        most = constant("log_analysis", "band_shift") * nominal / 12.0
        own = constant_difference(np.vstack([logged, simulated]), quantiles(simulated)[2])
        at_limit = bool(abs(own[0]) > most)
        own = np.clip(own, -most, most)  # more than that is no matter of the curve
    bands = quantiles(simulated - own[1:, None])
    share = outside(simulated - own[1:, None], bands)
    return DesignBands(
        name,
        logged[0],
        bands + own[0],
        float(outside(logged - own[0], bands)[0]),
        float(np.median(share)),
        float(np.quantile(share, 0.95)),
        float(own[0]),
        at_limit,
    )


def quantiles(days):
    """Quantiles `SHARES` of simulated days; float64 [5, days], NaN where no day is known.

    Parameters
    ----------
    days : float64 [lanes, days]
    """
    known = np.isfinite(days).any(0)
    out = np.full((len(SHARES), known.size), np.nan)
    out[:, known] = np.quantile(days[:, known], SHARES, axis=0)
    return out


def constant_difference(days, middle):
    """Median difference of each log from the design; float64 [logs], 0 where no day is known.

    Parameters
    ----------
    days : float64 [logs, days]
    middle : float64 [days]
        Median of the design.
    """
    known = np.isfinite(days).any(0) & np.isfinite(middle)
    if not known.any():
        return np.zeros(len(days))
    return np.nan_to_num(np.nanmedian(days[:, known] - middle[known], axis=1))


def _daily(values, name):
    days = values.reshape(values.shape[0], -1, 24)
    whole = np.isfinite(days).sum(2) >= 20
    with np.errstate(invalid="ignore"):
        filled = np.where(np.isfinite(days), days, 0.0 if name == "ah_out" else np.inf)
    out = filled.sum(2) if name == "ah_out" else filled.min(2)
    return np.where(whole, out, np.nan)


def outside(days, bands):
    """Share of the known days outside the band of eight in ten; float64 [lanes].

    Parameters
    ----------
    days : float64 [lanes, days]
    bands : float64 [5, days]
        Quantiles of the design.
    """
    known = np.isfinite(days)
    with np.errstate(invalid="ignore"):
        out = (days < bands[0]) | (days > bands[4])
    return (out & known).sum(1) / np.maximum(known.sum(1), 1)
