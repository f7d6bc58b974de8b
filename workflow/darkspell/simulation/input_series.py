"""Hourly input series of the bank: array output, temperatures and loads of a block of members.

Nothing here depends on the sizes of the design, so all designs and what-ifs of a study share the same draws.
The series are computed wherever they are needed; storing them would cost more.
"""

from dataclasses import dataclass

import numpy as np

from darkspell.chemistry.bank_draws import known_bank
from darkspell.climate.itinerary import by_place, parts_of
from darkspell.core.calendar import DAYS, HOURS
from darkspell.core.jit import inlined, kernel, part
from darkspell.core.keyed_random import stream_key
from darkspell.pv.controller_curve import converted
from darkspell.pv.dc_power import STANDARD, TRACKED, dc_power, dim_light
from darkspell.pv.minute_peaks import peak_terms, relative_width, without_peaks
from darkspell.weather.daily_clearness import daily_latent_and_clearness
from darkspell.weather.days import Days
from darkspell.weather.diffuse_light import (
    brightness_terms,
    perez_shares,
    plane_irradiance,
    skartveit_olseth,
    ten,
)
from darkspell.weather.hourly_clearness import near_normals, noise_numbers, spread_day
from darkspell.weather.snow_cover import bare, sliding_irradiance, snow_about, snow_hour
from darkspell.weather.snowfall import snowfalls
from darkspell.weather.temperature import daily_means, daily_range, daily_swing

NOTHING = np.zeros((0, 0), np.float32)
NO_HOUR = np.zeros((0, 0), np.int8)
ZERO, ONE, MILLI = np.float32(0.0), np.float32(1.0), np.float32(0.001)


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
    bank : what the bank of each member is, `darkspell.chemistry.bank_draws.BankDraw` [5, lanes]; as its table has it
        if not given
    essential_share, deferrable_share, rest_peak_share, peak_share : what is switched off before the rest, see
        `darkspell.bank.part_cutoff.PartShares`; None where nothing is [-]
    critical_shares : `darkspell.bank.part_cutoff.CriticalShares`, where an inverter has a cut-off of its own
        and loads are critical [-]
    critical : critical load, a part of `essential` [W]; None where no load is of that tier
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
    bank: np.ndarray | None = None
    essential_share: np.ndarray | None = None
    deferrable_share: np.ndarray | None = None
    rest_peak_share: np.ndarray | None = None
    peak_share: np.ndarray | None = None
    critical: np.ndarray | None = None
    critical_shares: tuple = ()

    def for_bank(self):
        """The arrays that the bank's drivers take: ten, and four or nine shares of what is switched off first."""
        loads = self.essential, self.deferrable, self.peak
        shares = self.essential_share, self.deferrable_share, self.rest_peak_share, self.peak_share
        bank = known_bank(self.mpp.shape[1]) if self.bank is None else self.bank
        plain = self.mpp, self.pwm, self.temp_bank, *loads, self.aux, self.always, self.heat, bank
        return plain if self.essential_share is None else (*plain, *shares, *self.critical_shares)

    @property
    def all_essential(self):
        """Essential load and what is never disconnected, the heater apart [W]."""
        return self.essential + (self.always - self.heat) if self.always.any() else self.essential


@dataclass(frozen=True)
class BankPlace:
    """Temperatures about the bank: how slowly it follows the air, and the limits of its room.

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


def stochastic_days(climate, calendar, members, parameter_draw, seed):
    """Days of the stochastic sky.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate or darkspell.climate.itinerary.Route
    calendar : darkspell.core.calendar.Calendar
    members, parameter_draw : int arrays [lanes]
    seed : int

    Returns
    -------
    Days
    """
    members = np.asarray(members, np.int64)
    days = []
    for one in parts_of(climate):
        latent, kt = daily_latent_and_clearness(one, calendar, members, parameter_draw, seed)
        days.append((kt, daily_means(one, calendar, members, seed, latent), daily_range(one, calendar, kt)))
    return Days(*(by_place(list(values), climate, calendar) for values in zip(*days, strict=True)))


def fill_hours(sky, days, arrays, amps_per_watt, place, albedo, members, seed, snow=None, standing=None):
    """Hourly array output and temperatures from simulated or measured days.

    Parameters
    ----------
    sky : darkspell.weather.solar_geometry.SiteSky
    days : Days
    arrays : darkspell.pv.dc_power.ArrayNumbers
    amps_per_watt : float
        Array current at bank voltage per watt of array power in standard irradiance [A/W].
    place : BankPlace
    albedo : float
    members : int array [lanes]
    seed : int
        Keys the noise within the day and the snow, together with `members`.
    snow : darkspell.weather.snow.Snow, optional
    standing : float32 array [lanes], optional
        From `darkspell.pv.controller_curve.standing_draws`; the table's standing loss if not given [-].

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
        noise_numbers(),
        days.kt,
        by_lane(days.kt * sky.daily_extra),
        by_lane(days.temp_air_mean),
        by_lane(0.5 * days.temp_air_range),
        daily_swing().astype(np.float32),
        (sky.clear, sky.extra_horizontal),
        sky.sun_terms,
        brightness_terms(),
        (sky.cos_incidence, sky.beam_share, sky.diffuse_share, sky.ground_share, sky.horizon_share),
        single(arrays),
        dim_light(),
        peak_terms(),
        np.zeros(members.size, np.float32) if standing is None else standing,
        np.float32(amps_per_watt),
        tuple(np.float32(value) for value in (1.0 - np.exp(-1.0 / place.lag), place.low, place.high)),
        np.float32(albedo),
        tuple(NOTHING if part is None else part for part in (days.ghi, days.temp_air, days.wind)),
        _snow_parts(snow, days, members, seed),
        out,
    )
    return (*out, days.kt)


def _snow_parts(snow, days, members, seed):
    """Snow as the loop takes it: odds, hours, catch, slide, and two numbers; empty where there is none."""
    if snow is None:
        return NOTHING, NO_HOUR, NOTHING, NOTHING, ONE, ZERO
    odds, hours = snowfalls(snow, days, members, seed)
    return odds, hours, snow.catch, snow.slide, sliding_irradiance(), np.float32(snow.melt)


def by_lane(values):
    """Daily values in the order of the hourly loop.

    Parameters
    ----------
    values : array [lanes, 365]

    Returns
    -------
    float32 array [365, lanes]
    """
    return np.ascontiguousarray(values.T, np.float32)


def single(arrays):
    """Columns of numbers in single precision.

    Parameters
    ----------
    arrays : NamedTuple of array_like

    Returns
    -------
    NamedTuple of float32 arrays
        Of the same kind.
    """
    return type(arrays)(*(np.asarray(column, np.float32) for column in arrays))


@kernel
def _fill(
    members, key, numbers, kt, energy, means, half_range, swing, outside, sun, bright, light, arrays, dim,
    peaks, standing, amps_per_watt, place, albedo, known, snow, out,
):  # fmt: skip
    """Hourly weather and array power of all lanes; lanes are innermost, so that rows stay in the cache.

    For each day: the clearness is spread over the hours (`spread_day`), unless hours were measured. For each
    hour: air temperature = mean + half range x swing; bank temperature by a first-order lag; diffuse and direct
    light (Skartveit & Olseth 1987), light on each plane (Driesse, Jensen & Perez 2024), snow, and the arrays' power.

    Parameters
    ----------
    members : int64 array [lanes]
    key : uint64
        Of the noise within the day.
    numbers : tuple of float32
        From `darkspell.weather.hourly_clearness.noise_numbers`.
    kt : float64 array [lanes, 365]
        Daily clearness [-].
    energy, means, half_range : float32 arrays [365, lanes]
        Daily irradiation [Wh/m2]; mean air temperature and half its daily range [degC, K].
    swing : float32 array [24]
        Daily course of the temperature, -1 to 1.
    outside : (clear, extra), float32 arrays [8760]
        Clear-sky and extraterrestrial horizontal irradiance [W/m2].
    sun : darkspell.weather.diffuse_light.SunTerms
    bright : tuple
        From `darkspell.weather.diffuse_light.brightness_terms`.
    light : (incidence, beam, diffuse, ground, horizon), float32 arrays [arrays, 8760]
        Cosine of the angle of incidence, and shares of beam, sky, ground and horizon light that arrive [-].
    arrays : darkspell.pv.dc_power.ArrayNumbers, float32 arrays [arrays]
    dim : tuple of float32
        Coefficients of the efficiency in dim light.
    peaks : tuple of float32
        From `darkspell.pv.minute_peaks.peak_terms`.
    standing : float32 array [lanes]
        What is drawn on the standing loss of the controllers [-].
    amps_per_watt, albedo : float32
    place : (rate, low, high), float32
        Share of the gap to the air closed in an hour [-], and bounds of the room [degC].
    known : (ghi, temp_air, wind), float32 arrays [8760, lanes]
        Measured hours [W/m2, degC, m/s]; empty where there are none.
    snow : tuple
        From `_snow_parts`.
    out : float32 array [4, 8760, lanes]
        Filled with array power [W], array current at bank voltage [A], bank and air temperature [degC].
    """
    clear, extra = outside
    known_ghi, known_air, known_wind = known
    odds, _, catch, _, _, _ = snow
    lanes, snowy = members.size, odds.size > 0
    noise, ghi = np.zeros((24, lanes), np.float32), np.zeros((24, lanes), np.float32)
    work, windy = np.empty((10, lanes), np.float32), known_wind.size > 0
    state, bank = np.zeros(lanes, np.float32), means[DAYS - 1].copy()
    cover, white = np.zeros((arrays.power.size, lanes), np.float32), np.zeros(arrays.power.size, np.bool_)
    for day in range(DAYS):
        rows = slice(24 * day, 24 * day + 24)
        if snowy:
            for a in range(white.size):
                white[a] = snow_about(cover[a], odds[day], catch[day, a])
        if known_ghi.size > 0:
            _copy(known_ghi[rows], ghi)
        else:
            near_normals(key, 3 * day, members, extra[rows] > ZERO, noise)
            spread_day(energy[day], clear[rows], extra[rows], noise, state, numbers, ghi)
        for hour in range(24):
            at = 24 * day + hour
            air = out[3, at]
            if known_air.size > 0:
                for lane in range(lanes):
                    air[lane] = known_air[at, lane]
            else:
                _air(means[day], half_range[day], swing[hour], air)
            _bank(air, place, bank, out[2, at])
            if extra[at] > ZERO:
                _split(ghi[hour], at, sun, work[0], work[1])
                _shares(work[0], work[1], at, sun, bright, work[5], work[6])
                _widths(ghi[hour], ONE / max(clear[at], ONE), peaks, work[7])
                if windy:
                    _copy_row(known_wind[at], work[8])
                _array_hour(
                    ghi[hour], at, air, sun.per_cos[at], light, arrays, dim, albedo, snow, white, cover, windy,
                    standing, work, out,
                )  # fmt: skip
                _scale(work[2], amps_per_watt, out[1, at])
            else:
                out[0, at, :] = ZERO
                out[1, at, :] = ZERO
                work[4, :] = ZERO
                for a in range(white.size):
                    if white[a]:
                        _snow(snow, day, hour, a, air, work[4], cover[a])


@part
def _copy(values, out):
    """As ``out[:] = values``, which would take twice as long to compile as all the rest."""
    for row in range(out.shape[0]):
        for lane in range(out.shape[1]):
            out[row, lane] = values[row, lane]


@part
def _copy_row(values, out):
    """As `_copy`, for one row."""
    for lane in range(out.size):
        out[lane] = values[lane]


@part
def _widths(ghi, per_clear, peaks, out):
    """Relative half width of the minutes of an hour [-]."""
    for lane in range(ghi.size):
        out[lane] = relative_width(ghi[lane] * per_clear, peaks)


@part
def _in_wind(air, wind, poa, still, windy, resistance, out):
    """Air temperature that warms a cell at the mean wind as the air does at the hour's [degC]."""
    for lane in range(air.size):
        out[lane] = air[lane] + poa[lane] * (ONE / (still + windy * wind[lane]) - resistance)


@part
def _air(mean, half_range, swing, air):
    """Air temperature of an hour [degC] into `air` [lanes]."""
    for lane in range(air.size):
        air[lane] = mean[lane] + half_range[lane] * swing


@part
def _bank(air, place, bank, out):
    """Bank temperature [degC] into `out` [lanes]: first-order lag T += rate (T_air - T), then the room's bounds."""
    rate, low, high = place
    for lane in range(air.size):
        one = bank[lane] + rate * (air[lane] - bank[lane])
        bank[lane] = one
        one = one if one > low else low
        out[lane] = one if one < high else high


@part
def _split(ghi, at, sun, dhi, dni):
    """Diffuse and direct light of an hour [W/m2]."""
    cos_zenith, dni_extra, per_extra = sun.cos_zenith[at], sun.dni_extra[at], sun.per_extra[at]
    per_clear, top, beam = sun.per_clear[at], sun.top[at], sun.beam[at]
    for lane in range(ghi.size):
        dhi[lane], dni[lane] = skartveit_olseth(
            ghi[lane], cos_zenith, dni_extra, per_extra, per_clear, top, beam
        )


@part
def _shares(dhi, dni, at, sun, bright, f1, f2):
    """Shares of the diffuse light of an hour about the sun and at the horizon [-]."""
    kappa, brightness = sun.kappa[at], sun.brightness[at]
    around, horizon = ten(sun.around, at), ten(sun.horizon, at)
    for lane in range(dhi.size):
        f1[lane], f2[lane] = perez_shares(dhi[lane], dni[lane], kappa, brightness, around, horizon, bright)


@part
def _scale(values, factor, out):
    """``out = factor values``, lane by lane."""
    for lane in range(out.size):
        out[lane] = values[lane] * factor


@part
def _snow(snow, day, hour, a, air, poa, cover):
    """Snow cover of array `a` after one more hour; see `darkspell.weather.snow_cover.snow_hour`."""
    odds, hours, catch, slide, slides_at, melt = snow
    snow_hour(cover, odds[day], hours[day], hour, catch[day, a], slide[day, a], air, poa, slides_at, melt)


@part
def _plane(ghi, dhi, dni, f1, f2, here, albedo, poa):
    """Irradiance in the plane of one array [W/m2]."""
    for lane in range(ghi.size):
        poa[lane] = plane_irradiance(ghi[lane], dhi[lane], dni[lane], f1[lane], f2[lane], *here, albedo)


@part
def _add_scaled(poa, air, power, resistance, coefficient, out):
    """Add what a PWM controller's current follows [W]: irradiance over 1000 W/m2 times rated power.

    Times 1 + a (T_cell - 25 degC), a being the temperature coefficient of the short-circuit current.
    """
    for lane in range(poa.size):
        warm = ONE + coefficient * (air[lane] + poa[lane] * resistance - STANDARD)
        out[lane] += poa[lane] * MILLI * power * warm


@inlined
def _module_power(light, air, numbers, dim):
    """Power of one array after its cables [W]; none below the irradiance that wakes its controller."""
    power, resistance, coefficient, wiring, start, dimming = numbers
    one = dc_power(light, air, power, resistance, coefficient, dimming, dim) * (ONE - wiring * light)
    return one if light >= start else ZERO


@part
def _add_power(poa, air, numbers, dim, out):
    """Add the power of one array after its cables [W]."""
    for lane in range(poa.size):
        out[lane] += _module_power(poa[lane], air[lane], numbers, dim)


@part
def _add_own(poa, air, numbers, dim, own, width, standing, out):
    """Add the power of one array after its own controller [W]: minutes and mean within its limit, its losses."""
    most, joined, warming, curve = own
    resistance = numbers[1]
    # Of a joined array the current is limited, not the power.
    peaks = most if joined >= TRACKED else np.float32(np.inf)
    for lane in range(poa.size):
        light = poa[lane]
        one = _module_power(light, air[lane], numbers, dim)
        one = converted(without_peaks(one, width[lane], peaks), standing[lane], curve)
        one = one if one < most else most
        bound = light * joined * (ONE + warming * (air[lane] + light * resistance - STANDARD))
        out[lane] += one if one < bound else bound


@part
def _through_shared(limit, most, curve, width, standing, own, shared):
    """Power after the shared controller, as `_add_own`, and of the arrays with one of their own [W]."""
    for lane in range(shared.size):
        one = without_peaks(shared[lane], width[lane], limit)
        one = converted(one, standing[lane], curve)
        one = one if one < most else most
        shared[lane] = one + own[lane]


@inlined
def _curve(curves, a):
    """A row of `ControllerCurve` as five scalars."""
    return curves[a, 0], curves[a, 1], curves[a, 2], curves[a, 3], curves[a, 4]


@inlined
def _array_hour(
    ghi, at, air, per_cos, light, arrays, dim, albedo, snow, white, cover, windy, standing, work, out,
):  # fmt: skip
    """Maximum power [W] of all arrays in one hour into `out[0]`, irradiance-scaled power [W] into `work[2]`.

    Arrays with a controller of their own are held at its limit, the others together at the shared one's. `work[7]` is
    the relative width of the hour's minutes [-], `work[8]` the wind [m/s] where it was measured.
    """
    incidence, beam, diffuse, ground, horizon = light
    shared = out[0, at]
    shared[:] = ZERO
    work[2, :] = ZERO
    work[3, :] = ZERO
    for a in range(arrays.power.size):
        here = per_cos, incidence[a, at], beam[a, at], diffuse[a, at], ground[a, at], horizon[a, at]
        poa, power, resistance = work[4], arrays.power[a], ONE / arrays.heat_loss[a]
        _plane(ghi, work[0], work[1], work[5], work[6], here, albedo, poa)
        if white[a]:
            _snow(snow, at // 24, at % 24, a, air, poa, cover[a])
            bare(cover[a], poa)
        about, warming = air, arrays.current_coefficient[a]
        if windy:
            _in_wind(air, work[8], poa, arrays.still[a], arrays.windy[a], resistance, work[9])
            about = work[9]
        _add_scaled(poa, about, power, resistance, warming, work[2])
        numbers = (
            power, resistance, arrays.temperature_coefficient[a], arrays.wiring[a] * MILLI, arrays.start[a],
            arrays.dimming[a],
        )  # fmt: skip
        if arrays.own[a] > ZERO:  # one call for both would leave the compiler in doubt what overlaps
            own = arrays.most[a], arrays.joined[a], warming, _curve(arrays.curve, a)
            _add_own(poa, about, numbers, dim, own, work[7], standing, work[3])
        else:
            _add_power(poa, about, numbers, dim, shared)
    limit, most = arrays.shared_limit[0], arrays.shared_most[0]
    _through_shared(limit, most, _curve(arrays.shared_curve, 0), work[7], standing, work[3], shared)
