"""Minutes of irradiance and temperature from published generators other than the package's.

Days: a distribution of the daily clearness index with a lag-one autocorrelation (Gordon & Reddy, Solar Energy
41 (1988) 215-226; recalled). Hours: the time-dependent autoregressive Gaussian model (Aguiar &
Collares-Pereira, Solar Energy 49 (1992) 167-174; its constants read in an open implementation). Minutes: a
Markov chain of two states, clear and cloudy, with a distribution of the clear-sky index in each (after Munkhammar &
Widen, Solar Energy 2018, read as an abstract; durations and distributions are our choice).
"""

import numpy as np
import pandas as pd
from pvlib import irradiance, solarposition
from scipy.stats import beta, norm

DAY_AUTOCORRELATION = 0.3  # Gordon & Reddy 1988, recalled
LINKE_FREE_CLEAR = 0.88  # clear-sky clearness at noon, Aguiar & Collares-Pereira 1992
CLOUD_MINUTES = 11.0  # mean length of a cloudy or clear spell within a mixed hour, our choice


def daily_clearness(mean, count, rng):
    """Daily clearness indices of a month.

    The ratio to the mean has density A x^n (1 - x / xmax): a beta distribution (n + 1, 2) on [0, xmax].

    Parameters
    ----------
    mean : float
        Monthly mean [-].
    count : int
        Number of days.
    rng : numpy.random.Generator

    Returns
    -------
    float64 array [count]
    """
    spread = np.interp(mean, [0.3, 0.5, 0.65], [0.45, 0.36, 0.2])  # our choice: cloudy months vary more
    power = -2.5 + 0.5 * np.sqrt(9.0 + 8.0 / spread**2)
    largest = (power + 3.0) / (power + 1.0)
    level = np.empty(count)
    state = rng.standard_normal()
    for day in range(count):
        noise = rng.standard_normal()
        state = DAY_AUTOCORRELATION * state + np.sqrt(1.0 - DAY_AUTOCORRELATION**2) * noise
        level[day] = state
    ratio = largest * beta.ppf(norm.cdf(level), power + 1.0, 2.0)
    return np.clip(mean * ratio, 0.03, 0.8)


def hourly_clearness(day, sine, hour, rng):
    """Hourly clearness indices of one day with a daily index `day`.

    Parameters
    ----------
    day : float
    sine : float array [24]
        Sine of the solar elevation in the middle of each hour; 0 or less at night.
    hour : float array [24]
        Solar time of the middle of each hour [h].
    rng : numpy.random.Generator

    Returns
    -------
    kt, clear : float64 arrays [24]
        Clearness index, and that of a clear sky.
    """
    phi = 0.38 + 0.06 * np.cos(7.4 * day - 2.5)
    base = -0.19 + 1.12 * day + 0.24 * np.exp(-8.0 * day)
    eta = 0.32 - 1.6 * (day - 0.5) ** 2
    kappa = 0.19 + 2.27 * day**2 - 2.51 * day**3
    amplitude = 0.14 * np.exp(-20.0 * (day - 0.35) ** 2)
    growth = 3.0 * (day - 0.45) ** 2 + 16.0 * day**5
    kt, clear = np.zeros(24), np.zeros(24)
    y = 0.0
    for h in range(24):
        if sine[h] <= 0.02:
            continue
        clear[h] = LINKE_FREE_CLEAR * np.cos(np.pi * (hour[h] - 12.0) / 30.0)
        mean = base + eta * np.exp(-kappa / sine[h])
        sigma = amplitude * np.exp(growth * (1.0 - sine[h]))
        for _ in range(20):
            trial = phi * y + np.sqrt(1.0 - phi**2) * rng.standard_normal()
            if 0.0 < mean + sigma * trial < clear[h]:
                break
        y = trial
        kt[h] = np.clip(mean + sigma * y, 0.02, clear[h])
    weight = kt @ np.maximum(sine, 0.0)
    if weight > 0.0:
        kt = np.minimum(kt * day * np.maximum(sine, 0.0).sum() / weight, np.maximum(clear, 0.0))
    return kt, clear


def minute_index(index, rng):
    """Clear-sky index by minute, 60 a given hourly mean; float64 [hours * 60].

    Parameters
    ----------
    index : float array [hours]
        Hourly clear-sky index [-].
    rng : numpy.random.Generator
    """
    cloudy_level = np.clip(0.15 + 0.35 * index, 0.05, 0.6)
    share = np.clip((index - cloudy_level) / (1.03 - cloudy_level), 0.0, 1.0)
    out = np.empty(index.size * 60)
    clear = rng.random() < 0.5
    for h in range(index.size):
        if index[h] <= 0.0:
            out[60 * h : 60 * h + 60] = 0.0
            continue
        if share[h] < 0.04 or share[h] > 0.96:
            part = np.full(60, index[h]) * (1.0 + 0.02 * rng.standard_normal(60))
        else:
            leave_clear, leave_cloudy = (1.0 - share[h]) / CLOUD_MINUTES, share[h] / CLOUD_MINUTES
            uniform, part = rng.random(60), np.empty(60)
            for m in range(60):
                leave = leave_clear if clear else leave_cloudy
                clear = clear if uniform[m] >= leave else not clear
                part[m] = 1.03 if clear else cloudy_level[h]
            part *= 1.0 + 0.04 * rng.standard_normal(60)
        out[60 * h : 60 * h + 60] = part * index[h] / part.mean()
    return np.minimum(out, 1.35)


def weather(system, first, days, rng):
    """Minutes of irradiance and air temperature.

    Parameters
    ----------
    system : dev.second_simulator.system.PlainSystem
    first : datetime64[D]
    days : int
    rng : numpy.random.Generator

    Returns
    -------
    pandas.DataFrame
        By minute (local standard time, labelled by its middle): ``ghi``, ``dhi``, ``dni`` [W/m2], ``temp_air``
        [degC], ``zenith``, ``azimuth`` [degree], ``extra`` [W/m2 normal to the sun].
    """
    hours = 24 * days
    stamps = pd.date_range(pd.Timestamp(first) + pd.Timedelta(seconds=30), periods=60 * hours, freq="min")
    utc = (stamps - pd.Timedelta(hours=system.utc_offset)).tz_localize("UTC")
    sun = solarposition.ephemeris(utc, system.latitude, system.longitude)
    zenith, azimuth = sun["apparent_zenith"].to_numpy(), sun["azimuth"].to_numpy()
    solar_time = sun["solar_time"].to_numpy()
    extra = irradiance.get_extra_radiation(utc).to_numpy()
    sine = np.maximum(np.cos(np.radians(zenith)), 0.0)
    sine_hour = sine.reshape(hours, 60).mean(1)
    middle = solar_time[30::60]
    month = stamps[::1440].month.to_numpy() - 1
    kt, clear = np.zeros(hours), np.zeros(hours)
    daily = np.empty(days)
    for m in np.unique(month):
        at = np.flatnonzero(month == m)
        daily[at] = daily_clearness(system.clearness[m], at.size, rng)
    for day in range(days):
        part = slice(24 * day, 24 * day + 24)
        kt[part], clear[part] = hourly_clearness(daily[day], sine_hour[part], middle[part], rng)
    index = np.where(clear > 0.02, kt / np.maximum(clear, 0.02), 0.0)
    minutes = minute_index(index, rng)
    ghi = minutes * np.repeat(clear, 60) * extra * sine
    fraction = np.asarray(
        irradiance.orgill_hollands(
            np.maximum(kt * sine_hour * extra[30::60], 0.0), np.degrees(np.arccos(np.clip(sine_hour, 0.0, 1.0))),
            stamps[30::60].day_of_year.to_numpy(),
        )["dhi"]
    )  # fmt: skip
    hour_ghi = ghi.reshape(hours, 60).mean(1)
    share = np.repeat(np.where(hour_ghi > 0.0, fraction / np.maximum(hour_ghi, 1e-9), 1.0), 60)
    level = np.repeat(hour_ghi, 60)
    dhi = np.minimum(np.clip(share, 0.05, 1.0) * (0.7 * level + 0.3 * ghi), ghi)
    dni = np.where(sine > 0.03, (ghi - dhi) / np.maximum(sine, 0.03), 0.0)
    return pd.DataFrame(
        {
            "ghi": ghi, "dhi": dhi, "dni": np.minimum(dni, extra), "temp_air": air(system, stamps, daily, rng),
            "zenith": zenith, "azimuth": azimuth, "extra": extra,
        },
        index=stamps,
    )  # fmt: skip


def air(system, stamps, daily, rng):
    """Air temperature by minute [degC]: monthly mean, days that persist, a daily course.

    Parameters
    ----------
    system : simulated system
    stamps : pandas.DatetimeIndex
        Minutes.
    daily : float64 [days]
        Clearness of the day [-].
    rng : numpy.random.Generator
    """
    days = daily.size
    middle = 30.4 * np.arange(-1, 13) + 15.2
    monthly = np.interp(
        stamps[::1440].day_of_year, middle, np.take(system.temperature, np.arange(-1, 13), mode="wrap")
    )
    state, out = 0.0, np.empty(days)
    for day in range(days):
        state = 0.75 * state + 3.4 * np.sqrt(1.0 - 0.75**2) * rng.standard_normal()
        out[day] = monthly[day] + state
    swing = 2.0 + 6.0 * daily
    hour = (np.arange(days * 1440) / 60.0) % 24.0
    return np.repeat(out, 1440) - np.repeat(swing, 1440) * np.cos(2 * np.pi * (hour - 3.5) / 24.0)
