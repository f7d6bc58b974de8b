"""A third family of weather, arrays, loads and banks, to judge log reading once the others have been looked at.

Clear sky by Haurwitz; days are clear, broken or overcast, broken ones with clouds of random length (our choice);
diffuse light by Boland, tilted modules by Reindl, reflection by Martin & Ruiz, cell temperature by Ross, all from
pvlib; efficiency linear in temperature; dirt that gathers. Persons with fixed hours. A lithium curve of logarithms
(Nernst's form, our choice of constants), the equations of `other_bank` otherwise, in other ranges.
"""

import numpy as np
import pandas as pd
from pvlib import clearsky, iam, irradiance, solarposition, temperature

from dev.second_simulator.other_bank import CHARGE, drawn_other_bank, run_other

OVERCAST, CLEAR = 0.22, 1.0  # clear-sky index of such days, our choice


def third_weather(system, first, days, rng):
    """Minutes of irradiance and air temperature; columns as of `dev.second_simulator.sky.weather`.

    Parameters
    ----------
    system : dev.second_simulator.system.PlainSystem
    first : datetime64[D]
    days : int
    rng : numpy.random.Generator
    """
    stamps = pd.date_range(pd.Timestamp(first) + pd.Timedelta(seconds=30), periods=1440 * days, freq="min")
    utc = (stamps - pd.Timedelta(hours=system.utc_offset)).tz_localize("UTC")
    sun = solarposition.ephemeris(utc, system.latitude, system.longitude)
    zenith = sun["apparent_zenith"].to_numpy()
    extra = irradiance.get_extra_radiation(utc).to_numpy()
    clear = np.nan_to_num(np.asarray(clearsky.haurwitz(sun["apparent_zenith"])["ghi"]))
    flat = extra * np.maximum(np.cos(np.radians(zenith)), 0.0)
    month = stamps.month.to_numpy()
    index = np.empty(stamps.size)
    for m in np.unique(month):
        at = month == m
        wanted = system.clearness[m - 1] * np.exp(0.03 * rng.standard_normal())
        index[at] = _days(min(wanted * flat[at].sum() / clear[at].sum(), 0.98), int(at.sum()) // 1440, rng)
    ghi = index * clear
    split = irradiance.boland(ghi, zenith, stamps.day_of_year.to_numpy(), min_cos_zenith=0.05)
    dhi = np.nan_to_num(np.asarray(split["dhi"]))
    warm = np.interp(stamps.day_of_year, 30.4 * np.arange(12) + 15.2, system.temperature, period=365.0)
    daily = np.repeat(index.reshape(days, 1440).mean(1) - 0.6, 1440)
    hour = np.arange(stamps.size) / 60.0 % 24.0
    air = warm + 4.0 * daily - (3.0 + 6.0 * (daily + 0.6)) * np.cos(2.0 * np.pi * (hour - 3.0) / 24.0)
    return pd.DataFrame(
        {
            "ghi": ghi, "dhi": np.minimum(dhi, ghi), "dni": np.nan_to_num(np.asarray(split["dni"])),
            "temp_air": air + np.repeat(2.5 * rng.standard_normal(days), 1440), "zenith": zenith,
            "azimuth": sun["azimuth"].to_numpy(), "extra": extra,
        },
        index=stamps,
    )  # fmt: skip


def _days(mean, count, rng):
    """Clear-sky index by minute of some days whose mean is about that given."""
    broken = 0.5 * (OVERCAST + CLEAR)
    share = np.clip((mean - OVERCAST) / (CLEAR - OVERCAST), 0.0, 1.0)
    # Three kinds of day with that mean: as many broken ones as fit in.
    mixed = min(0.5, 2.0 * share, 2.0 * (1.0 - share))
    bright = share - 0.5 * mixed
    out, kind = [], 0
    for _ in range(count):
        if rng.random() < 0.7:  # else the weather stays as it was
            kind = int(rng.choice(3, p=np.array([bright, mixed, 1.0 - bright - mixed])))
        if kind == 1:
            lengths = rng.gamma(1.5, 12.0, 400)
            state = np.repeat(np.arange(400) % 2, np.maximum(lengths, 1).astype(int))[:1440]
            out.append(np.where(state > 0, 1.04, 2.0 * broken - 1.04))
        else:
            level = CLEAR if kind == 0 else OVERCAST * rng.uniform(0.6, 1.4)
            out.append(np.full(1440, level) * (1.0 + 0.02 * rng.standard_normal(1440)))
    return np.concatenate(out)


def third_array_power(system, sky, rng):
    """Power of all modules by minute [W]; parameters as `dev.second_simulator.pv.array_power`."""
    total, dirt = np.zeros(len(sky)), 1.0 - np.linspace(0.0, rng.uniform(0.0, 0.05), len(sky))
    for surface in system.surfaces:
        args = surface.tilt, surface.azimuth
        angle = irradiance.aoi(*args, sky["zenith"], sky["azimuth"])
        beam = sky["dni"] * np.maximum(np.cos(np.radians(angle)), 0.0)
        diffuse = irradiance.reindl(
            *args, sky["dhi"], sky["dni"], sky["ghi"], sky["extra"], sky["zenith"], sky["azimuth"]
        )
        ground = irradiance.get_ground_diffuse(surface.tilt, sky["ghi"], albedo=system.albedo)
        front = beam * np.nan_to_num(iam.martin_ruiz(angle)) + 0.95 * (np.nan_to_num(diffuse) + ground)
        front = np.clip(np.nan_to_num(np.asarray(front)), 0.0, 1500.0)
        cell = temperature.ross(front, sky["temp_air"].to_numpy(), noct=46.0)
        made = surface.watts * front / 1000.0 * (1.0 - 0.004 * (cell - 25.0))
        total += (1.0 - surface.loss) * np.maximum(made, 0.0)
    return total * dirt


def third_household(system, first, days, scale, extra_share, air, rng):
    """Load of persons with fixed hours; parameters as `dev.second_simulator.other_loads.other_household`."""
    months = pd.date_range(pd.Timestamp(first), periods=days).month.to_numpy()
    minute = np.arange(1440)
    parts = {name: np.zeros((days, 1440)) for name in ("essential", "deferrable", "past")}
    nominal = np.full(days, 24.0 * system.standing)
    for one in system.appliances:
        begin, width = 60.0 * one.window[0], 60.0 * ((one.window[1] - one.window[0]) % 24.0 or 24.0)
        usual = rng.uniform(0.0, 1.0)
        for day in np.flatnonzero(np.isin(months, one.months) & (rng.random(days) < one.chance)):
            total = min(60.0 * one.hours * np.exp(0.7 * one.spread * rng.standard_normal()), width)
            start = begin + np.clip(
                usual * (width - total) + 20.0 * rng.standard_normal(), 0.0, width - total
            )
            on = (minute - start) % 1440 < total
            power = scale * one.watts * one.count * on * (total / max(on.sum(), 1))
            parts["deferrable" if one.deferrable else "essential"][day] += power
            parts["past"][day] += power * one.past_shunt
        planned = one.watts * one.count * one.hours * one.chance
        nominal += np.where(np.isin(months, one.months), planned, 0.0)
    if extra_share > 0.0:
        on = (minute // 60 - rng.integers(0, 24)) % 24 < rng.choice([2, 6, 24])
        parts["essential"] += on * extra_share * nominal.mean() / 24.0 / on.mean()
    return (
        parts["essential"].ravel() + system.standing,
        parts["deferrable"].ravel(),
        parts["past"].ravel(),
        nominal,
    )


def third_curve():
    """Open-circuit voltage of a lithium cell at the charges `dev.second_simulator.other_bank.CHARGE` [V]."""
    charge = np.clip(CHARGE, 0.0, 1.0)
    return (
        3.27
        + 0.03 * charge
        + 0.022 * np.log((charge + 2e-4) / (1.0 - charge + 2e-3))
        - 0.5 * np.exp(-60.0 * charge)
    )


def drawn_third_bank(system, factor, rng):
    """One bank, as real ones differ; parameters as `dev.second_simulator.bank.drawn_bank`."""
    bank = drawn_other_bank(system, factor, rng)
    if not bank.lead:
        return bank._replace(
            slow=bank.slow * 1.6, resistance=bank.resistance * 0.6, efficiency=rng.uniform(0.985, 0.9995)
        )
    return bank._replace(
        full=rng.uniform(2.12, 2.2), empty=rng.uniform(1.92, 1.99), acceptance=bank.acceptance * 2.0,
        slow=bank.slow * 0.5, gas=bank.gas * 2.0,
    )  # fmt: skip


def run_third(*args):
    """Run a bank of this family through minutes; parameters as `dev.second_simulator.bank.run`."""
    return run_other(*args, curve=third_curve())
