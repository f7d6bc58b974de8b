"""Weather of a log's own dates, where a series, the study's record or a download knows it."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from darkspell.climate.record.record import day_of_year
from darkspell.core.calendar import DAYS
from darkspell.core.constants import constant
from darkspell.core.errors import StudyError
from darkspell.study.files import missing_weather

LEAST_SHARE = 0.8


@dataclass(frozen=True)
class KnownWeather:
    """Weather of the log's dates.

    Parameters
    ----------
    clearness : float64 array [365] or None
        Daily clearness by study day [-], NaN where not known; None if fewer than four days in five are.
    ghi : float64 array [8760] or None
        Global horizontal irradiance by study hour as measured [W/m2], NaN where not known; None without hours.
    level_sd : float
        Relative uncertainty of the record's level [-].
    words : str
        Where it comes from, or that it is not known.
    """

    clearness: np.ndarray | None
    ghi: np.ndarray | None
    level_sd: float
    words: str

    @property
    def known(self):
        """Whether the weather of the dates is known."""
        return self.clearness is not None


NOT_KNOWN = KnownWeather(
    None, None, 0.0, "The weather of these dates is not known; the climate's usual weather is used instead."
)


def known_weather(study, calendar, dates):
    """Weather of the log's dates.

    Parameters
    ----------
    study : darkspell.study.Study
    calendar : darkspell.core.calendar.Calendar
    dates : datetime64[D] array [days]

    Returns
    -------
    KnownWeather

    Raises
    ------
    darkspell.core.errors.StudyError
        If the series named in the study does not cover the log.
    """
    folder = study.folder or "."
    record = None
    if study.log.weather_file is not None:
        record = _own(study, folder)
    elif study.climate.source in ("measured", "satellite"):
        from darkspell.climate.record import record_of

        record = record_of(study, folder)
    found = on_calendar(record, calendar, dates)
    if found is None and study.log.download:
        found = on_calendar(_downloaded(study, dates, folder), calendar, dates)
    if found is None:
        if study.log.weather_file is not None:
            raise StudyError(
                f"log.weather_file: {record.name} covers fewer than four in five of the log's days "
                f"({dates[0]} to {dates[-1]}); give a series that covers them, or leave it out"
            )
        return NOT_KNOWN
    return found


def on_calendar(record, calendar, dates):
    """A record's days on the study's calendar; `KnownWeather`, None where it covers too few of `dates`.

    Parameters
    ----------
    record : darkspell.climate.record.Record or None
    calendar : darkspell.core.calendar.Calendar
    dates : datetime64[D] array [days]
    """
    if record is None:
        return None
    at = np.minimum(np.searchsorted(record.dates, dates), record.dates.size - 1)
    inside = record.dates[at] == dates
    kt = np.where(inside, record.kt[at], np.nan)
    if np.isfinite(kt).mean() < LEAST_SHARE:
        return None
    day = (day_of_year(dates) - 1 - calendar.first_day) % DAYS
    clearness, ghi = np.full(DAYS, np.nan), None
    clearness[day] = kt
    if record.ghi is not None:
        ghi = np.full((DAYS, 24), np.nan)
        ghi[day] = np.where((inside & np.isfinite(kt))[:, None], record.ghi[at], np.nan)
        ghi = ghi.reshape(-1)
    level = constant(
        "log_analysis", "weather_level_sd" if record.ghi is not None else "weather_level_sd_daily"
    )
    return KnownWeather(clearness, ghi, level, f"The weather of these dates comes from {record.name}.")


def _own(study, folder):
    """The CSV named in the study's section on logs, as a record of any length."""
    from darkspell.climate.record.csv_series import read_rows
    from darkspell.climate.record.hourly_checks import hourly_record
    from darkspell.climate.record.quality_checks import daily_record, no_duplicates
    from darkspell.climate.record.time_checks import to_site_time

    path, series = Path(folder, study.log.weather_file), study.log.weather_series
    if not path.is_file():
        raise StudyError(missing_weather(study))
    try:
        rows = read_rows(path, series)
        if series.step == "daily":
            times = rows.times.astype("datetime64[D]").astype("datetime64[s]")
            return daily_record(study.site, rows, times, *no_duplicates(rows, times, series)[:1], series, [])
        times = to_site_time(rows, series, study.site.utc_offset_h)
        order, faults = no_duplicates(rows, times, series)
        return hourly_record(study.site, rows, times, order, series, faults)
    except StudyError as error:
        # The series is described in the section on logs; the reader of records knows only that of the climate.
        raise StudyError(str(error).replace("climate.series", "log.weather_series")) from None


def _downloaded(study, dates, folder):
    from darkspell.climate.record.satellite import downloaded
    from darkspell.study.climate import Satellite

    years = [int(str(date)[:4]) for date in (dates[0], dates[-1])]
    return downloaded(study.site, Satellite(first_year=years[0], last_year=years[1]), folder)
