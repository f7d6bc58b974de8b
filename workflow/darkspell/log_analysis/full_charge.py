"""When the bank was full, what has left it since, and when the charger does not limit the current yet."""

import numpy as np

from darkspell.core.constants import constant

LEAST_GOOD = 5  # hours of one time of day


def top_voltage(hours, expected):
    """Voltage at which the charger holds the bank, by the log [V]; NaN where it never gets there.

    Parameters
    ----------
    hours : Hours
    expected : Expected
    """
    volts = hours.voltage[(expected.envelope > 0.0) & np.isfinite(hours.voltage)]
    if volts.size < 24:
        return np.nan
    top = float(np.quantile(volts, 0.98))
    return (
        top
        if top > expected.absorption - constant("log_analysis", "top_reach") * expected.nominal / 12.0
        else np.nan
    )


def full_hours(hours, expected):
    """Last hour of each day in which the bank was full; int array.

    With a voltage: the charger holds its voltage and takes in little. With a reading alone: it shows full. With a
    current alone: the sun would give far more than what goes in, after a morning of charging.

    Parameters
    ----------
    hours : Hours
    expected : Expected
    """
    # An array that is small against the bank gives no large current either, full or not.
    small = (
        constant("log_analysis", "tail_share_steep" if expected.steep else "tail_share") * expected.capacity
    )
    small = min(small, constant("log_analysis", "tail_of_array") * float(expected.envelope.max()))
    sun, current = expected.envelope > 0.0, hours.current
    with np.errstate(invalid="ignore"):
        if not hours.measured_current:
            full = hours.soc >= 0.995
        elif np.isfinite(hours.voltage).any():
            top = top_voltage(hours, expected)
            block = expected.nominal / 12.0
            full = sun & (hours.voltage >= top - 0.12 * block) & (np.abs(current) <= small)
            if expected.steep:
                floating = (hours.voltage >= expected.float_voltage - 0.1 * block) & (
                    np.abs(current) <= 0.4 * small
                )
                full |= sun & floating
        else:
            offered = (
                np.median(expected.array, axis=1) if expected.weather_known else 0.55 * expected.envelope
            )
            load = expected.load.mean(1) / expected.nominal
            full = (offered > 0.04 * expected.capacity) & (current + load < 0.35 * offered)
            full &= (
                (current > -0.5 * load)
                & (current <= small)
                & _charged_before(current, 0.04 * expected.capacity)
            )
    out = []
    for day in range(full.size // 24):
        at = np.flatnonzero(full[24 * day : 24 * day + 24])
        if at.size:
            out.append(24 * day + at[-1])
    return np.array(out, int)


def _charged_before(current, least):
    """Whether one of the eight hours before had a charge current above `least`; bool [H]."""
    high = np.nan_to_num(current) > least
    return np.array([high[max(0, h - 8) : h].any() for h in range(high.size)])


def counted_charge(hours):
    """Charge by the end of each hour [Ah], and the current [A]; gaps count as the mean of their time of day.

    Parameters
    ----------
    hours : Hours

    Returns
    -------
    charge, current : float64 arrays [H]
    """
    current = hours.current.copy()
    missing = ~np.isfinite(current)
    if missing.any():
        clock = np.arange(current.size) % 24
        mean = np.array(
            [
                np.nanmean(current[clock == h]) if np.isfinite(current[clock == h]).any() else 0.0
                for h in range(24)
            ]
        )
        current[missing] = mean[clock[missing]]
    return np.cumsum(current), current


def depth_of(hours, expected, full, offset):
    """Charge removed since the bank was full [Ah]; NaN where no full bank is near in time; float [H].

    Parameters
    ----------
    hours : Hours
    expected : Expected
    full : int array
        From `full_hours`.
    offset : float
        Current shown when none flows [A].
    """
    if not full.size:
        return np.full(hours.current.size, np.nan)
    charge, filled = counted_charge(hours)
    loss = (1.0 - expected.efficiency) * np.cumsum(np.maximum(filled, 0.0))
    level = charge - loss - offset * np.arange(charge.size)
    at = np.arange(charge.size)
    line = np.interp(at, full, level[full])
    near = np.abs(at[:, None] - full[None]).min(1) if full.size < 400 else np.zeros(at.size)
    return np.where(near <= 24 * 21, np.maximum(line - level, 0.0), np.nan)


def bulk_hours(hours, expected, depth):
    """Hours of daylight in which the charger does not limit the charge yet; bool [H].

    Parameters
    ----------
    hours : Hours
    expected : Expected
    depth : float array [H]
        From `depth_of`.
    """
    return unlimited_hours(hours, expected, depth) & (expected.envelope > 0.12 * expected.envelope.max())


def unlimited_hours(hours, expected, depth):
    """Hours with any sun in which the charger does not limit the charge yet; bool [H]. Parameters as `bulk_hours`."""
    sun = expected.envelope > 0.0
    known = np.isfinite(hours.current)
    if not hours.measured_current:
        with np.errstate(invalid="ignore"):
            return sun & known & (hours.soc < 1.0 - expected.bulk_depth)
    if np.isfinite(hours.voltage).any():
        top = top_voltage(hours, expected)
        if not np.isfinite(top) and not expected.steep:
            return sun & known & np.isfinite(hours.voltage)
        volts = np.nan_to_num(hours.voltage, nan=0.0).reshape(-1, 24)
        block = expected.nominal / 12.0
        # The charging voltage of a temperature-compensated charger moves with the season: each day has its own.
        daily = volts.max(axis=1, keepdims=True)
        held = np.where(daily < top - expected.compensation * block, np.inf, daily - 0.1 * block)
        if expected.steep:
            # Under charge the voltage of lead-acid rises with the charge held: well below float none is held back.
            least = expected.float_voltage - 0.5 * expected.compensation * block
            held = np.where(daily < least, np.inf, daily - 0.1 * block)
            held = np.minimum(held, expected.float_voltage - 0.2 * block)
        elif expected.compensation < 0.3:
            held = np.full_like(held, top - 0.2 * block)
        reached = np.maximum.accumulate(volts >= held, axis=1)
        if not expected.steep:
            # A day that never reaches the charging voltage may be one of float, near full.
            shallow = np.nan_to_num(depth, nan=np.inf) < expected.bulk_depth * expected.capacity
            reached |= ~reached.any(1, keepdims=True) & shallow.reshape(-1, 24)
        reached = reached.ravel()
        return sun & known & np.isfinite(hours.voltage) & ~reached & ~np.roll(reached, -1)
    with np.errstate(invalid="ignore"):
        deep = depth > expected.bulk_depth * expected.capacity
        deep &= np.roll(depth, 1) > expected.bulk_depth * expected.capacity
    return sun & known & deep


def disconnected_hours(hours, expected, offset):
    """Hours in which the loads were off after the cut-off voltage; bool [H].

    Dark hours in which hardly anything flows: on days with a voltage that only a nearly empty bank has, or, without
    a voltage, several in a row in a log whose other nights show the loads that run all day.

    Parameters
    ----------
    hours : Hours
    expected : Expected
    offset : float
        Current shown when none flows [A].
    """
    if not hours.measured_current:
        return np.zeros(hours.current.size, bool)
    steady = expected.steady / expected.nominal
    dark = expected.envelope <= 0.0
    with np.errstate(invalid="ignore"):
        out = offset - hours.current
        still = (out < 0.25 * steady) & dark
        low = hours.voltage < expected.low_resting
    if np.isfinite(hours.voltage).any():
        near = np.convolve(low, np.ones(49), mode="same") > 0.5
        idle = (out < 0.1 * expected.planned / expected.nominal) & dark
        near |= _since_low(low, dark & np.isfinite(out) & ~idle)
        found = near & (still | (idle & _usually_busy(idle, dark & ~near & np.isfinite(out))))
        # The hours at the edges of a disconnection are served in part.
        return found | ((np.convolve(found, np.ones(3), mode="same") > 0.5) & near & dark)
    if not (dark & ~still).any() or np.nanmedian((out - 0.6 * steady)[dark]) < 0.0:
        return np.zeros(hours.current.size, bool)
    run = np.convolve(still, np.ones(3), mode="same") > 2.5
    return still & (np.convolve(run, np.ones(3), mode="same") > 0.5)


def _since_low(low, busy):
    """Hours after a low voltage until a dark hour shows loads again: a disconnection may last for days; bool [H]."""
    out, state = np.zeros(low.size, bool), False
    for h in range(low.size):
        state = bool(low[h]) or (state and not busy[h])
        out[h] = state
    return out


def _usually_busy(idle, good):
    """Whether loads run at this time of day in most of the good hours, or nobody knows; bool [H]."""
    clock = np.arange(idle.size) % 24
    out = np.ones(24, bool)
    for h in range(24):
        at = good & (clock == h)
        if at.sum() >= LEAST_GOOD:
            out[h] = idle[at].mean() < 0.5
    return out[clock]


def round_trip(hours, full, offset):
    """Charge out over charge in from full to full, with its interval; None where it cannot be told.

    Parameters
    ----------
    hours : Hours
    full : int array
        From `full_hours`.
    offset : float array [draws]
        [A].

    Returns
    -------
    tuple of three floats or None
        Value, and its interval by sampling alone [-].
    """
    if not hours.measured_current or hours.clipped or full.size < 3 or full[-1] - full[0] < 240:
        return None
    part = hours.current[full[0] + 1 : full[-1] + 1]
    if np.isnan(part).mean() > 0.05:
        return None
    into, out = np.nansum(np.maximum(part, 0.0)), -np.nansum(np.minimum(part, 0.0))
    if into <= 0.0:
        return None
    spread = 1.96 * np.sqrt(part.size) * hours.current_sd / into
    value = out / into
    if value - spread > 1.0:
        return None  # an offset of the monitor: more cannot come out than went in
    return min(value, 1.0), max(value - spread, 0.0), min(value + spread, 1.0)
