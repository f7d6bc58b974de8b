"""Climate from a typical-year weather file: its own days, smoothed over seasons and with the atlas.

Thirty days are too few to estimate the dull tail of a month. Each month therefore uses its own days and those of
its two neighbours, shifted to its mean, averaged with the atlas distribution at the same mean. A typical year joins
separately chosen months, so it holds no day-to-day persistence: the persistence is the typical one of the climate.
"""

from types import SimpleNamespace

import numpy as np

from darkspell.climate.atlas_grid import atlas_point, great_circle
from darkspell.climate.clear_sky import clearness_ceiling
from darkspell.climate.default_temperature import terrain
from darkspell.climate.distribution import shift_to_mean, smoothed_quantiles, typical_quantiles
from darkspell.climate.extraterrestrial import daily_extraterrestrial
from darkspell.climate.persistence import typical_persistence
from darkspell.climate.site_climate import PROBABILITIES, SiteClimate
from darkspell.climate.uncertainty import source_uncertainty
from darkspell.climate.weather_file import find_weather_file, read_weather_file
from darkspell.core.calendar import MONTH_NAMES, Calendar
from darkspell.core.constants import constant
from darkspell.core.errors import StudyError

YEAR = Calendar(start_month=1)
MOST = 0.5  # share of the irradiation


def from_typical_year(site, name, base_dir="."):
    """Climate of a site from a weather file.

    Parameters
    ----------
    site : object
        With `latitude_deg`, `longitude_deg`.
    name : str
        File, relative to `base_dir`, or ``pvlib:NAME`` in pvlib's data folder.
    base_dir : path

    Returns
    -------
    darkspell.climate.SiteClimate
        With the file's monthly means of clearness.

    Raises
    ------
    StudyError
        If the file is missing, of an unknown format, incomplete, or contains impossible values.
    """
    path = find_weather_file(name, base_dir)
    weather = read_weather_file(path)
    notes = []
    kt = daily_clearness(path, weather, notes)
    _check_means(path, monthly_means(kt))
    _place_note(site, weather, notes)
    _clock_note(path, site, weather, notes)
    source = f"typical year in the {weather.kind} file {path.name}"
    place = _file_site(site, weather)
    return climate_of_days(kt, place, temperatures(weather), source, notes, weather.wind_in_sun)


def _file_site(site, weather):
    """Location of the weather file, at the altitude of the site."""
    return SimpleNamespace(
        latitude_deg=weather.latitude,
        longitude_deg=weather.longitude,
        utc_offset_h=weather.utc_offset,
        altitude_m=site.altitude_m,
    )


def climate_of_days(kt, site, temperatures, source, notes=(), wind=0.0):
    """Climate of one year of daily values.

    Parameters
    ----------
    kt : float array [365]
        Daily clearness, 1 January first; NaN where unknown [-].
    site : object
        With `latitude_deg`, `longitude_deg` and `altitude_m` of the year.
    temperatures : three float arrays [12]
        Mean [degC], mean daily range and standard deviation of the daily means [K] of air temperature.
    source : str
        Origin of the data, in one sentence.
    notes : sequence of str
        Remarks for the reader.
    wind : float
        As `SiteClimate`.

    Returns
    -------
    darkspell.climate.SiteClimate
    """
    means, (mean, temp_range, sd) = monthly_means(kt), temperatures
    highest = [np.fmax.reduce(kt[YEAR.month_of_day == month], initial=0.0) for month in range(12)]
    ceiling = clearness_ceiling(site, mean, temp_range, means, highest)
    quantiles = smoothed_quantiles(kt, YEAR.month_of_day, means, ceiling)
    point = atlas_point(site.latitude_deg, site.longitude_deg)
    if point is not None:
        weight = constant("climate", "atlas_share_of_shape")
        typical = typical_quantiles(point.kt_quantiles, means, ceiling)
        quantiles = (1.0 - weight) * quantiles + weight * typical
    return SiteClimate(
        probabilities=PROBABILITIES,
        kt_quantiles=shift_to_mean(quantiles, means, ceiling),
        kt_ceiling=ceiling,
        temp_air_mean=mean,
        temp_air_range=temp_range,
        temp_air_sd=sd,
        **terrain(site, mean),
        **typical_persistence(site.latitude_deg, means),
        **source_uncertainty("typical_year", site.latitude_deg),
        source=source,
        notes=list(notes),
        wind=wind,
    )


def daily_clearness(path, weather, notes):
    """Daily clearness of a weather year.

    Parameters
    ----------
    path : pathlib.Path
        Weather file, for messages.
    weather : darkspell.climate.weather_file.WeatherYear
    notes : list of str
        Remarks are appended.

    Returns
    -------
    float64 array [365]
        NaN in the polar night and on faulty days [-].

    Raises
    ------
    StudyError
        If too many days are impossible.
    """
    extra = daily_extraterrestrial(weather.latitude, YEAR.day_of_year)
    lit = extra >= constant("climate", "polar_night")
    total = weather.ghi.reshape(365, 24).sum(axis=1) / 1000.0
    kt = np.divide(total, extra, out=np.full(365, np.nan), where=lit)
    fault = lit & ~((kt > 0.0) & (kt <= constant("climate", "highest_daily_kt")))
    if fault.sum() > constant("climate", "days_at_fault"):
        day = int(np.argmax(fault))
        raise StudyError(
            f"{path.name}, {YEAR.label(day)}: GHI sums to {total[day]:.2f} kWh/m2, {kt[day]:.2f} of the "
            f"{extra[day]:.2f} kWh/m2 outside the atmosphere; {int(fault.sum())} such days: check the "
            "column of GHI, its unit (Wh/m2) and the latitude in the file, or use another file"
        )
    if fault.any():
        days = ", ".join(YEAR.label(day) for day in np.flatnonzero(fault))
        notes.append(f"Days of {path.name} left out, since no sky gives their irradiation: {days}.")
    return np.where(fault, np.nan, kt)


def monthly_means(kt):
    """Mean clearness of each calendar month; the annual mean in the polar night.

    Parameters
    ----------
    kt : float array [365]
        Daily clearness, 1 January first; NaN where unknown [-].

    Returns
    -------
    float64 array [12]
    """
    means = [_mean(kt[YEAR.month_of_day == month]) for month in range(12)]
    return np.where(np.isfinite(means), means, np.nanmean(kt))


def temperatures(weather):
    """Monthly statistics of air temperature of a weather year.

    Parameters
    ----------
    weather : darkspell.climate.weather_file.WeatherYear

    Returns
    -------
    mean, daily_range, sd : float64 arrays [12]
        Monthly mean [degC], mean daily range [K], standard deviation of the daily means [K].
    """
    days = weather.temp_air.reshape(365, 24)
    daily, swing = days.mean(axis=1), np.ptp(days, axis=1)
    months = [YEAR.month_of_day == month for month in range(12)]
    return (
        np.array([daily[month].mean() for month in months]),
        np.array([swing[month].mean() for month in months]),
        np.array([daily[month].std(ddof=1) for month in months]),
    )


def _check_means(path, means):
    low, high = constant("climate", "monthly_kt_bounds")
    bad = np.flatnonzero((means < low) | (means > high))
    if bad.size:
        raise StudyError(
            f"{path.name}, column GHI: the days of {MONTH_NAMES[bad[0]]} have {means[bad[0]]:.3f} of the "
            f"extraterrestrial irradiation; possible are {low:g} to {high:g}: check its unit (Wh/m2) and "
            "the latitude in the file, or use another file"
        )


def _mean(values):
    return np.nanmean(values) if np.isfinite(values).any() else np.nan


def _place_note(site, weather, notes):
    apart = float(
        great_circle(site.latitude_deg, site.longitude_deg, weather.latitude, np.array(weather.longitude))
    )
    if apart > constant("climate", "file_near"):
        notes.append(
            f"The weather file is for {weather.latitude:.2f}, {weather.longitude:.2f} degrees, "
            f"{apart:.0f} km from the site: its clearness and temperature are used unchanged."
        )


def _clock_note(path, site, weather, notes):
    """Note hours that disagree with the sun: a missing time zone in the file, or a wrong longitude."""
    from darkspell.climate.record.time_checks import monthly_lateness, sun_by_hour

    dates, sun = np.datetime64("2001-01-01") + np.arange(365), sun_by_hour(_file_site(site, weather))
    ghi = weather.ghi.reshape(365, 24)
    if ghi[sun <= 0.0].sum() > MOST * ghi.sum():
        raise StudyError(
            f"{path.name}: most of its irradiation is at night by its own longitude and time zone; "
            "correct both in its first line"
        )
    shifts = list(monthly_lateness(dates, ghi, sun).values())
    late = int(np.median(shifts)) if shifts else 0
    if late:
        notes.append(
            f"The hours of {path.name} are {abs(late)} h {'late' if late > 0 else 'early'} relative to the sun by "
            "the file's own longitude and time zone: check both in its first line. Its daily sums are used unchanged."
        )
