"""Measured hours of power from a CSV file: of a load, or of a turbine."""

import csv
from pathlib import Path

import numpy as np

from darkspell.core.errors import StudyError

MOST_DAYS = 366 * 40
HIGHEST_W = 200_000.0


def measured_series(study, key, name):
    """Hourly mean power from a file next to the study file.

    Parameters
    ----------
    study : darkspell.study.Study
    key : str
        Dotted key that names the file, for messages.
    name : str
        The file, relative to the study's folder.

    Returns
    -------
    float32 array [days, 24]
        [W]; years of 8784 hours lose their 29 February.

    Raises
    ------
    StudyError
        With the row, for anything but whole days of watts.
    """
    path = Path(study.folder or ".", name)
    try:
        with path.open(newline="", encoding="utf-8-sig") as file:
            rows = list(csv.reader(line for line in file if line.strip()))
    except (OSError, ValueError, csv.Error) as error:
        why = getattr(error, "strerror", None) or error
        raise StudyError(f'{key}: "{name}" cannot be read ({why}); check the path') from None
    watts = [_watts(key, name, number, row) for number, row in enumerate(rows[1:], start=2)]
    if not watts or len(watts) % 24 or len(watts) > MOST_DAYS * 24:
        text = f'"{name}" has {len(watts)} hours; give whole days: a heading, then 24 rows a day'
        raise StudyError(f"{key}: {text}")
    days = np.array(watts, np.float32).reshape(-1, 24)
    return np.delete(days, 59, axis=0) if len(days) == 366 else days


def _watts(key, name, number, row):
    try:
        watts = float(row[-1])
    except (ValueError, IndexError):
        watts = np.nan
    if not 0.0 <= watts <= HIGHEST_W:
        shown = row[-1][:40] if row else ""
        text = f'"{name}", row {number}: {shown!r} is no power; give watts from 0 to {HIGHEST_W:,.0f}'
        raise StudyError(f"{key}: {text}")
    return watts
