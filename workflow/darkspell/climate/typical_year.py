"""Climate from a typical-year weather file: its own days, smoothed by its seasons and the atlas.

Thirty days tell the dull tail of a month badly. Each month is therefore drawn from its own days and those
of its two neighbours (moved to its mean), and averaged with the atlas's shape at the same mean. How days cluster a
year that is put together of single months, each chosen for being usual, does not tell: persistence is that of the
climate.
"""

import numpy as np

from darkspell.climate.atlas import atlas_point, great_circle
from darkspell.climate.distribution import expit, logit, shift_to_mean, usual_quantiles
from darkspell.climate.extraterrestrial import daily_extraterrestrial
from darkspell.climate.persistence import usual_persistence
from darkspell.climate.site_climate import PROBABILITIES, SiteClimate
from darkspell.climate.uncertainty import doubt
from darkspell.climate.weather_file import find_weather_file, read_weather_file
from darkspell.core.calendar import MONTH_NAMES, Calendar
from darkspell.core.constants import constant
from darkspell.core.errors import StudyError

YEAR = Calendar(start_month=1)
HALF = 0.5  # of the light


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
        Its monthly means of clearness are those of the file.

    Raises
    ------
    StudyError
        If the file is missing, of no known format, incomplete, or holds what cannot be.
    """
    path = find_weather_file(name, base_dir)
    weather = read_weather_file(path)
    notes = []
    kt = daily_clearness(path, weather, notes)
    _check_means(path, monthly_means(kt))
    _place_note(site, weather, notes)
    _clock_note(path, weather, notes)
    return climate_of_days(
        kt, weather.latitude, weather.longitude, temperatures(weather),
        f"typical year in the {weather.kind} file {path.name}", notes,
    )  # fmt: skip


def climate_of_days(kt, latitude, longitude, temperatures, source, notes=()):
    """Climate of one year of days.

    Parameters
    ----------
    kt : float array [365]
        Daily clearness, 1 January first; NaN where not known [-].
    latitude, longitude : float
        Of the year's place [degrees].
    temperatures : three float arrays [12]
        Mean [degC], mean daily range and SD of the daily means [K] of air temperature.
    source : str
    notes : sequence of str

    Returns
    -------
    darkspell.climate.SiteClimate
    """
    means = monthly_means(kt)
    quantiles = smoothed_quantiles(kt, means)
    point = atlas_point(latitude, longitude)
    if point is not None:
        weight = constant("climate", "atlas_share_of_shape")
        quantiles = (1.0 - weight) * quantiles + weight * usual_quantiles(point.kt_quantiles, means, latitude)
    mean, swing, sd = temperatures
    return SiteClimate(
        probabilities=PROBABILITIES,
        kt_quantiles=shift_to_mean(quantiles, means),
        temp_air_mean=mean,
        temp_air_range=swing,
        temp_air_sd=sd,
        **usual_persistence(latitude),
        **doubt("typical_year", latitude),
        source=source,
        notes=list(notes),
    )


def daily_clearness(path, weather, notes):
    """Daily clearness of a weather year, NaN in the polar night and on the few days at fault; [365]."""
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
    """Mean of the days of each calendar month, that of the whole year in the polar night; [12]."""
    means = [_mean(kt[YEAR.month_of_day == month]) for month in range(12)]
    return np.where(np.isfinite(means), means, np.nanmean(kt))


def smoothed_quantiles(kt, means):
    """Quantiles of each month from its own days and those of its neighbours, moved to its mean; [12, Q]."""
    apart = logit(kt) - logit(means)[YEAR.month_of_day]
    quantiles = np.empty((12, PROBABILITIES.size))
    for month in range(12):
        near = np.abs((YEAR.month_of_day - month + 6) % 12 - 6) <= 1
        days = apart[near & np.isfinite(apart)]
        if days.size == 0:
            days = apart[np.isfinite(apart)]
        quantiles[month] = expit(logit(means[month]) + np.quantile(days, PROBABILITIES, method="hazen"))
    return shift_to_mean(quantiles, means)


def temperatures(weather):
    """Mean, mean daily range and SD of the daily means of air temperature by month; three arrays [12]."""
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
            f"{path.name}, column GHI: the days of {MONTH_NAMES[bad[0]]} have {means[bad[0]]:.3f} of the sun "
            f"outside the atmosphere; a month lies between {low:g} and {high:g}: check its unit (Wh/m2) and "
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
            f"{apart:.0f} km from the site: its clearness and temperature are taken over as they are."
        )


def _clock_note(path, weather, notes):
    """Remark hours that do not lie where the sun says: a time zone left out of the file, or a wrong longitude."""
    from types import SimpleNamespace

    from darkspell.climate.record.time_checks import monthly_lateness, sun_by_hour

    place = SimpleNamespace(
        latitude_deg=weather.latitude, longitude_deg=weather.longitude, utc_offset_h=weather.utc_offset
    )
    dates, sun = np.datetime64("2001-01-01") + np.arange(365), sun_by_hour(place)
    ghi = weather.ghi.reshape(365, 24)
    if ghi[sun <= 0.0].sum() > HALF * ghi.sum():
        raise StudyError(
            f"{path.name}: most of its light falls while the sun is down, by its own longitude and time zone; "
            "correct both in its first line"
        )
    found = list(monthly_lateness(dates, ghi, sun).values())
    late = int(np.median(found)) if found else 0
    if late:
        notes.append(
            f"The hours of {path.name} lie {abs(late)} h {'late' if late > 0 else 'early'} against the sun, by its "
            "own longitude and time zone: check both in its first line. Its days are taken as they stand."
        )
