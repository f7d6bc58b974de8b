"""The coulomb counter in plain NumPy, with its equations; the kernels are held to it in the tests.

One counter, all members side by side, hours one after another, float64. Symbols: D deficit (charge counted as
missing, over the capacity set), I current, C capacity set, eta charge efficiency set, s, o, d scale, offset and drift
of the instrument, T bank temperature.

1. Measured current: I' = clip(s I + o + d (T - 25 degC), -rating, rating); 0 where abs(I') is below the dead band.
2. Count: D <- clip(D - I' eta / C, 0, 1) while charging, D <- clip(D - I' r^(k-1) / C, 0, 1) otherwise, where
   r = clip(I_out / I_20h, 1, 30) and k is the exponent set (Peukert's law, as monitors apply it).
3. Full: in five-minute steps the charger's offer is O (1 + sd z) with z standard normal. The terminal voltage rises
   in a straight line from the open-circuit voltage, at no current, to V_top at the accepted current A. A step meets
   the criteria where that voltage reaches the voltage set and the measured current is at or below the tail current
   set. After `dwell_steps` steps in a row, D <- 0.
"""

import numpy as np
from scipy.special import ndtr

from darkspell.core.constants import constant
from darkspell.monitor.full_detection import PLACES, STEPS

REFERENCE_C = 25.0
FASTEST = 30.0
NEARLY = 0.999
WIDEST, EDGE = 3.8, 4.0  # standard deviations of the flicker


def open_circuit_voltage(soc, c):
    """Open-circuit voltage [V] at a state of charge [-]; c is a `darkspell.chemistry.numbers.ChemistryNumbers`.

    Parameters
    ----------
    soc : float or float array
        State of charge [-].
    c : darkspell.chemistry.numbers.ChemistryNumbers

    Returns
    -------
    float or float array
        [V]
    """
    volts = float(c.ocv_0) + float(c.ocv_slope[0]) * soc
    for knot, slope in zip(c.ocv_knot, c.ocv_slope[1:], strict=True):
        volts = volts + float(slope) * np.maximum(soc, float(knot))
    return volts


def charging_line(soc, accept, temp, capacity, drop, c):
    """Open-circuit voltage, voltage at the accepted current [V], and current per volt of rise [A/V].

    Parameters
    ----------
    soc, accept, temp : float arrays [lanes]
        Charge at the hour's beginning [-], accepted current [A], bank temperature [degC].
    capacity : float
        Of the bank [Ah].
    drop : float
        Fall of the charging voltage after the absorption time [V].
    c : darkspell.chemistry.numbers.ChemistryNumbers

    Returns
    -------
    ocv, voltage, slope : float arrays [lanes]
        [V], [V] and [A/V].
    """
    at = np.clip(temp, float(c.clip_low), float(c.clip_high)) - float(c.reference)
    top = float(c.setpoint) + float(c.setpoint_per_k) * at
    share = np.clip((temp - float(c.cold_zero)) * float(c.cold_slope), 0.0, 1.0)
    greatest = float(c.accept_max) * share
    below = np.maximum(float(c.reference) - temp, 0.0)
    tau = float(c.taper_h) * (1.0 + float(c.taper_per_k) * below)
    tapered = (1.0 - np.exp(-1.0 / tau)) * (1.0 - soc)
    fallen = (accept < NEARLY * np.minimum(greatest, tapered) * capacity) & (drop > 0.0)
    top = top - np.where(fallen, drop, 0.0)
    ocv = open_circuit_voltage(soc, c)
    reached = np.where(greatest > 0.0, np.minimum(greatest / np.maximum(tapered, 1e-9), 1.0), 1.0)
    rise = np.maximum(top - ocv, 0.0) * reached
    return ocv, ocv + rise, accept / np.maximum(rise, 1e-9)


def count(current, through, offer, accept, soc, temp, places, settings, errors, bank, c):
    """Read a year of the bank's hours through one counter, without warm-up.

    Parameters
    ----------
    current, through, offer, accept, soc, temp : float arrays [hours, lanes]
        Current of the bank and through the shunt, current on offer and accepted [A], charge at the end of the hour
        [-], bank temperature [degC].
    places : float array [hours, 12, lanes]
        Share of the flicker's distribution below each five-minute step [-].
    settings : darkspell.monitor.settings.ShuntSettings
    errors : tuple of float arrays [lanes]
        Gain [-], offset [A], drift [A/K].
    bank : tuple of float
        ``(capacity, drop)``: of the bank [Ah], and the fall of the charging voltage after the absorption time [V].
    c : darkspell.chemistry.numbers.ChemistryNumbers

    Returns
    -------
    reading : float64 array [hours, lanes]
        [-].
    resets, premature : int arrays [lanes]
        Days with a reset, and those whose first reset came below ``premature_soc``.
    """
    gain, offset, drift = (np.asarray(part, float) for part in errors)
    hours, lanes = current.shape
    capacity, drop = bank
    sd, tolerance = constant("monitor", "flicker_sd"), constant("monitor", "voltage_tolerance")
    began = soc[0] - current[0] / capacity
    deficit = np.maximum(capacity / settings.capacity * (1.0 - began), 0.0)
    run, today = np.zeros(lanes, int), np.zeros(lanes, bool)
    resets, premature, reading = np.zeros(lanes, int), np.zeros(lanes, int), np.empty((hours, lanes))
    for hour in range(hours):
        if hour % 24 == 0:
            today[:] = False
        zero = offset + drift * (temp[hour] - REFERENCE_C)
        measured = np.clip((1.0 + gain) * through[hour] + zero, -settings.rating, settings.rating)
        measured = np.where(np.abs(measured) >= settings.least_counted, measured, 0.0)
        rate = np.clip(-through[hour] * 20.0 / settings.capacity, 1.0, FASTEST)
        counted = np.where(measured > 0.0, settings.efficiency, rate ** (settings.rate_exponent - 1.0))
        deficit = np.clip(deficit - measured * counted / settings.capacity, 0.0, 1.0)
        before = soc[hour - 1]
        ocv, top, slope = charging_line(before, accept[hour], temp[hour], capacity, drop, c)
        full = settings.full_voltage - tolerance
        most = (settings.full_current - zero) / (1.0 + gain) - (through[hour] - current[hour])
        per = 1.0 / (np.maximum(offer[hour], 1e-9) * sd)
        low = np.clip((slope * np.maximum(full - ocv, 0.0) - offer[hour]) * per, -EDGE, EDGE)
        high = np.where(accept[hour] <= most, EDGE, np.clip((most - offer[hour]) * per, -EDGE, EDGE))
        could = (offer[hour] > 0.0) & (top >= full) & (low <= np.minimum(high, WIDEST)) & (high >= -WIDEST)
        could &= ~today | (deficit > 0.0)
        surely = (low <= -WIDEST) & (high >= WIDEST)
        longest = np.zeros(lanes, int)
        inside = (places[hour] >= ndtr(low) * (low > -EDGE)) & (
            places[hour] <= np.where(high < EDGE, ndtr(high), 1.0)
        )
        step_run = run.copy()
        for step in range(STEPS):
            step_run = np.where(inside[step] | surely, step_run + 1, 0)
            longest = np.maximum(longest, step_run)
        is_full = could & (longest >= settings.dwell_steps)
        run = np.where(could, np.where(is_full, settings.dwell_steps, step_run), 0)
        fresh = is_full & ~today
        resets += fresh
        premature += fresh & (soc[hour] < constant("monitor", "premature_soc"))
        today |= is_full
        deficit = np.where(is_full, 0.0, deficit)
        reading[hour] = 1.0 - deficit
    return reading, resets, premature


def step_places(key, hours, members):
    """Share of the flicker's distribution below each step, as the kernels draw it.

    Parameters
    ----------
    key : uint64
        Of the stream ``monitor/flicker``.
    hours : int
    members : int array [lanes]

    Returns
    -------
    float64 [hours, 12, lanes]
    """
    from darkspell.bank.run_years import LANES
    from darkspell.monitor.full_detection import draw_places

    out = np.empty((hours, STEPS, members.size))
    drawn = np.resize(members, LANES).astype(np.int64)
    places, fine = np.zeros(LANES * STEPS, np.int32), np.zeros(LANES, np.float32)
    for hour in range(hours):
        draw_places(key, hour, drawn, LANES, places, fine)
        out[hour] = (places.reshape(STEPS, LANES) + fine.astype(float))[:, : members.size] / PLACES
    return out
