"""Climate from a measured record: its own monthly distributions and its own persistence."""

from dataclasses import replace

import numpy as np

from darkspell.climate.atlas_grid import atlas_point
from darkspell.climate.clear_sky import clearness_ceiling
from darkspell.climate.default_temperature import grid_range, grid_temperature, terrain
from darkspell.climate.distribution import quantiles_without_atlas, typical_quantiles
from darkspell.climate.persistence import normal_scores, persistence_of_record
from darkspell.climate.site_climate import PROBABILITIES, SiteClimate
from darkspell.climate.temperature_defaults import daily_sd
from darkspell.climate.uncertainty import source_uncertainty
from darkspell.core.constants import constant

DAYS_OF_SEASON = 90  # days of three months
SATELLITE_NOTE = (
    "Satellite data: monthly means are lowered by {:.0f} % to the level of ground stations. The mix of clear and "
    "dull days is that of the climate, because satellites miss the dullest days. Its persistence is kept."
)


def from_record(site, record):
    """Climate of a site from its measured record.

    Parameters
    ----------
    site : object
        With `latitude_deg`, `longitude_deg` and `altitude_m`.
    record : darkspell.climate.record.Record

    Returns
    -------
    darkspell.climate.SiteClimate
        With the record's monthly distributions of clearness.
    """
    months = [record.kt[(record.month == month) & np.isfinite(record.kt)] for month in range(12)]
    every = record.kt[np.isfinite(record.kt)]
    quantiles = [np.quantile(days if days.size else every, PROBABILITIES, method="hazen") for days in months]
    kt = np.array([q.mean() for q in quantiles])
    mean, temp_range, sd = temperatures(site, record, kt)
    highest = [row[-1] for row in quantiles]
    return SiteClimate(
        probabilities=PROBABILITIES,
        kt_quantiles=np.array(quantiles),
        kt_ceiling=clearness_ceiling(site, mean, temp_range, kt, highest),
        temp_air_mean=mean,
        temp_air_range=temp_range,
        temp_air_sd=sd,
        **(terrain(site, mean) | measured_with_sun(record)),
        **persistence_of_record(record.kt, record.month, site.latitude_deg),
        **source_uncertainty("measured", site.latitude_deg, every.size / 365.0),
        source=f"measured record {record.name}, {record.span}, {every.size} days",
        notes=record.sentences(),
        wind=record.wind_in_sun or 0.0,
    )


def from_satellite(site, record):
    """Climate of a site from a satellite-derived series.

    Satellites are too bright on average, their days differ too little, and the dullest days are missing. Used are
    the monthly means, lowered to the level of ground stations, and the persistence. The day-to-day variability is
    that of the climate.

    Parameters
    ----------
    site : object
        With `latitude_deg`, `longitude_deg` and `altitude_m`.
    record : darkspell.climate.record.Record

    Returns
    -------
    darkspell.climate.SiteClimate
    """
    own = from_record(site, record)
    kt = own.monthly_kt() * constant("climate", "ground_over_satellite")
    ceiling = clearness_ceiling(site, own.temp_air_mean, own.temp_air_range, kt)
    point = atlas_point(site.latitude_deg, site.longitude_deg)
    if point is None:
        quantiles = quantiles_without_atlas(kt, own.temp_air_mean, ceiling)
    else:
        quantiles = typical_quantiles(point.kt_quantiles, kt, ceiling)
    years = np.isfinite(record.kt).sum() / 365.0
    return replace(
        own,
        kt_quantiles=quantiles,
        kt_ceiling=ceiling,
        **source_uncertainty("satellite", site.latitude_deg, years, cell=point is not None),
        source=own.source.replace("measured record", "satellite series"),
        notes=[
            *own.notes,
            SATELLITE_NOTE.format(100.0 * (1.0 - constant("climate", "ground_over_satellite"))),
        ],
    )


def temperatures(site, record, kt):
    """Monthly statistics of air temperature, from the record or else from the atlas and default relations.

    Parameters
    ----------
    site : object
        With `latitude_deg`, `longitude_deg`.
    record : darkspell.climate.record.Record
    kt : float array [12]
        Monthly mean clearness, for the default daily range [-].

    Returns
    -------
    mean, daily_range, sd : float64 arrays [12]
        Monthly mean [degC], mean daily range [K], standard deviation of the daily means [K].
    """
    default = grid_temperature(site)
    if record.temp_air is None or not _every_month(record, record.temp_air):
        return default, grid_range(site, kt), daily_sd(default)
    months = [record.month == month for month in range(12)]
    mean = np.array([np.nanmean(record.temp_air[month]) for month in months])
    sd = np.array([np.nanstd(record.temp_air[month], ddof=1) for month in months])
    if record.temp_air_range is None or not _every_month(record, record.temp_air_range):
        return mean, grid_range(site, kt), sd
    return mean, np.array([np.nanmean(record.temp_air_range[month]) for month in months]), sd


def measured_with_sun(record):
    """Correlation of temperature and clearness by month, where the record has both.

    Parameters
    ----------
    record : darkspell.climate.record.Record

    Returns
    -------
    dict
        `temp_air_with_sun` of `darkspell.climate.SiteClimate` (float64 array [12]: each month with its neighbours);
        empty where the record has too few temperatures.
    """
    if record.temp_air is None:
        return {}
    scores, known = (
        normal_scores(record.kt, record.month),
        np.isfinite(record.kt) & np.isfinite(record.temp_air),
    )
    found = np.full(12, np.nan)
    for month in range(12):
        days = known & (np.abs((record.month - month + 6) % 12 - 6) <= 1)
        if days.sum() >= constant("climate", "few_years") * DAYS_OF_SEASON:
            anomaly = record.temp_air[days].copy()
            for number in np.unique(record.month[days]):
                same = record.month[days] == number
                anomaly[same] -= anomaly[same].mean()
            found[month] = np.corrcoef(anomaly, scores[days])[0, 1]
    return {"temp_air_with_sun": found} if np.isfinite(found).all() else {}


def _every_month(record, values):
    """Whether every calendar month has at least twenty values."""
    return np.bincount(record.month[np.isfinite(values)], minlength=12).min() >= 20
