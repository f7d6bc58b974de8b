"""Read and check the measured series of a study: hourly or daily rows of a CSV file."""

from pathlib import Path

import numpy as np

from darkspell.climate.record.csv_series import read_rows
from darkspell.climate.record.hourly_checks import hourly_record
from darkspell.climate.record.quality_checks import daily_record, no_duplicates
from darkspell.climate.record.time_checks import to_site_time
from darkspell.core.constants import constant
from darkspell.core.errors import StudyError

SECONDS = {"hourly": 3600, "daily": 86400}


def measured(site, climate, base_dir="."):
    """Read and check the series of a study.

    Parameters
    ----------
    site : object
        With `latitude_deg`, `longitude_deg`, `utc_offset_h`.
    climate : darkspell.study.climate.Climate
        `file` and `series` are read.
    base_dir : path
        Folder to which the file name is relative.

    Returns
    -------
    darkspell.climate.record.Record

    Raises
    ------
    StudyError
        With file, row, column and cure.
    """
    path = Path(base_dir, climate.file)
    if not path.is_file():
        raise StudyError(
            f'climate.file: "{climate.file}" is not there; check its path, relative to the study file'
        )
    series = climate.series
    rows = read_rows(path, series)
    hourly = series.step == "hourly"
    times = (
        to_site_time(rows, series, site.utc_offset_h)
        if hourly
        else rows.times.astype("datetime64[D]").astype("datetime64[s]")
    )
    order, faults = no_duplicates(rows, times, series)
    _check_step(rows, times[order], series)
    make = hourly_record if hourly else daily_record
    record = make(site, rows, times, order, series, faults)
    _check_length(record)
    return record


def _check_step(rows, times, series):
    """Refuse a series whose rows are not an hour, or a day, apart."""
    if times.size < 2:
        raise StudyError(f"{rows.name}: holds one row; a series has many")
    usual = int(np.median(np.diff(times).astype(int)))
    if usual != SECONDS[series.step]:
        apart = f"{usual / 60:g} minutes" if usual < 7200 else f"{usual / 3600:g} hours"
        other = {3600: "hourly", 86400: "daily"}.get(usual)
        cure = f"give climate.series.step: {other}" if other else "average them to hours or days first"
        raise StudyError(
            f"{rows.name}: its rows are {apart} apart, and climate.series.step is {series.step}; {cure}"
        )


def _check_length(record):
    """Refuse a record that has days in too few calendar months."""
    days, fewest = constant("record", "fewest_in_month"), constant("record", "fewest_months")
    measured = (np.bincount(record.month[np.isfinite(record.kt)], minlength=12) >= days).sum()
    if measured < fewest:
        raise StudyError(
            f"{record.name}: {record.dates.size} days, {record.dates[0]} to {record.dates[-1]}; {measured} of the "
            f"twelve calendar months have {days} good days, all years together, and {fewest} such months are needed; "
            f"the others are filled. {' '.join(record.sentences()[:2])} Give more days, twelve values with "
            "climate.source: monthly, or climate.source: atlas"
        )
