"""Climate from a measured record: its own monthly distributions and its own persistence."""

import numpy as np

from darkspell.climate.against_atlas import differences
from darkspell.climate.atlas import from_atlas
from darkspell.climate.atlas_grid import atlas_point
from darkspell.climate.clear_sky import clearness_ceiling
from darkspell.climate.default_temperature import grid_range, grid_temperature, terrain
from darkspell.climate.distribution import (
    quantiles_without_atlas,
    shift_to_mean,
    smoothed_quantiles,
    typical_quantiles,
)
from darkspell.climate.few_years import combined_means, own_share
from darkspell.climate.missing_months import across, empty_months, sentences
from darkspell.climate.persistence import normal_scores, persistence_of_record
from darkspell.climate.site_climate import PROBABILITIES, SiteClimate
from darkspell.climate.temperature_defaults import daily_sd
from darkspell.climate.uncertainty import source_uncertainty
from darkspell.core.constants import constant

SERIES = {"measured": "measured record", "satellite": "satellite series"}
SAME = 1e-5  # relative difference of means
SAID = 0.95  # share of the record in its annual mean below which it is mentioned
DAYS_OF_SEASON = 90  # days of three months
SATELLITE_NOTE = (
    "Satellite data: monthly means are lowered by {:.0f} % to the level of ground stations. The mix of clear and "
    "dull days is that of the climate, because satellites miss the dullest days. Its persistence is kept."
)


def from_record(site, record):
    """Climate of a site from its measured record.

    The means and the mix of days of a record of few years are combined with the built-in climate.

    Parameters
    ----------
    site : object
        With `latitude_deg`, `longitude_deg` and `altitude_m`.
    record : darkspell.climate.record.Record

    Returns
    -------
    darkspell.climate.SiteClimate
    """
    return _from_series(site, record, "measured")


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
    lowered = 100.0 * (1.0 - constant("climate", "ground_over_satellite"))
    return _from_series(site, record, "satellite", [SATELLITE_NOTE.format(lowered)])


def _from_series(site, record, source, notes=()):
    """Climate from a measured record or, with the climate's mix of days, from a satellite series."""
    satellite, own = source == "satellite", _own_quantiles(record)
    factor = constant("climate", "ground_over_satellite") if satellite else 1.0
    days = np.bincount(record.month[np.isfinite(record.kt)], minlength=12)
    years = days.sum() / 365.0
    empty = empty_months(record)
    known = combined_means(own.mean(axis=1) * factor, days, from_atlas(site), empty)
    mean, temp_range, sd = temperatures(site, record, known.kt)
    highest = 0.0 if satellite else np.where((days > 0) & ~empty, own[:, -1], 0.0)
    ceiling = clearness_ceiling(site, mean, temp_range, known.kt, highest)
    quantiles, cell = _typical(site, known.kt, mean, ceiling)
    if not satellite:
        if years < constant("climate", "few_years"):
            own = smoothed_quantiles(record.kt, record.month, known.kt, ceiling)
        share = np.where(empty, 0.0, own_share(years))[:, None]
        quantiles = (1.0 - share) * quantiles + share * _moved(own, known.kt, ceiling)
    return SiteClimate(
        probabilities=PROBABILITIES,
        kt_quantiles=_moved(quantiles, known.kt, ceiling),
        kt_ceiling=ceiling,
        temp_air_mean=mean,
        temp_air_range=temp_range,
        temp_air_sd=sd,
        **(terrain(site, mean) | measured_with_sun(record)),
        **persistence_of_record(record.kt, record.month, site.latitude_deg),
        **source_uncertainty(source, site.latitude_deg, years, cell=cell or not satellite, combined=known),
        source=f"{SERIES[source]} {record.name}, {record.span}, {days.sum()} days",
        notes=[
            *record.sentences(),
            *sentences(empty, known.monthly_sd),
            *_notes(years, known),
            *notes,
            *differences(site, own.mean(axis=1) * factor, "The means of the record", (days > 0) & ~empty),
        ],  # fmt: skip
        wind=record.wind_in_sun or 0.0,
    )


def _own_quantiles(record):
    """Quantiles of the record's own days by month; of all its days where a month has none."""
    months = [record.kt[(record.month == month) & np.isfinite(record.kt)] for month in range(12)]
    every = record.kt[np.isfinite(record.kt)]
    return np.array(
        [np.quantile(days if days.size else every, PROBABILITIES, method="hazen") for days in months]
    )


def _typical(site, kt, temp_air, ceiling):
    """Quantiles of the climate at the given means, and whether a cell of the atlas is near."""
    point = atlas_point(site.latitude_deg, site.longitude_deg)
    if point is None:
        return quantiles_without_atlas(kt, temp_air, ceiling), False
    return typical_quantiles(point.kt_quantiles, kt, ceiling), True


def _moved(quantiles, kt, ceiling):
    """Quantiles shifted to the given means; those of months that have them stay as they are."""
    apart = np.abs(quantiles.mean(axis=1) / kt - 1.0) > SAME
    return np.where(apart[:, None], shift_to_mean(quantiles, kt, ceiling), quantiles)


def _notes(years, known):
    if known.weight > SAID:
        return []
    return [
        f"Measured years: {years:.1f}. The means of few years are combined with the built-in atlas, the more so the "
        f"fewer they are: {100.0 * known.weight:.0f} % of their difference in the annual mean is kept."
    ]


def temperatures(site, record, kt):
    """Monthly statistics of air temperature, from the record or else from the atlas and default relations.

    In months with too few values, the mean differs from the atlas as in the measured months around.

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
    default, days_range = grid_temperature(site), grid_range(site, kt)
    measured, sd = _monthly(record, record.temp_air)
    empty = np.isnan(measured)
    if 12 - empty.sum() < constant("record", "fewest_months"):
        return default, days_range, daily_sd(default)
    mean = np.where(empty, default + across(measured - default, empty), measured)
    swing, _ = _monthly(record, record.temp_air_range)
    return mean, np.where(np.isnan(swing), days_range, swing), np.where(empty, daily_sd(mean), sd)


def _monthly(record, values):
    """Mean and standard deviation by calendar month; NaN where a month has too few values."""
    mean, sd = np.full(12, np.nan), np.full(12, np.nan)
    for month in range(12) if values is not None else ():
        known = values[record.month == month]
        if np.isfinite(known).sum() >= constant("record", "fewest_in_month"):
            mean[month], sd[month] = np.nanmean(known), np.nanstd(known, ddof=1)
    return mean, sd


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
