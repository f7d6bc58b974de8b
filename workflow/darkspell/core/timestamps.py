"""Times as texts of a file: read as a whole column, or refused by row with the cause and the cure."""

import re
from datetime import datetime

import numpy as np

from darkspell.core.errors import StudyError

OFFSET = r"\d\s?(?:Z|[+-]\d\d:?\d\d)$"
FIRST_YEAR, LAST_YEAR = 1900, 2200  # of times given as seconds since 1970
MILLISECONDS = re.compile(r"\d{12,14}(\.\d*)?")
EPOCH = re.compile(r"-?\d{9,10}(\.\d*)?")


def format_fault(text):
    """What is wrong with a time format.

    Parameters
    ----------
    text : str
        Such as ``"%d.%m.%Y %H:%M"``.

    Returns
    -------
    str or None
        A sentence, or None if times can be read with it.
    """
    try:
        datetime.strptime("", text)
    except re.error:
        return "names one part of the time twice; name each once"
    except ValueError as error:
        if "does not match format" not in str(error):
            return 'is no time format; give one such as "%d.%m.%Y %H:%M" (%Y year, %m month, %d day)'
    except IndexError:
        return "ends with a lone %; remove it"
    return None if re.search("%[A-Za-z]", text) else "has no part such as %Y or %H in it"


def read_times(words, form=None):
    """Times of a column of texts.

    Parameters
    ----------
    words : pandas.Series of str
    form : str, optional
        Time format; ISO 8601 if not given.

    Returns
    -------
    datetime64[s] array [rows]
        UTC where the text has an offset, else as written; NaT where it is no time.
    bool array [rows]
        Whether the text has an offset of its own.

    Raises
    ------
    StudyError
        If the format is none; without the name of the file.
    """
    import pandas as pd

    fault = form and format_fault(form)
    if fault:
        raise StudyError(f'time format "{form}" {fault}')
    offset = words.str.contains(OFFSET, regex=True).to_numpy(bool) & words.str.contains(":").to_numpy(bool)
    try:
        times = pd.to_datetime(words, format=form or "ISO8601", errors="coerce", utc=True)
    except (ValueError, OverflowError) as error:
        raise StudyError(f'time format "{form}" cannot be used ({str(error)[:80]})') from None
    times = times.dt.tz_localize(None).to_numpy().astype("datetime64[s]")
    digits = words.str.contains(r"\d").to_numpy(bool)  # pandas reads "now" as a time
    return np.where(digits, times, np.datetime64("NaT")), offset


def read_epoch(words):
    """Times of a column of texts that count seconds since 1970; UTC, NaT where there is no such number.

    Parameters
    ----------
    words : pandas.Series of str

    Returns
    -------
    datetime64[s] array [rows]
    """
    import pandas as pd

    seconds = pd.to_numeric(words, errors="coerce").to_numpy(float)
    first, last = (np.datetime64(f"{year}-01-01", "s").astype(float) for year in (FIRST_YEAR, LAST_YEAR))
    good = (seconds >= first) & (seconds < last)
    whole = np.floor(np.where(good, seconds, 0.0)).astype("datetime64[s]")
    return np.where(good, whole, np.datetime64("NaT"))


def time_cure(text):
    """What to do about a text that was not read as a time.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
        The beginning of a cure, or "".
    """
    if MILLISECONDS.fullmatch(text):
        return "it looks like milliseconds since 1970: divide by 1000 and use time_format: seconds"
    if EPOCH.fullmatch(text):
        return "it looks like seconds since 1970: use time_format: seconds"
    return ""
