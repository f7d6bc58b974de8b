"""What the bank meets, hour by hour: array output, temperatures and loads of a block of members.

Nothing here depends on the design's sizes, so every design and what-if of a study meets the same draws.
Traces are made anew wherever they are needed: that costs less than storing them.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numba import njit

from darkspell.array.output import dc_power
from darkspell.calendar import DAYS, HOURS
from darkspell.climate.route import by_place, parts_of
from darkspell.draws import normal_table, quick_normals, stream_key
from darkspell.sky.daily import daily_latent_and_clearness
from darkspell.sky.hourly import noise_numbers, spread_day
from darkspell.sky.irradiance import erbs, haydavies
from darkspell.sky.temperature import daily_means, daily_range, daily_swing

NOTHING = np.zeros((0, 0), np.float32)


@dataclass(frozen=True)
class TraceBlock:
    """Hour arrays of a block of members, float32 [8760, lanes], and daily clearness [lanes, 365].

    Parameters
    ----------
    mpp, pwm : array power at its maximum [W]; array current at bank voltage [A], of the study's arrays
    temp_bank, temp_air : [degC]
    essential, deferrable, peak : mean loads of either tier and greatest load within the hour [W]
    past_monitor : the part of the loads that the monitor's shunt does not see [W]
    clearness : daily clearness kt [-]
    aux : power of all chargers but the array and the generator, on offer at the bank's terminals [W]
    always : load that is never disconnected, besides the two tiers, the heater's included; `peak` includes
        it [W]
    heat : the part of it that warms the bank [W]
    """

    mpp: np.ndarray
    pwm: np.ndarray
    temp_bank: np.ndarray
    temp_air: np.ndarray
    essential: np.ndarray
    deferrable: np.ndarray
    peak: np.ndarray
    past_monitor: np.ndarray
    clearness: np.ndarray
    aux: np.ndarray
    always: np.ndarray
    heat: np.ndarray

    def for_bank(self):
        """The nine arrays that the bank's drivers take."""
        loads = self.essential, self.deferrable, self.peak
        return self.mpp, self.pwm, self.temp_bank, *loads, self.aux, self.always, self.heat

    @property
    def all_essential(self):
        """Essential load and what is never disconnected, the heater apart [W]."""
        return self.essential + (self.always - self.heat) if self.always.any() else self.essential


@cache
def no_power(lanes):
    """Zeros in the shape of a trace, shared: not to be written to; float32 [8760, lanes]."""
    return np.zeros((HOURS, lanes), np.float32)


@dataclass(frozen=True)
class BankPlace:
    """Where the bank stands: how slowly it follows the air, and the limits of its room.

    Parameters
    ----------
    lag : float
        Time constant [h].
    low, high : float
        Bounds of the room's temperature [degC]; infinite outdoors.
    """

    lag: float
    low: float = -np.inf
    high: float = np.inf


def weather_block(sky, climate, calendar, arrays, amps_per_watt, place, albedo, members, world, seed):
    """Array output and temperatures of a block of members.

    Parameters
    ----------
    sky : darkspell.sky.geometry.SiteSky
    climate : darkspell.climate.SiteClimate
    calendar : darkspell.calendar.Calendar
    arrays : darkspell.array.output.ArrayNumbers
    amps_per_watt : float
        Array current at bank voltage per watt of array power in standard irradiance [A/W].
    place : BankPlace
    albedo : float
    members, world : int arrays [lanes]
    seed : int

    Returns
    -------
    mpp, pwm, temp_bank, temp_air : float32 arrays [8760, lanes]
    clearness : float64 array [lanes, 365]
    """
    days = stochastic_days(climate, calendar, members, world, seed)
    return fill_hours(sky, days, arrays, amps_per_watt, place, albedo, members, seed)


@dataclass(frozen=True)
class Days:
    """Daily weather of a block of members, drawn or measured; by study day.

    Parameters
    ----------
    kt : float64 array [lanes, 365]
        Clearness [-].
    temp_air_mean, temp_air_range : float64 arrays [lanes, 365]
        Air temperature: daily mean [degC], maximum less minimum [K].
    ghi : float32 array [8760, lanes], optional
        Global horizontal irradiance, where its hours are known [W/m2]; `kt` then says nothing to them.
    temp_air : float32 array [8760, lanes], optional
        Air temperature, where its hours are known [degC].
    """

    kt: np.ndarray
    temp_air_mean: np.ndarray
    temp_air_range: np.ndarray
    ghi: np.ndarray | None = None
    temp_air: np.ndarray | None = None


def stochastic_days(climate, calendar, members, world, seed):
    """Days of the stochastic sky.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate or darkspell.climate.route.Route
    calendar : darkspell.calendar.Calendar
    members, world : int arrays [lanes]
    seed : int

    Returns
    -------
    Days
    """
    members = np.asarray(members, np.int64)
    days = []
    for one in parts_of(climate):
        latent, kt = daily_latent_and_clearness(one, calendar, members, world, seed)
        days.append((kt, daily_means(one, calendar, members, seed, latent), daily_range(one, calendar, kt)))
    return Days(*(by_place(list(values), climate, calendar) for values in zip(*days, strict=True)))


def fill_hours(sky, days, arrays, amps_per_watt, place, albedo, members, seed):
    """Array output and temperatures by the hour from days, drawn or measured.

    Parameters
    ----------
    days : Days
    sky, arrays, amps_per_watt, place, albedo, members, seed
        As `weather_block`; `members` and `seed` key the noise within the day.

    Returns
    -------
    mpp, pwm, temp_bank, temp_air : float32 arrays [8760, lanes]
    clearness : float64 array [lanes, 365]
    """
    members = np.asarray(members, np.int64)
    out = np.empty((4, HOURS, members.size), np.float32)
    _fill(
        members,
        stream_key(seed, "sky/hourly"),
        normal_table(),
        noise_numbers(),
        days.kt,
        np.round(days.kt * sky.daily_extra, 3),
        days.temp_air_mean,
        0.5 * days.temp_air_range,
        daily_swing(),
        (sky.clear, sky.extra_horizontal, sky.cos_zenith, sky.extra_normal),
        (sky.cos_incidence, sky.beam_share, sky.diffuse_share, sky.ground_share),
        arrays,
        amps_per_watt,
        (1.0 - np.exp(-1.0 / place.lag), place.low, place.high),
        albedo,
        tuple(NOTHING if part is None else part for part in (days.ghi, days.temp_air)),
        out,
    )
    return (*out, days.kt)


@njit(cache=True, nogil=True, error_model="numpy", fastmath=False)
def _fill(
    members, key, table, numbers, kt, energy, means, half_range, swing, sun, light, arrays, amps_per_watt,
    place, albedo, known, out,
):  # fmt: skip
    """Walk the days, lanes inside, so that the rows being written stay in the cache."""
    clear, extra, cos_zenith, extra_normal = sun
    rate, low, high = place
    known_ghi, known_air = known
    noise, ghi = np.empty(24), np.empty(24)
    state = np.zeros(members.size)
    bank = means[:, DAYS - 1].copy()
    for day in range(DAYS):
        first = 24 * day
        for lane in range(members.size):
            if known_ghi.size > 0:
                ghi[:] = known_ghi[first : first + 24, lane]
            else:
                quick_normals(key, 6 * day, members[lane], table, noise)
                rows = slice(first, first + 24)
                state[lane] = spread_day(
                    energy[lane, day],
                    kt[lane, day],
                    clear[rows],
                    extra[rows],
                    noise,
                    state[lane],
                    numbers,
                    ghi,
                )
            for hour in range(24):
                at = first + hour
                air = means[lane, day] + half_range[lane, day] * swing[hour]
                if known_air.size > 0:
                    air = float(known_air[at, lane])
                bank[lane] += rate * (air - bank[lane])
                power, amps = 0.0, 0.0
                if ghi[hour] > 0.0:
                    power, amps = _array_hour(
                        ghi[hour], at, air, cos_zenith, extra_normal, light, arrays, albedo
                    )
                out[0, at, lane] = power
                out[1, at, lane] = amps * amps_per_watt
                out[2, at, lane] = min(max(bank[lane], low), high)
                out[3, at, lane] = air


@njit(nogil=True, error_model="numpy", forceinline=True)
def _array_hour(ghi, at, air, cos_zenith, extra_normal, light, arrays, albedo):
    """Maximum power [W] and irradiance-scaled power [W] of all arrays in one hour.

    Arrays with a controller of their own are held at its limit, the others together at the shared one's.
    """
    incidence, beam, diffuse, ground = light
    dhi, dni = erbs(ghi, cos_zenith[at], extra_normal[at])
    shared, own, scaled = 0.0, 0.0, 0.0
    for a in range(arrays.power.size):
        poa = haydavies(
            ghi, dhi, dni, cos_zenith[at], incidence[a, at], extra_normal[at],
            beam[a, at], diffuse[a, at], ground[a, at], albedo,
        )  # fmt: skip
        power = dc_power(poa, air, arrays.power[a], arrays.heat_loss[a], arrays.temperature_coefficient[a])
        left = (1.0 - arrays.wiring[a] * poa * 0.001) * arrays.ratio[a]
        power = 0.0 if poa < arrays.start[a] else min(power * left, arrays.most[a])
        shared += 0.0 if arrays.own[a] > 0.0 else power
        own += power if arrays.own[a] > 0.0 else 0.0
        scaled += poa * 0.001 * arrays.power[a]
    return min(shared, arrays.shared_most[0]) + own, scaled
