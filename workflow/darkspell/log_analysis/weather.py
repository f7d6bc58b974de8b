"""Clearness of a log's own dates, where a series, the study's record or a download knows it."""

from pathlib import Path

import numpy as np

from darkspell.climate.record.record import day_of_year
from darkspell.core.calendar import DAYS
from darkspell.core.errors import StudyError

LEAST_SHARE = 0.8


def known_clearness(study, calendar, dates):
    """Daily clearness of the log's dates.

    Parameters
    ----------
    study : darkspell.study.Study
    calendar : darkspell.core.calendar.Calendar
    dates : datetime64[D] array [days]

    Returns
    -------
    clearness : float64 array [365] or None
        By study day, NaN where not known; None if fewer than four days in five are.
    words : str
        Where it comes from, or that it is not known.
    """
    record, words = (
        None,
        "Nothing is known of the weather of these dates; that of the climate stands in for it.",
    )
    folder = study.folder or "."
    if study.log.weather_file is not None:
        record = _own(study, folder)
    elif study.climate.source in ("measured", "satellite"):
        from darkspell.climate.record import record_of

        record = record_of(study, folder)
    found = _on(record, calendar, dates)
    if found is None and study.log.download:
        record = _downloaded(study, dates, folder)
        found = _on(record, calendar, dates)
    if found is None:
        if study.log.weather_file is not None:
            raise StudyError(
                f"log.weather_file: {record.name} knows fewer than four in five of the log's days "
                f"({dates[0]} to {dates[-1]}); give a series that covers them, or leave it out"
            )
        return None, words
    return found, f"The weather of these dates comes from {record.name}."


def _on(record, calendar, dates):
    if record is None:
        return None
    at = np.searchsorted(record.dates, dates)
    inside = (at < record.dates.size) & (record.dates[np.minimum(at, record.dates.size - 1)] == dates)
    kt = np.where(inside, record.kt[np.minimum(at, record.dates.size - 1)], np.nan)
    if np.isfinite(kt).mean() < LEAST_SHARE:
        return None
    out = np.full(DAYS, np.nan)
    out[(day_of_year(dates) - 1 - calendar.first_day) % DAYS] = kt
    return out


def _own(study, folder):
    """The CSV named in the study's section on logs, as a record of any length."""
    from darkspell.climate.record.csv_series import read_rows
    from darkspell.climate.record.hourly_checks import hourly_record
    from darkspell.climate.record.quality_checks import daily_record, no_duplicates
    from darkspell.climate.record.time_checks import to_site_time

    path, series = Path(folder, study.log.weather_file), study.log.weather_series
    if not path.is_file():
        raise StudyError(f'log.weather_file: "{study.log.weather_file}" is not there; check its path')
    rows = read_rows(path, series)
    if series.step == "daily":
        times = rows.times.astype("datetime64[D]").astype("datetime64[s]")
        return daily_record(study.site, rows, times, *no_duplicates(rows, times, series)[:1], series, [])
    times = to_site_time(rows, series, study.site.utc_offset_h)
    order, faults = no_duplicates(rows, times, series)
    return hourly_record(study.site, rows, times, order, series, faults)


def _downloaded(study, dates, folder):
    from darkspell.climate.record.satellite import downloaded
    from darkspell.study.climate import Satellite

    years = [int(str(date)[:4]) for date in (dates[0], dates[-1])]
    return downloaded(study.site, Satellite(first_year=years[0], last_year=years[1]), folder)
