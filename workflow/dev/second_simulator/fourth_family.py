"""A fourth family, written to judge log reading after the first three had been used to improve it.

Clear sky by Ineichen & Perez with a turbidity of the season's own, clouds from a sum of noises of five time scales
(the light that they let pass by Kasten & Czeplak, Solar Energy 24 (1980) 177-189; recalled), beam by DISC, tilted
modules by Klucher, reflection by Schlick, cell temperature by the NOCT model, all from pvlib; a tree that hides the
sun in one direction, efficiency that falls in dim light. Lamps that follow the sunset, guests at weekends, weeks in
which nobody is at home, a refrigerator that follows the hour's warmth, a part of the use outside its window. A bank
of two resistor-capacitor pairs over a curve of random knots. All widths are our choice.
"""

from typing import NamedTuple

import numpy as np
import pandas as pd
from numba import njit
from pvlib import atmosphere, clearsky, iam, irradiance, solarposition, temperature
from scipy.interpolate import PchipInterpolator
from scipy.signal import lfilter

from dev.second_simulator.bank import BankMinutes

SCALES_MIN, WEIGHTS = (4.0, 25.0, 150.0, 900.0, 4500.0), (0.5, 0.6, 0.7, 0.9, 1.1)
KNOTS = np.array([0.0, 0.03, 0.08, 0.2, 0.4, 0.6, 0.75, 0.9, 0.97, 1.0])
LITHIUM = np.array([2.6, 2.95, 3.14, 3.225, 3.283, 3.292, 3.32, 3.332, 3.345, 3.43])
GRID = np.linspace(0.0, 1.0, 401)


class FourthBank(NamedTuple):
    """One bank: curve of a cell over `GRID` [V], resistances [Ohm], time constants [h], gassing [1/h at 2.25 V]."""

    lead: bool
    cells: float
    capacity: float
    curve: np.ndarray
    direct: float
    fast: float
    fast_h: float
    slow: float
    slow_h: float
    rise: float
    gas: float
    efficiency: float


class FourthCharger(NamedTuple):
    """Set points of charger and load switch [V, h, A, -]."""

    absorption: float
    float_voltage: float
    setpoint_per_k: float
    longest_h: float
    tail: float
    current_limit: float
    pwm: bool
    efficiency: float
    own_w: float
    cut_off: float
    reconnect: float
    shed: float
    resume: float


def fourth_weather(system, first, days, rng):
    """Minutes of irradiance and air temperature; columns as of `dev.second_simulator.sky.weather`."""
    stamps = pd.date_range(pd.Timestamp(first) + pd.Timedelta(seconds=30), periods=1440 * days, freq="min")
    utc = (stamps - pd.Timedelta(hours=system.utc_offset)).tz_localize("UTC")
    sun = solarposition.ephemeris(utc, system.latitude, system.longitude)
    zenith, extra = sun["apparent_zenith"].to_numpy(), irradiance.get_extra_radiation(utc).to_numpy()
    mass = atmosphere.get_absolute_airmass(
        atmosphere.get_relative_airmass(zenith), 101325.0 * np.exp(-system.altitude / 8400.0)
    )
    clear = clearsky.ineichen(zenith, mass, rng.uniform(2.0, 5.0), system.altitude, extra)["ghi"]
    clear = np.nan_to_num(np.asarray(clear))
    flat, month = extra * np.maximum(np.cos(np.radians(zenith)), 0.0), stamps.month.to_numpy()
    state = sum(
        weight * _noise(stamps.size, scale, rng) for weight, scale in zip(WEIGHTS, SCALES_MIN, strict=True)
    )
    index = np.empty(stamps.size)
    for m in np.unique(month):
        at = month == m
        wanted = system.clearness[m - 1] * np.exp(0.06 * rng.standard_normal()) * flat[at].sum()
        index[at] = _passed(state[at], clear[at], min(wanted / clear[at].sum(), 0.97))
    ghi = index * clear
    dni = np.nan_to_num(np.asarray(irradiance.disc(ghi, zenith, utc)["dni"]))
    dhi = np.clip(ghi - dni * np.maximum(np.cos(np.radians(zenith)), 0.0), 0.05 * ghi, ghi)
    warm = np.interp(stamps.day_of_year, 30.4 * np.arange(12) + 15.2, system.temperature, period=365.0)
    spell = np.repeat(3.0 * _noise(days, 3.0, rng), 1440)
    hour = np.arange(stamps.size) / 60.0 % 24.0
    air = warm + spell - 4.5 * np.cos(2.0 * np.pi * (hour - 3.0) / 24.0) * (0.4 + index.mean())
    return pd.DataFrame(
        {
            "ghi": ghi, "dhi": dhi, "dni": dni, "temp_air": air, "zenith": zenith,
            "azimuth": sun["azimuth"].to_numpy(), "extra": extra,
        },
        index=stamps,
    )  # fmt: skip


def _noise(count, length, rng):
    """Autoregressive normal numbers with a correlation length in steps; float64 [count], variance 1."""
    keep = np.exp(-1.0 / length)
    noise = rng.standard_normal(count) * np.sqrt(1.0 - keep**2)
    noise[0] = rng.standard_normal()
    return lfilter([1.0], [1.0, -keep], noise)


def _passed(state, clear, wanted):
    """Share of the clear sky's light by minute, `wanted` on average."""
    low, high = -8.0, 8.0
    for _ in range(30):
        middle = 0.5 * (low + high)
        cover = 1.0 / (1.0 + np.exp(-2.0 * (state + middle)))
        out = 1.02 - 0.78 * cover**2.2
        if (out * clear).sum() > wanted * clear.sum():
            low = middle
        else:
            high = middle
    return out


def fourth_array_power(system, sky, rng):
    """Power of all modules by minute [W]; parameters as `dev.second_simulator.pv.array_power`."""
    height, where = rng.uniform(0.0, 18.0), rng.uniform(90.0, 270.0)
    away = np.abs(sky["azimuth"].to_numpy() - where)
    tree = (90.0 - sky["zenith"].to_numpy() < height) & (away < rng.uniform(5.0, 25.0))
    low = 90.0 - sky["zenith"].to_numpy() < rng.uniform(0.0, 4.0)
    dni = np.where(tree | low, 0.15, 1.0) * sky["dni"].to_numpy()
    wind, dim = rng.uniform(0.5, 4.0), rng.uniform(0.02, 0.06)
    total = np.zeros(len(sky))
    for surface in system.surfaces:
        args = surface.tilt, surface.azimuth
        angle = irradiance.aoi(*args, sky["zenith"], sky["azimuth"])
        diffuse = irradiance.klucher(*args, sky["dhi"], sky["ghi"], sky["zenith"], sky["azimuth"])
        ground = irradiance.get_ground_diffuse(surface.tilt, sky["ghi"], albedo=system.albedo)
        beam = dni * np.maximum(np.cos(np.radians(angle)), 0.0) * np.nan_to_num(iam.schlick(angle))
        front = np.clip(
            np.nan_to_num(np.asarray(beam + 0.95 * (np.nan_to_num(diffuse) + ground))), 0.0, 1500.0
        )
        cell = temperature.noct_sam(front, sky["temp_air"].to_numpy(), wind, 46.0, 0.19)
        level = 1.0 + dim * np.log10(np.maximum(front, 5.0) / 1000.0)
        made = surface.watts * front / 1000.0 * level * (1.0 - 0.0037 * (cell - 25.0))
        total += (1.0 - surface.loss) * np.maximum(made, 0.0)
    return total


def fourth_household(system, first, days, scale, extra_share, air, rng):
    """Load of a household by minute; parameters as `dev.second_simulator.other_loads.other_household`."""
    dates = pd.date_range(pd.Timestamp(first), periods=days)
    months, weekend = dates.month.to_numpy(), dates.dayofweek.to_numpy() >= 5
    people = np.where(weekend, rng.uniform(1.0, 1.5), 1.0)
    if rng.random() < 0.3:  # nobody at home for some days
        begin = rng.integers(0, days)
        people[begin : begin + rng.integers(2, 9)] = 0.15
    people = people / people.mean()
    dusk = 18.0 + 2.0 * np.sign(system.latitude) * np.cos(
        2.0 * np.pi * (dates.dayofyear.to_numpy() - 172) / 365.0
    )
    parts = {name: np.zeros((days, 1440)) for name in ("essential", "deferrable", "past")}
    nominal, minute = np.full(days, 24.0 * system.standing), np.arange(1440)
    for one in system.appliances:
        begin, width = 60.0 * one.window[0], 60.0 * ((one.window[1] - one.window[0]) % 24.0 or 24.0)
        inside = ((minute - begin) % 1440 < width) + 0.0
        usual, own = rng.uniform(0.0, 1440.0), np.exp(0.05 * rng.standard_normal())
        outside = rng.uniform(0.0, 0.1)
        for day in np.flatnonzero(np.isin(months, one.months) & (rng.random(days) < one.chance)):
            total = 60.0 * one.hours * np.exp(one.spread * rng.standard_normal() - 0.5 * one.spread**2)
            if one.hours * 60.0 >= 0.85 * width:
                course = inside * total / width
            elif one.hours >= 5.0 and width >= 1200:
                course = total / 1440.0 * (1.0 + 0.25 * np.cos(2.0 * np.pi * (minute / 60.0 - 15.0) / 24.0))
                course = course * (1.0 + 0.015 * (air[day] - air.mean()))
            else:
                middle = (
                    60.0 * (dusk[day] + 2.0)
                    if width < 900 and one.window[1] < 12.0 or one.window[1] > 21.0
                    else usual
                )
                weight = (inside + outside) * (
                    0.3 + np.exp(-0.5 * (((minute - middle + 720) % 1440 - 720) / 110.0) ** 2)
                )
                course = _runs(total * people[day], weight, rng)
            power = scale * own * one.watts * one.count * course
            parts["deferrable" if one.deferrable else "essential"][day] += power
            parts["past"][day] += power * one.past_shunt
        planned = one.watts * one.count * one.hours * one.chance
        nominal += np.where(np.isin(months, one.months), planned, 0.0)
    if extra_share > 0.0:
        on = (minute // 60 - rng.integers(0, 24)) % 24 < rng.choice([4, 10, 24])
        parts["essential"] += on * extra_share * nominal.mean() / 24.0 / on.mean()
    flat = [parts[name].ravel() for name in ("essential", "deferrable", "past")]
    return flat[0] + system.standing, flat[1], flat[2], nominal


def _runs(total, weight, rng):
    """Minutes of use in one to four runs, their sum `total` [min]; float64 [1440]."""
    out, count = np.zeros(1440), int(rng.integers(1, 5))
    for start in rng.choice(1440, count, p=weight / weight.sum()):
        length = total / count
        whole = int(length)
        at = np.arange(start, start + whole) % 1440
        out[at] += 1.0
        out[(start + whole) % 1440] += length - whole
    return out


def drawn_fourth_bank(system, factor, rng):
    """One bank, as real ones differ; parameters as `dev.second_simulator.bank.drawn_bank`."""
    capacity, lead = system.capacity * factor, system.chemistry != "lfp"
    cells = system.voltage / 12.0 * (6.0 if lead else 4.0)
    if lead:
        full, empty = rng.uniform(2.1, 2.2), rng.uniform(1.91, 1.99)
        curve = empty + (full - empty) * GRID ** rng.uniform(0.8, 1.1) - 0.5 * np.exp(-GRID / 0.02)  # empty
    else:
        knots = LITHIUM + 0.004 * rng.standard_normal() + 0.003 * rng.standard_normal(LITHIUM.size)
        curve = PchipInterpolator(KNOTS, np.maximum.accumulate(knots))(GRID)
    wide = np.exp(0.3 * rng.standard_normal(3)) * cells / capacity
    return FourthBank(
        lead, cells, capacity, curve, (0.12 if lead else 0.05) * wide[0], (0.1 if lead else 0.03) * wide[1],
        rng.uniform(0.05, 0.3), (0.25 if lead else 0.06) * wide[2], rng.uniform(1.0, 5.0),
        rng.uniform(0.05, 0.2) if lead else 0.0, rng.uniform(0.5e-3, 3e-3) if lead else 0.0,
        1.0 if lead else rng.uniform(0.99, 0.9995),
    )  # fmt: skip


def drawn_fourth_charger(system, rng):
    """Charger and load switch of one system; parameters as `drawn_fourth_bank`."""
    blocks = system.voltage / 12.0
    return FourthCharger(
        system.absorption + blocks * rng.uniform(-0.12, 0.12), system.float_voltage, system.setpoint_per_k,
        rng.uniform(0.5, 4.0), rng.uniform(0.01, 0.04) * system.capacity, system.current_limit, system.pwm,
        system.efficiency + 0.01, 0.003 * sum(surface.watts for surface in system.surfaces), system.cut_off,
        system.cut_off + 1.3 * blocks, system.shed, system.resume,
    )  # fmt: skip


def run_fourth(bank, charger, power, essential, deferrable, temperature, start):
    """Run a bank of this family through minutes; parameters as `dev.second_simulator.bank.run`."""
    out = np.zeros((4, power.size))
    _run(bank, charger, power, essential, deferrable, temperature, start, out)
    return BankMinutes(*out)


@njit(cache=True)
def _run(bank, charger, power, essential, deferrable, temperature, start, out):
    soc, fast, slow, held, full = start, 0.0, 0.0, 0.0, False
    on, shed_on, dt = True, True, 1.0 / 60.0
    volts = bank.cells * (2.1 if bank.lead else 3.3)
    for m in range(power.size):
        if soc < charger.shed:
            shed_on = False
        elif soc > charger.resume:
            shed_on = True
        load = (essential[m] + (deferrable[m] if shed_on else 0.0)) if on else 0.0
        delta = temperature[m] - 25.0
        wanted = (charger.float_voltage if full else charger.absorption) + charger.setpoint_per_k * min(
            max(delta, -25.0), 20.0
        )
        if charger.pwm:
            offer = power[m] / (17.6 * bank.cells / (6.0 if bank.lead else 4.0))
        else:
            offer = max(power[m] * charger.efficiency - charger.own_w, 0.0) / volts
        offer = min(offer, charger.current_limit)
        draw = load / volts
        place = min(soc, 1.0) * (bank.curve.size - 1)
        at = min(int(place), bank.curve.size - 2)
        rest = bank.cells * (bank.curve[at] + (place - at) * (bank.curve[at + 1] - bank.curve[at]))
        cold = 1.0 + 0.012 * max(-delta, 0.0)
        rest += (
            bank.cells * (8.0 if bank.lead else 30.0) * max(soc - 1.0, 0.0)
        )  # beyond full the voltage climbs
        base, net = rest + fast + slow, offer - draw
        ohm = bank.direct * cold
        if net > 0.0 and bank.lead:
            ohm += bank.direct * bank.rise / max(1.03 - soc, 0.03)
        elif net < 0.0:
            ohm *= 1.0 + 0.3 / max(soc, 0.05) * bank.lead * 0.1
        level = base + net * ohm
        if level > wanted and net > -draw:
            net = min(max((wanted - base) / ohm, -draw), net)
            level = base + net * ohm
        gas = 0.0
        if bank.lead:
            gas = bank.gas * bank.capacity * np.exp((level / bank.cells - 2.25) * 11.0 + 0.05 * delta)
        stored = net - min(gas, max(net, 0.0)) if bank.lead else net * (bank.efficiency if net > 0.0 else 1.0)
        soc = min(max(soc + (stored * dt - 6e-5 * dt * bank.capacity) / bank.capacity, 0.001), 1.05)
        fast += (net * bank.fast * cold - fast) * dt / bank.fast_h
        slow += (net * bank.slow * cold - slow) * dt / bank.slow_h
        volts = level
        if power[m] <= 1.0:
            full, held = False, 0.0
        elif level >= wanted - 0.02 and not full:
            held += dt
            full = held > charger.longest_h or (net < charger.tail and held > 0.1)
        if on and level < charger.cut_off and m > 10:
            on = False
        elif not on and level > charger.reconnect:
            on = True
        out[0, m], out[1, m], out[2, m], out[3, m] = net, level, min(soc, 1.0), load
