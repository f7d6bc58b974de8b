"""Judge the weather model at a station: statistics, a joint test, and the storage test by climate source."""

from dataclasses import dataclass, replace
from types import SimpleNamespace

import numpy as np

from darkspell.climate.atlas import from_atlas
from darkspell.climate.from_record import from_record, temperatures
from darkspell.climate.monthly import from_monthly
from darkspell.climate.record.study_years import days_of_years
from darkspell.climate.typical_year import climate_of_days, monthly_means
from darkspell.core.calendar import Calendar
from darkspell.core.errors import StudyError
from darkspell.validation.daily_storage import interval_score, measured_cells, plane_light, ratio_of
from darkspell.validation.dark_spells import autocorrelation, spells, winters
from darkspell.validation.interval_coverage import STATED_DRAWS, interval, stated_draws
from darkspell.validation.joint import farthest, joint_test, statistics
from darkspell.validation.stations import KNOWN_WINTER, MOST_MISSING
from darkspell.validation.typical_year import typical_days
from darkspell.weather.daily_clearness import daily_clearness

# What each source is given of the record itself, least informed first.
SOURCES = {"atlas": "nothing", "typical": "months", "monthly": "means", "record": "means"}
MEMBERS, SEED = 1000, 1
PSEUDO = 199  # pseudo-records of the joint test
LAGS = (1, 2, 3, 5, 10, 20)


@dataclass(frozen=True)
class Judged:
    """Results of one station.

    Parameters
    ----------
    station : Station
    cells : list of dict
        A row a source, bank and wanted share: ``source``, ``bank``, ``wanted``, ``ratio`` (synthetic over
        measured, the source taken at its word), ``world_low``, ``world_high`` (90 % of the source's own
        parameter draws, each
        with the years of the record; see `darkspell.validation.interval_coverage`), ``record_low``, ``record_high``
        (what the record may be off), ``years`` of the record, ``with_loss`` (years that its lost days lie in).
    statistics : dict of dict
        For ``measured`` and each source: ``kt`` [12], ``spells`` [11] per winter, ``longest`` (median, 90 %),
        ``dark_share``, ``lags``.
    probability : dict
        Result of the joint test, by source.
    farthest : dict
        Statistics that are farthest from the model, by source.
    """

    station: object
    cells: list
    statistics: dict
    probability: dict
    farthest: dict


def climates(station):
    """Climates of a station by source; a source that does not cover the location is left out.

    Parameters
    ----------
    station : darkspell.validation.stations.Station

    Returns
    -------
    dict of darkspell.climate.SiteClimate
    """
    site, record = station.site, station.record
    known = np.isfinite(record.kt)
    means = [float(record.kt[known & (record.month == month)].mean()) for month in range(12)]
    given = SimpleNamespace(ghi_kwh_m2_day=None, peak_sun_hours=None, clearness_index=means, temp_air_c=None)
    makers = {
        "atlas": lambda: from_atlas(site),
        "typical": lambda: typical_climate(site, record),
        "monthly": lambda: from_monthly(site, given),
        "record": lambda: from_record(site, record),
    }
    found = {}
    for source, make in makers.items():
        try:
            found[source] = make()
        except StudyError:
            continue
    return found


def typical_climate(site, record):
    """Climate of a typical year made of the record's own months.

    Parameters
    ----------
    site : object
        With `latitude_deg`, `longitude_deg`.
    record : darkspell.climate.record.Record

    Returns
    -------
    darkspell.climate.SiteClimate
    """
    days, _ = typical_days(record.dates, record.kt)
    usual = temperatures(site, record, monthly_means(days))
    return climate_of_days(days, site, usual, "typical year of the record")


def judge(station, known, members=MEMBERS, pseudo=PSEUDO):
    """Judge the weather model at one station.

    Parameters
    ----------
    station : darkspell.validation.stations.Station
    known : dict of darkspell.climate.SiteClimate
        By source, from `climates` (which opens the atlas: call it in one thread).
    members : int
        Synthetic years per source.
    pseudo : int
        Pseudo-records of the joint test.

    Returns
    -------
    Judged
    """
    calendar, latitude = Calendar(station.start_month), station.site.latitude_deg
    cells = measured_cells(station.record, latitude, station.start_month)
    years, holes = _years(station.record, calendar)
    measured = statistics(years, calendar.month_of_day)
    length = max(round(np.isfinite(station.record.kt).sum() / 365), 1)
    rows, found, probability, far = [], {"measured": _statistics_of_record(station)}, {}, {}
    for source, climate in known.items():
        own = np.arange(members)
        plain = daily_clearness(without_uncertainty(climate), calendar, own, own * 0, SEED)
        light = plane_light(latitude, plain, calendar)
        draws = stated_draws(
            latitude, climate, calendar, cells, length, SOURCES[source], SEED, min(members, STATED_DRAWS)
        )
        ends = np.exp(interval(draws)[:2]).T
        rows += [_row(source, light, cell, *two) for cell, two in zip(cells, ends, strict=True)]
        found[source] = _statistics_of_years(plain, calendar)
        if source != "atlas":
            drawn = _pseudo(without_uncertainty(climate), calendar, holes, pseudo)
            probability[source] = joint_test(measured, drawn)
            far[source] = farthest(measured, drawn)
    return Judged(station, rows, found, probability, far)


def without_uncertainty(climate):
    """The climate without the uncertainty of its source.

    Parameters
    ----------
    climate : darkspell.climate.SiteClimate

    Returns
    -------
    darkspell.climate.SiteClimate
    """
    return replace(
        climate, annual_mean_sd=0.0, monthly_mean_sd=0.0, width_sd=0.0, lag_one_sd=0.0, slow_sd=0.0
    )


def _row(source, light, cell, low, high):
    return {
        "source": source, "bank": cell["bank"], "wanted": cell["wanted"],
        "ratio": float(ratio_of(light, cell).mean()), "world_low": float(low), "world_high": float(high),
        "record_low": float(cell["low"]), "record_high": float(cell["high"]), "years": cell["years"],
        "with_loss": cell["with_loss"],
    }  # fmt: skip


def _years(record, calendar):
    """Study years of a record with their gaps [years, 365], and the position of the gaps."""
    _, days = days_of_years(record, calendar)
    rows = np.where(days >= 0, record.kt[days], np.nan)
    rows = rows[np.isnan(rows).sum(axis=1) <= MOST_MISSING]
    return rows, np.isnan(rows)


def _pseudo(climate, calendar, holes, count):
    """Statistics of pseudo-records, each with the years and gaps of the measured one."""
    years = len(holes)
    found = []
    for first in range(0, count * years, 40 * years):
        members = np.arange(first, min(first + 40 * years, count * years))
        kt = daily_clearness(climate, calendar, members, members * 0, SEED + 1)
        for rows in kt.reshape(-1, years, kt.shape[1]):
            found.append(statistics(np.where(holes, np.nan, rows), calendar.month_of_day))
    return found


def _statistics_of_record(station):
    record = station.record
    means = np.array([np.nanmean(record.kt[record.month == month]) for month in range(12)])
    rows = winters(record.dates, record.kt, station.site.latitude_deg)
    rows = rows[np.isfinite(rows).mean(axis=1) > KNOWN_WINTER]
    return _statistics_of(means, rows, record.kt - means[record.month])


def _statistics_of_years(kt, calendar):
    month = calendar.month_of_day
    means = np.array([kt[:, month == number].mean() for number in range(12)])
    dark = np.isin((month - month[0]) % 12, (4, 5, 6, 7))
    return _statistics_of(means, kt[:, dark], kt - means[month])


def _statistics_of(means, rows, apart):
    found = spells(rows)
    return {
        "kt": means,
        "spells": found.counts / found.winters,
        "longest": np.quantile(found.longest, [0.5, 0.9]),
        "dark_share": found.share,
        "lags": autocorrelation(apart, LAGS),
    }


def headline(judged, source, wanted=0.01):
    """Summary of a source over all stations.

    Parameters
    ----------
    judged : list of Judged
    source : str
    wanted : float
        Share of lost days.

    Returns
    -------
    dict
        ``cells``, ``near`` (share within 0.6 to 1.7), ``inside`` (share within the record's own interval),
        ``mean`` (geometric), ``median``, ``covered`` (share of cells whose interval contains the record), ``score``
        (mean interval score of the logarithm) and ``constant_score`` (of the best interval of one width).
    """
    rows = [row for one in judged for row in one.cells if (row["source"], row["wanted"]) == (source, wanted)]
    table = {key: np.array([row[key] for row in rows]) for key in rows[0] if key != "source"}
    ratio = np.maximum(table["ratio"], 0.01)
    low, high = (np.log(np.maximum(table[f"world_{end}"], 0.005)) for end in ("low", "high"))
    seen = np.zeros(ratio.size)  # the measured share over the wanted one is 1
    centre = np.log(ratio)
    widths = np.linspace(0.05, 4.0, 80)
    constant = min(interval_score(centre - w, centre + w, seen).mean() for w in widths)
    return {
        "cells": ratio.size,
        "near": float(((ratio >= 0.6) & (ratio <= 1.7)).mean()),
        "inside": float(((ratio >= table["record_low"]) & (ratio <= table["record_high"])).mean()),
        "mean": float(np.exp(np.log(ratio).mean())),
        "median": float(np.median(ratio)),
        "covered": float(((low <= seen) & (high >= seen)).mean()),
        "score": float(interval_score(low, high, seen).mean()),
        "constant_score": float(constant),
    }
