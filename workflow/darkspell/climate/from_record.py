"""Climate from a measured record: its own monthly distributions and its own persistence."""

import numpy as np

from darkspell.climate.atlas import atlas_temperature
from darkspell.climate.persistence import persistence_of_record
from darkspell.climate.site_climate import PROBABILITIES, SiteClimate
from darkspell.climate.temperature_defaults import daily_range, daily_sd
from darkspell.climate.uncertainty import source_uncertainty


def from_record(site, record, source="measured"):
    """Climate of a site from its measured record.

    Parameters
    ----------
    site : object
        With `latitude_deg`, `longitude_deg`.
    record : darkspell.climate.record.Record
    source : {"measured", "satellite"}
        Selects the uncertainty of the record.

    Returns
    -------
    darkspell.climate.SiteClimate
        With the record's monthly distributions of clearness.
    """
    months = [record.kt[(record.month == month) & np.isfinite(record.kt)] for month in range(12)]
    every = record.kt[np.isfinite(record.kt)]
    quantiles = [np.quantile(days if days.size else every, PROBABILITIES, method="hazen") for days in months]
    mean, swing, sd = temperatures(site, record, np.array([q.mean() for q in quantiles]))
    return SiteClimate(
        probabilities=PROBABILITIES,
        kt_quantiles=np.array(quantiles),
        temp_air_mean=mean,
        temp_air_range=swing,
        temp_air_sd=sd,
        **persistence_of_record(record.kt, record.month, site.latitude_deg),
        **source_uncertainty(source, site.latitude_deg, every.size / 365.0),
        source=f"measured record {record.name}, {record.span}, {every.size} days",
        notes=record.sentences(),
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
    default = atlas_temperature(site.latitude_deg, site.longitude_deg)
    if record.temp_air is None or not _every_month(record, record.temp_air):
        return default, daily_range(kt), daily_sd(default)
    months = [record.month == month for month in range(12)]
    mean = np.array([np.nanmean(record.temp_air[month]) for month in months])
    sd = np.array([np.nanstd(record.temp_air[month], ddof=1) for month in months])
    if record.temp_air_range is None or not _every_month(record, record.temp_air_range):
        return mean, daily_range(kt), sd
    return mean, np.array([np.nanmean(record.temp_air_range[month]) for month in months]), sd


def _every_month(record, values):
    """Whether every calendar month has at least twenty values."""
    return np.bincount(record.month[np.isfinite(values)], minlength=12).min() >= 20
