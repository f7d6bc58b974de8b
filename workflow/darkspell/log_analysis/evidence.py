"""What a log says of load, array, capacity and current offset, by arithmetic that can be followed on paper.

Each quantity has its own evidence, and is estimated only where the log's columns carry that evidence:

offset
    From one full bank to the next as much charge must go in as comes out, but for the bank's losses. What is
    left over, divided by the time, is the current shown when none flows.
load
    Nights: what leaves the bank is the load, once the offset is taken off.
array
    Hours of the morning before the charger holds its voltage: charge and load together are what the array gives.
capacity
    Charge removed since the bank was full, where its voltage has fallen off the end of the discharge curve.

The uncertainty of each is drawn: sampling of the log, losses, daily course of the loads, weather record, and what
is not known of the models behind the expectation (`constants/log_analysis.toml`).
"""

from dataclasses import dataclass

import numpy as np

from darkspell.core.constants import constant

CAUSES = ("load", "array", "capacity", "offset")
DRAWS = 2000


@dataclass(frozen=True)
class Expected:
    """What the study expects in the log's hours.

    Parameters
    ----------
    load : float array [H, lanes]
        Load that the shunt sees [W].
    array : float array [H, lanes]
        Current of the array at the bank, before the charger limits it [A].
    envelope : float array [H]
        The same under a clear sky [A]; 0 while the sun is down.
    weather_known : bool
        Whether `array` is under the weather of the log's own dates.
    weather_sd : float
        Relative uncertainty of the weather record's level [-]; 0 where the weather is not known.
    steady : float array [H]
        Part of the load that runs through its whole window [W]: its hours are known.
    movable_share : float array [draws]
        Share of the other loads' energy that falls into dark hours, under the daily courses that people have [-].
    movable_planned : float
        Mean power of the other loads over day and night [W].
    capacity : float
        [Ah].
    nominal : float
        Nominal voltage [V].
    absorption : float
        Charging voltage [V].
    float_voltage : float
        What the charger falls back to once the bank is full [V].
    steep : bool
        Whether the voltage under charge rises well with the charge held (lead-acid), or hardly (lithium).
    compensation : float
        Greatest change of the charging voltage of a 12 V bank with the season [V].
    knee : float
        Terminal voltage below which the discharge curve ends [V]; NaN where the kind of bank has no sharp end.
    knee_charge : float
        State of charge at that voltage [-].
    efficiency, efficiency_sd : float
        Ampere-hour efficiency of the bank from full to full, and its uncertainty [-].
    bulk_depth : float
        Depth of discharge beyond which the charger does not limit the charge current yet [-].
    shed_depth : float
        Depth beyond which the study sheds deferrable loads [-].
    offset_sd : float
        Ordinary offset of the monitor, standard deviation [A].
    freezing : float array [days]
        Chance of a daily mean below 1 degC [-]: snow may cover the array.
    resting : float
        Voltage of the bank at rest, for a log without a voltage [V].
    """

    load: np.ndarray
    array: np.ndarray
    envelope: np.ndarray
    weather_known: bool
    weather_sd: float
    steady: np.ndarray
    movable_share: np.ndarray
    movable_planned: float
    capacity: float
    nominal: float
    absorption: float
    float_voltage: float
    steep: bool
    compensation: float
    knee: float
    knee_charge: float
    efficiency: float
    efficiency_sd: float
    bulk_depth: float
    shed_depth: float
    offset_sd: float
    freezing: np.ndarray
    resting: float


@dataclass(frozen=True)
class Hours:
    """A log by the hour, as the evidence takes it.

    Parameters
    ----------
    current, voltage : float arrays [H]
        [A, V]; NaN where not known. Current from the reading's steps where the log has only a reading.
    soc : float array [H]
        Reading [-]; NaN where not known.
    current_sd : float
        Sampling error of one hour's current [A].
    measured_current : bool
        Whether `current` was measured, not derived from the reading.
    coarse : bool
        Whether rows are half an hour or more apart.
    """

    current: np.ndarray
    voltage: np.ndarray
    soc: np.ndarray
    current_sd: float
    measured_current: bool
    coarse: bool = False


@dataclass(frozen=True)
class Evidence:
    """Draws of each cause and why one cannot be told.

    Parameters
    ----------
    draws : dict of float arrays [draws]
        By `CAUSES`: factors on the study's values [-], offset [A]; only causes that can be told.
    reasons : dict of str
        Why a cause cannot be told from this log.
    full : int array
        Hours in which the bank was full.
    deepest : float
        Greatest charge removed since the bank was full [Ah]; NaN where not known.
    round_trip : (float, float, float) or None
        Charge out over charge in, from full to full, and its 95 % interval [-].
    """

    draws: dict
    reasons: dict
    full: np.ndarray
    deepest: float
    round_trip: tuple | None


def evidence(hours, expected, rng):
    """Draw what the log says of each cause; `Evidence`.

    Parameters
    ----------
    hours : Hours
    expected : Expected
    rng : numpy.random.Generator
    """
    draws, reasons = {}, {}
    full = full_hours(hours, expected)
    offset = _offset(hours, expected, full, draws, reasons, rng)
    depth = depth_of(hours, expected, full, float(np.median(offset)))
    load = _load(hours, expected, depth, offset, draws, reasons, rng)
    _array(hours, expected, depth, offset, load, draws, reasons, rng)
    _capacity(hours, expected, depth, offset, full, draws, reasons, rng)
    deepest = float(np.nanmax(depth)) if np.isfinite(depth).any() else np.nan
    return Evidence(draws, reasons, full, deepest, round_trip(hours, full, offset))


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
    small = constant("log_analysis", "tail_share") * expected.capacity
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


def _charge(hours):
    """Ampere-hours by the end of each hour; gaps count as the mean of their time of day."""
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


def _offset(hours, expected, full, draws, reasons, rng):
    """Draws of the offset [A]: told from full to full, else only what an ordinary monitor has."""
    doubt = constant("log_analysis", "untold_offset")
    prior = doubt * rng.standard_normal(DRAWS)
    if not hours.measured_current:
        reasons["offset"] = "the log has no measured current"
        return prior
    if not np.isfinite(hours.voltage).any() and not expected.weather_known:
        reasons["offset"] = "neither a voltage nor the weather of the dates proves when the bank was full"
        return prior
    span = full[-1] - full[0] if full.size > 1 else 0
    if span < 24 * constant("log_analysis", "least_span_days"):
        reasons["offset"] = "the bank is not seen to be full at two times far enough apart"
        limit = 1.1 * expected.capacity / max(hours.current.size, 24)
        return np.sqrt(doubt**2 + (0.5 * limit) ** 2) * rng.standard_normal(DRAWS)
    charge, filled = _charge(hours)
    into = np.cumsum(np.maximum(filled, 0.0))
    by_voltage = np.isfinite(hours.voltage).any()
    spread = constant("log_analysis", "full_sd" if by_voltage else "full_sd_current") * expected.capacity
    time = full.astype(float)
    lost = 1.0 - (expected.efficiency + expected.efficiency_sd * rng.standard_normal(DRAWS))
    slope = _theil_sen(time, charge[full])
    rate = _theil_sen(time, into[full])
    independent = max(min(full.size, span / 72.0), 2.0)
    fit_sd = spread / span * np.sqrt(12.0 / (independent + 4.0))
    sampling = hours.current_sd / np.sqrt(span)
    missing = np.isnan(hours.current[full[0] : full[-1]]).mean() * 0.2 * np.abs(filled).mean()
    noise = np.sqrt(fit_sd**2 + sampling**2 + missing**2) * rng.standard_normal(DRAWS)
    out = slope - np.maximum(lost, 0.0) * np.maximum(rate - np.maximum(slope, 0.0), 0.0) + noise
    draws["offset"] = out
    return out


def _theil_sen(x, y):
    """Median of the slopes of all pairs that lie at least a quarter of the span apart."""
    i, j = np.triu_indices(x.size, 1)
    far = x[j] - x[i] >= 0.25 * (x[-1] - x[0])
    return float(np.median((y[j] - y[i])[far] / (x[j] - x[i])[far]))


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
    charge, filled = _charge(hours)
    loss = (1.0 - expected.efficiency) * np.cumsum(np.maximum(filled, 0.0))
    level = charge - loss - offset * np.arange(charge.size)
    at = np.arange(charge.size)
    line = np.interp(at, full, level[full])
    near = np.abs(at[:, None] - full[None]).min(1) if full.size < 400 else np.zeros(at.size)
    return np.where(near <= 24 * 21, np.maximum(line - level, 0.0), np.nan)


def _load(hours, expected, depth, offset, draws, reasons, rng):
    """Draws of the load factor [-] from nights; a wide prior where there are too few."""
    dark = expected.envelope <= 0.0
    dark &= np.roll(dark, 1) & np.roll(dark, -1)
    use = dark & np.isfinite(hours.current)
    with np.errstate(invalid="ignore"):
        shallow = ~(depth > 0.9 * expected.shed_depth * expected.capacity)
    use &= shallow
    if not hours.measured_current:
        use &= hours.soc < 0.995
    if use.sum() < constant("log_analysis", "least_night_hours"):
        reasons["load"] = "too few hours of night with a current"
        return np.exp(0.4 * rng.standard_normal(DRAWS))
    volts = np.where(np.isfinite(hours.voltage), hours.voltage, expected.resting)
    power = -hours.current * volts
    clock = np.arange(power.size) % 24
    deep = use & (clock >= 1) & (clock < 5)
    if deep.sum() < 0.15 * use.sum():
        deep = use
    tries = 12 * DRAWS
    lane = rng.integers(0, expected.load.shape[1], tries)
    shown = np.resize(offset, tries) * volts[use].mean()
    error = hours.current_sd * volts[use].mean() / np.sqrt(use.sum())

    def seen(part, luck):
        return (
            power[part].mean()
            + shown
            + luck
            - (expected.load[part].mean(0)[lane] - expected.load[part].mean())
        )

    planned = expected.load[deep].mean()
    steady = np.ones(tries)
    if planned > 0.05 * expected.load.mean():
        luck = error * np.sqrt(use.sum() / deep.sum()) * rng.standard_normal(tries)
        steady = np.maximum(seen(deep, luck) / planned, 0.02)
    steady = steady * np.exp(constant("log_analysis", "steady_sd") * rng.standard_normal(tries))
    share = np.resize(expected.movable_share, tries)
    movable = np.exp(constant("log_analysis", "movable_sd") * rng.standard_normal(tries))
    by_night = movable * expected.movable_planned * share / dark.mean()
    miss = steady * expected.steady[use].mean() + by_night - seen(use, error * rng.standard_normal(tries))
    width = constant("log_analysis", "course_sd") * expected.load[use].mean()
    weight = np.exp(-0.5 * np.minimum((miss / width) ** 2, 1400.0))
    if weight.sum() < 1e-200:
        weight = np.exp(-0.5 * (miss / np.abs(miss).min()) ** 2)
    pick = rng.choice(tries, DRAWS, p=weight / weight.sum())
    total = steady[pick] * expected.steady.mean() + movable[pick] * expected.movable_planned
    draws["load"] = np.maximum(total / (expected.steady.mean() + expected.movable_planned), 0.02)
    return draws["load"]


def bulk_hours(hours, expected, depth):
    """Hours of daylight in which the charger does not limit the charge yet; bool [H].

    Parameters
    ----------
    hours : Hours
    expected : Expected
    depth : float array [H]
        From `depth_of`.
    """
    sun = expected.envelope > 0.12 * expected.envelope.max()
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
            # Under charge the voltage of lead-acid rises with the charge held: below float none is held back.
            held = np.minimum(held, expected.float_voltage - 0.2 * block)
        elif expected.compensation < 0.3:
            held = np.full_like(held, top - 0.2 * block)
        reached = np.maximum.accumulate(volts >= held, axis=1).ravel()
        return sun & known & np.isfinite(hours.voltage) & ~reached & ~np.roll(reached, -1)
    with np.errstate(invalid="ignore"):
        deep = depth > expected.bulk_depth * expected.capacity
        deep &= np.roll(depth, 1) > expected.bulk_depth * expected.capacity
    return sun & known & deep


def _array(hours, expected, depth, offset, load, draws, reasons, rng):
    """Draws of the array factor [-]."""
    use = bulk_hours(hours, expected, depth)
    if expected.weather_known:
        # Where the loads take most of the current, their own uncertainty hides the array's.
        strong = expected.array.mean(1) > 1.5 * expected.load.mean(1) / expected.nominal
        use = use & strong if (use & strong).sum() >= constant("log_analysis", "least_bulk_hours") else use
    if use.sum() < constant("log_analysis", "least_bulk_hours"):
        reasons["array"] = "too few hours of charging before the charger limits the current"
        return
    volts = np.where(np.isfinite(hours.voltage), hours.voltage, 1.02 * expected.resting)
    snowy = expected.freezing.mean() > constant("log_analysis", "snow_chance")
    by_day = np.exp(constant("log_analysis", "day_load_sd") * rng.standard_normal(DRAWS))
    served = (expected.load.mean(1) / volts)[use]
    given = hours.current[use]
    if expected.weather_known:
        offered = expected.array[use].mean(1)
        day = np.flatnonzero(use) // 24
        ratio, error = _daily_ratio(day, given - np.median(offset) + np.median(load) * served, offered)
        if ratio is None:
            reasons["array"] = "too few days of charging before the charger limits the current"
            return
        extra = (
            served.sum() * (load * by_day - np.median(load)) - (offset - np.median(offset)) * use.sum()
        ) / offered.sum()
        model = constant("log_analysis", "array_model_sd")
        record = expected.weather_sd
    else:
        # Clear days fill the bank by noon: only hours of the day that are nearly always before that may be used.
        clock = np.arange(use.size) % 24
        light = expected.envelope > 0.12 * expected.envelope.max()
        often = np.array(
            [use[(clock == h) & light].mean() if (light & (clock == h)).any() else 0.0 for h in range(24)]
        )
        early = (often >= constant("log_analysis", "often_bulk"))[clock[use]]
        if early.sum() < 40:
            reasons["array"] = "the weather of the dates is not known, and clear days soon fill the bank"
            return
        bright = early
        clear = expected.envelope[use][bright]
        q = constant("log_analysis", "bright_quantile")
        total = given[bright] - np.median(offset) + np.median(load) * served[bright]
        seen = np.quantile(total / clear, q)
        lanes = np.quantile(expected.array[use][bright] / clear[:, None], q, axis=0)
        ratio = seen / lanes[rng.integers(0, lanes.size, DRAWS)]
        error = 0.0
        extra = (
            served[bright].mean() * (load * by_day - np.median(load)) - (offset - np.median(offset))
        ) / clear.mean()
        model = constant("log_analysis", "array_model_sd_unknown")
        record = 0.0
    coarse = constant("log_analysis", "coarse_rows_sd") if hours.coarse else 0.0
    noise = np.sqrt(model**2 + record**2 + coarse**2) * rng.standard_normal(DRAWS)
    out = (ratio + error * rng.standard_normal(DRAWS) + extra) * np.exp(noise)
    if snowy:
        # Snow on the modules takes light that the record of the dates does not know of.
        hidden = constant("log_analysis", "snow_loss_sd")
        hidden += constant("log_analysis", "snow_loss_freezing") * expected.freezing.mean() ** 2
        out = out * (1.0 + hidden * np.maximum(rng.standard_normal(DRAWS), 0.0))
    draws["array"] = np.maximum(out, 0.02)


def _daily_ratio(day, given, offered):
    """Weighted median of the days' ratio of current given to current offered, and its standard error."""
    days, at = np.unique(day, return_inverse=True)
    offer, got = np.bincount(at, offered), np.bincount(at, given)
    keep = offer > 0.1 * np.median(offer)
    if keep.sum() < 4:
        return None, None
    ratio, weight = got[keep] / offer[keep], offer[keep]
    order = np.argsort(ratio)
    total = np.cumsum(weight[order])
    middle = float(ratio[order][np.searchsorted(total, 0.5 * total[-1])])
    spread = 1.4826 * float(np.median(np.abs(ratio - middle)))
    return middle, 1.25 * spread / np.sqrt(weight.sum() ** 2 / (weight**2).sum())


def _capacity(hours, expected, depth, offset, full, draws, reasons, rng):
    """Draws of the capacity factor [-], where the end of the discharge curve is seen after a full charge."""
    if not hours.measured_current:
        reasons["capacity"] = "a reading alone counts with the capacity that the monitor is set to"
        return
    if not np.isfinite(hours.voltage).any():
        reasons["capacity"] = "without a voltage the end of the discharge is not seen"
        return
    if not np.isfinite(expected.knee):
        reasons["capacity"] = "the voltage of this kind of bank falls too evenly to show where it ends"
        return
    with np.errstate(invalid="ignore"):
        low = (hours.voltage < expected.knee) & (hours.current < 0.0) & (depth > 0.2 * expected.capacity)
    events = [h for h in np.flatnonzero(low) if not low[max(0, h - 24) : h].any()]
    if not events:
        reasons["capacity"] = "the bank was never discharged to the end after a full charge"
        return
    values = []
    for h in events:
        since = h - full[full <= h][-1] if (full <= h).any() else np.nan
        if np.isfinite(since):
            values.append(depth[h] - (offset - np.median(offset)) * -since)
    if not values:
        reasons["capacity"] = "the bank was never discharged to the end after a full charge"
        return
    removed = np.median(np.array(values), axis=0)
    end = 1.0 - expected.knee_charge + constant("log_analysis", "knee_charge_sd") * rng.standard_normal(DRAWS)
    out = removed / expected.capacity / end
    draws["capacity"] = out * np.exp(
        constant("log_analysis", "capacity_model_sd") * rng.standard_normal(DRAWS)
    )


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
    if not hours.measured_current or full.size < 3 or full[-1] - full[0] < 240:
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
