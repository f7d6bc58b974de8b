"""A fifth family, written to judge log reading after the first four had been used to improve it, and read once.

Clear sky by Bird & Hulstrom; hours of cloud from a Gaussian copula with memory of hours and days, within them clouds
of power-law length that hide the sun; diffuse light by Erbs & Driesse, tilted modules by Perez & Driesse, efficiency
by Huld et al., all from pvlib; reflection from a table. Appliances that keep a favourite time, compressors that
switch on and off, a quiet day a week. Lithium: a curve of steps with two branches (hysteresis); lead-acid: two
wells of charge (Manwell & McGowan, Solar Energy 50 (1993) 399-405; recalled), gassing by Tafel. A charger that stops
once the bank is full, and starts again at a lower voltage, next to the usual one with float. All widths are ours.
"""

from typing import NamedTuple

import numpy as np
import pandas as pd
from numba import njit
from pvlib import atmosphere, clearsky, iam, irradiance, pvarray, solarposition, temperature
from scipy.signal import lfilter
from scipy.stats import beta, norm

from dev.second_simulator.bank import BankMinutes

ANGLES, PASSED = [0, 40, 55, 65, 75, 85, 90], [1.0, 0.995, 0.975, 0.935, 0.82, 0.42, 0.0]
GRID = np.linspace(0.0, 1.0, 501)


class FifthBank(NamedTuple):
    """One bank: curve of a cell over `GRID` [V], half width of its branches [V], resistance [Ohm], wells [-, 1/h]."""

    lead: bool
    cells: float
    capacity: float
    curve: np.ndarray
    branch: float
    direct: float
    slow: float
    slow_h: float
    near: float
    flow: float
    gas: float
    efficiency: float


class FifthCharger(NamedTuple):
    """Set points of charger and load switch [V, h, A, -]."""

    absorption: float
    float_voltage: float
    again: float
    stops: bool
    setpoint_per_k: float
    longest_h: float
    tail: float
    current_limit: float
    pwm: bool
    efficiency: float
    cut_off: float
    reconnect: float
    shed: float
    resume: float


def fifth_weather(system, first, days, rng):
    """Minutes of irradiance and air temperature; columns as of `dev.second_simulator.sky.weather`."""
    stamps = pd.date_range(pd.Timestamp(first) + pd.Timedelta(seconds=30), periods=1440 * days, freq="min")
    utc = (stamps - pd.Timedelta(hours=system.utc_offset)).tz_localize("UTC")
    sun = solarposition.ephemeris(utc, system.latitude, system.longitude)
    zenith, extra = sun["apparent_zenith"].to_numpy(), irradiance.get_extra_radiation(utc).to_numpy()
    mass = atmosphere.get_relative_airmass(np.minimum(zenith, 89.5))
    haze = rng.uniform(0.03, 0.25)
    clear = clearsky.bird(zenith, mass, 1.4 * haze, haze, rng.uniform(0.5, 4.0), dni_extra=extra)["ghi"]
    clear = np.where(zenith < 90.0, np.nan_to_num(np.asarray(clear)), 0.0)
    flat, month = extra * np.maximum(np.cos(np.radians(zenith)), 0.0), stamps.month.to_numpy()
    spell = np.repeat(_memory(days, 0.55, rng), 24)
    state = norm.cdf(np.sqrt(0.6) * spell + np.sqrt(0.4) * _memory(24 * days, 0.75, rng))
    index = np.empty(stamps.size)
    for m in np.unique(month):
        at = month == m
        wanted = system.clearness[m - 1] * np.exp(0.05 * rng.standard_normal()) * flat[at].sum()
        mean = np.clip((min(wanted / clear[at].sum(), 0.97) - 0.15) / 0.9, 0.05, 0.95)
        hours = beta.ppf(state[at[::60]], 1.6 * mean, 1.6 * (1.0 - mean))
        index[at] = _clouds(np.repeat(hours, 60), rng)
    ghi = index * clear
    split = irradiance.erbs_driesse(ghi, zenith, dni_extra=extra)
    dhi, dni = (np.nan_to_num(np.asarray(split[name])) for name in ("dhi", "dni"))
    warm = np.interp(stamps.day_of_year, 30.4 * np.arange(12) + 15.2, system.temperature, period=365.0)
    hour = np.arange(stamps.size) / 60.0 % 24.0
    bright = np.repeat(index.reshape(days, 1440).mean(1), 1440)
    air = warm + np.repeat(2.5 * _memory(days, 0.7, rng), 1440)
    air = air - (2.0 + 6.0 * bright) * np.cos(2.0 * np.pi * (hour - 3.5) / 24.0)
    return pd.DataFrame(
        {
            "ghi": ghi, "dhi": np.minimum(dhi, ghi), "dni": dni, "temp_air": air, "zenith": zenith,
            "azimuth": sun["azimuth"].to_numpy(), "extra": extra,
        },
        index=stamps,
    )  # fmt: skip


def _memory(count, keep, rng):
    """Autoregressive normal numbers; float64 [count], variance 1."""
    noise = np.sqrt(1.0 - keep**2) * rng.standard_normal(count)
    noise[0] = rng.standard_normal()
    return lfilter([1.0], [1.0, -keep], noise)


def _clouds(share, rng):
    """Clear-sky index by minute, sunny for about `share` of the time."""
    out, at = np.empty(share.size), 0
    while at < share.size:
        length = int(min(2.0 * (1.0 - rng.random()) ** (-1.0 / 1.3), 240.0))
        sunny = rng.random() < share[at]
        out[at : at + length] = rng.uniform(1.0, 1.08) if sunny else rng.uniform(0.05, 0.3)
        at += length
    return np.convolve(np.pad(out, 1, mode="edge"), [0.25, 0.5, 0.25], mode="valid")


def fifth_array_power(system, sky, rng):
    """Power of all modules by minute [W]; parameters as `dev.second_simulator.pv.array_power`."""
    wind, dust = rng.uniform(0.5, 3.0), 1.0 - rng.uniform(0.0, 0.04)
    mass = atmosphere.get_relative_airmass(sky["zenith"].to_numpy())
    hill = 90.0 - sky["zenith"].to_numpy() < rng.uniform(0.0, 6.0)
    total = np.zeros(len(sky))
    for surface in system.surfaces:
        args = surface.tilt, surface.azimuth
        angle = np.asarray(irradiance.aoi(*args, sky["zenith"], sky["azimuth"]))
        beam = np.where(hill, 0.0, sky["dni"]) * np.maximum(np.cos(np.radians(angle)), 0.0)
        diffuse = irradiance.perez_driesse(
            *args, sky["dhi"], sky["dni"], sky["extra"], sky["zenith"], sky["azimuth"], mass
        )
        ground = irradiance.get_ground_diffuse(surface.tilt, sky["ghi"], albedo=system.albedo)
        seen = beam * np.nan_to_num(iam.interp(angle, ANGLES, PASSED, method="linear"))
        front = np.nan_to_num(np.asarray(seen + 0.95 * (np.nan_to_num(diffuse) + ground)))
        front = np.clip(front, 0.0, 1500.0)
        cell = temperature.generic_linear(front, sky["temp_air"].to_numpy(), wind, 20.0, 4.0, 0.19, 0.9)
        made = pvarray.huld(np.maximum(front, 1.0), cell, surface.watts, cell_type="csi")
        total += (1.0 - surface.loss) * np.maximum(np.nan_to_num(np.asarray(made)), 0.0) * (front > 1.0)
    return total * dust


def fifth_household(system, first, days, scale, extra_share, _air, rng):
    """Load of a household by minute; parameters as `dev.second_simulator.other_loads.other_household`."""
    dates = pd.date_range(pd.Timestamp(first), periods=days)
    months, weekday, minute = dates.month.to_numpy(), dates.dayofweek.to_numpy(), np.arange(1440)
    people = np.where(weekday == rng.integers(0, 7), 0.6, 1.0 + 0.4 / 6.0)
    parts = {name: np.zeros((days, 1440)) for name in ("essential", "deferrable", "past")}
    nominal = np.full(days, 24.0 * system.standing)
    for one in system.appliances:
        begin, width = 60.0 * one.window[0], 60.0 * ((one.window[1] - one.window[0]) % 24.0 or 24.0)
        favourite, loose = begin + width * rng.beta(2.0, 2.0), width * rng.uniform(0.1, 0.3)
        steady, cycle = 60.0 * one.hours >= 0.85 * width, rng.uniform(40.0, 90.0)
        cold = one.hours >= 5.0 and width >= 1200.0 and not steady
        for day in np.flatnonzero(np.isin(months, one.months) & (rng.random(days) < one.chance)):
            spread = np.exp(one.spread * rng.standard_normal() - 0.5 * one.spread**2)
            total = 60.0 * one.hours * spread * (1.0 if steady or cold else people[day])
            if steady:
                course = ((minute - begin) % 1440 < width) * (total / width)
            elif cold:
                course = ((minute + rng.uniform(0.0, cycle)) % cycle < cycle * min(total / 1440.0, 1.0)) * 1.0
                course *= total / max(course.sum(), 1.0)
            else:
                course = _two_runs(min(total, width), begin, width, favourite, loose, minute, rng)
            power = scale * one.watts * one.count * course
            parts["deferrable" if one.deferrable else "essential"][day] += power
            parts["past"][day] += power * one.past_shunt
        planned = one.watts * one.count * one.hours * one.chance
        nominal += np.where(np.isin(months, one.months), planned, 0.0)
    if extra_share > 0.0:
        on = (minute // 60 - rng.integers(0, 24)) % 24 < rng.choice([5, 12, 24])
        parts["essential"] += on * extra_share * nominal.mean() / 24.0 / on.mean()
    flat = [parts[name].ravel() for name in ("essential", "deferrable", "past")]
    return flat[0] + system.standing, flat[1], flat[2], nominal


def _two_runs(total, begin, width, favourite, loose, minute, rng):
    """Minutes of use in one or two runs about a favourite time, their sum `total` [min]; float64 [1440]."""
    out, count = np.zeros(1440), int(rng.integers(1, 3))
    for run in range(count):
        length = total / count
        middle = favourite + loose * rng.standard_normal() + (run * 0.3 * width if count > 1 else 0.0)
        start = begin + (middle - begin) % max(width - length, 1.0)
        on = ((minute - start) % 1440 < max(length, 1.0)) * 1.0
        out += on * length / on.sum()
    return out


def drawn_fifth_bank(system, factor, rng):
    """One bank, as real ones differ; parameters as `dev.second_simulator.bank.drawn_bank`."""
    capacity, lead = system.capacity * factor, system.chemistry != "lfp"
    cells = system.voltage / 12.0 * (6.0 if lead else 4.0)
    if lead:
        curve = rng.uniform(1.93, 1.98) + rng.uniform(0.17, 0.22) * GRID - 0.6 * np.exp(-GRID / 0.02)  # empty
    else:
        steps = 0.03 * np.tanh((GRID - rng.uniform(0.3, 0.4)) / 0.06)
        steps += 0.018 * np.tanh((GRID - rng.uniform(0.62, 0.72)) / 0.03)
        curve = 3.275 + 0.01 * rng.standard_normal() + steps
        curve = curve - 0.7 * np.exp(-GRID / rng.uniform(0.015, 0.04)) + 0.12 * np.exp((GRID - 1.0) / 0.01)
    wide = np.exp(0.3 * rng.standard_normal(2)) * cells / capacity
    return FifthBank(
        lead, cells, capacity, curve, 0.0 if lead else rng.uniform(0.003, 0.015), (0.14 if lead else 0.06) * wide[0],
        (0.15 if lead else 0.05) * wide[1], rng.uniform(0.3, 2.0), rng.uniform(0.4, 0.7) if lead else 1.0,
        rng.uniform(0.4, 1.5) if lead else 1.0, rng.uniform(0.3e-3, 1.2e-3) if lead else 0.0,
        1.0 if lead else rng.uniform(0.99, 0.999),
    )  # fmt: skip


def drawn_fifth_charger(system, rng):
    """Charger and load switch of one system; parameters as `drawn_fifth_bank`."""
    blocks, lead = system.voltage / 12.0, system.chemistry != "lfp"
    return FifthCharger(
        system.absorption + blocks * rng.uniform(-0.15, 0.1), system.float_voltage,
        system.float_voltage - blocks * rng.uniform(0.1, 0.3), bool(not lead and rng.random() < 0.5),
        system.setpoint_per_k, rng.uniform(0.5, 3.0), rng.uniform(0.01, 0.05) * system.capacity,
        system.current_limit, system.pwm, system.efficiency * rng.uniform(0.98, 1.01), system.cut_off,
        system.cut_off + 1.2 * blocks, system.shed, system.resume,
    )  # fmt: skip


def run_fifth(bank, charger, power, essential, deferrable, temperature, start):
    """Run a bank of this family through minutes; parameters as `dev.second_simulator.bank.run`."""
    out = np.zeros((4, power.size))
    _run(bank, charger, power, essential, deferrable, temperature, start, out)
    return BankMinutes(*out)


@njit(cache=True)
def _run(bank, charger, power, essential, deferrable, temperature, start, out):
    near, far = start * bank.near, start * (1.0 - bank.near)  # charge of the two wells
    slow, side, held, full, resting = 0.0, 0.0, 0.0, False, False
    on, shed_on, dt = True, True, 1.0 / 60.0
    volts = bank.cells * (2.1 if bank.lead else 3.3)
    for m in range(power.size):
        soc = near + far
        if soc < charger.shed:
            shed_on = False
        elif soc > charger.resume:
            shed_on = True
        load = (essential[m] + (deferrable[m] if shed_on else 0.0)) if on else 0.0
        delta = temperature[m] - 25.0
        goal = charger.float_voltage if full and not charger.stops else charger.absorption
        goal += charger.setpoint_per_k * min(max(delta, -25.0), 20.0)
        if charger.pwm:
            offer = power[m] / (17.4 * bank.cells / (6.0 if bank.lead else 4.0))
        else:
            offer = power[m] * charger.efficiency / volts
        if resting:
            offer = 0.0
        offer = min(offer, charger.current_limit)
        draw = load / volts
        level = min(max(near / bank.near, 0.0), 1.0)
        place = level * (bank.curve.size - 1)
        at = min(int(place), bank.curve.size - 2)
        rest = bank.cells * (
            bank.curve[at] + (place - at) * (bank.curve[at + 1] - bank.curve[at]) + bank.branch * side
        )
        rest += bank.cells * (12.0 if bank.lead else 25.0) * max(near / bank.near - 1.0, 0.0)
        net, ohm = offer - draw, bank.direct * (1.0 + 0.01 * max(-delta, 0.0))
        if net > 0.0 and bank.lead:
            ohm *= 1.0 + 0.12 / max(1.05 - level, 0.05)
        base = rest + slow
        volts = base + net * ohm
        if volts > goal and net > -draw:
            net = min(max((goal - base) / ohm, -draw), net)
            volts = base + net * ohm
        gas = 0.0
        if bank.lead:
            gas = bank.gas * bank.capacity * np.exp((volts / bank.cells - 2.25) * 10.0 + 0.05 * delta)
        stored = net - min(gas, max(net, 0.0)) if bank.lead else net * (bank.efficiency if net > 0.0 else 1.0)
        step = (stored - 5e-5 * bank.capacity) * dt / bank.capacity
        moved = 0.0
        if bank.lead:
            moved = (
                bank.flow * dt * (far / (1.0 - bank.near) - near / bank.near) * bank.near * (1.0 - bank.near)
            )
        near = min(max(near + step + moved, 1e-4), bank.near * 1.05)
        far = min(max(far - moved, 0.0), 1.0 - bank.near + 1e-9)
        side += (1.0 if net > 0.0 else -1.0 if net < 0.0 else 0.0) * min(
            abs(net) * dt / (0.03 * bank.capacity), 1.0
        )
        side = min(max(side, -1.0), 1.0)
        slow += (net * bank.slow - slow) * dt / bank.slow_h
        if power[m] <= 1.0:
            full, held, resting = False, 0.0, False
        elif volts >= goal - 0.02 and not full:
            held += dt
            full = held > charger.longest_h or (net < charger.tail and held > 0.15)
            resting = full and charger.stops
        elif resting and volts < charger.again:
            full, held, resting = False, 0.0, False
        if on and volts < charger.cut_off and m > 10:
            on = False
        elif not on and volts > charger.reconnect:
            on = True
        out[0, m], out[1, m], out[2, m], out[3, m] = net, volts, min(near + far, 1.0), load
