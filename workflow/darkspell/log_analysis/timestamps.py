"""Times of a log: ISO 8601 read straight from a file's bytes, other formats through pandas.

Ten million texts need not become objects: `first_column_stamps` reads the usual form from the bytes.
"""

import re

import numpy as np
from numba import njit

from darkspell.core.errors import StudyError
from darkspell.study.errors import shown

UNREADABLE = 0.01  # share of rows beyond which the times are refused
SECONDS = (1e8, 1e10)  # of 1973 to 2286, since 1970
MILLISECONDS = (1e11, 1e13)
SERIAL = (36526.0, 62092.0)  # days of spreadsheets since 30 December 1899, of 2000 to 2069
SERIAL_TEXT = r"\d{5}[.,]\d+"
EPOCH_OF_SERIAL = 25569.0  # 1970-01-01
OFFSET = r"\d\s?(?:Z|[+-]\d\d:?\d\d)$"
COMMON = (
    "ISO8601", "%Y/%m/%d %H:%M:%S", "%Y/%m/%d %H:%M", "%Y%m%d %H:%M:%S", "%Y%m%d %H:%M",
    "%Y%m%d%H%M%S", "%Y%m%d %H%M", "%Y %m %d %H %M %S", "%Y %m %d %H %M", "%Y %m %d %H",
    "%Y-%m-%d %I:%M:%S %p", "%Y-%m-%d %I:%M %p", "%Y/%m/%d %I:%M:%S %p", "%Y/%m/%d %I:%M %p",
    "%d-%b-%Y %H:%M:%S", "%d-%b-%Y %H:%M", "%d %b %Y %H:%M:%S", "%d %b %Y %H:%M", "%b %d, %Y %H:%M:%S",
    "%b %d, %Y %H:%M",
)  # fmt: skip


def looks_like_time(text, form=None):
    """Whether a text may be a time of day and date, or seconds since 1970."""
    import pandas as pd

    text = _usual(text)
    if re.fullmatch(rf"\d{{9,14}}(\.\d*)?|{SERIAL_TEXT}", text):
        return True
    if form in ("seconds", "milliseconds"):
        return False
    forms = COMMON if form is None else (form,)
    return any(pd.notna(pd.to_datetime(text, format=one, errors="coerce", utc=True)) for one in forms) or (
        form is None and re.fullmatch(r"\d{1,4}[./-]\d{1,2}[./-]\d{1,4}.*", text) is not None
    )


def parsed_times(path, texts, name, log, rows):
    """Seconds since 1970 of a column of texts.

    Parameters
    ----------
    path : pathlib.Path
    texts : pandas.Series of str
    name : str
        Of the column, for the message.
    log : darkspell.study.log_format.Log
    rows : callable
        Row of the file of a position in `texts`.

    Returns
    -------
    seconds : float64 array
        NaN where a text is no time.
    utc : bool
        Whether they are UTC, by their own offset or by counting since 1970; else they are as written.
    form : str
        "ISO8601", "seconds", "milliseconds", "days" of a spreadsheet or the study's format.

    Raises
    ------
    StudyError
        If more than one text in a hundred is no time, or some carry an offset and others do not.
    """
    import pandas as pd

    texts = texts.map(_usual) if _unusual(texts) else texts
    form = log.time_format or _form_of(texts)
    if form == "days":
        values = pd.to_numeric(texts.str.replace(",", ".", regex=False), errors="coerce").to_numpy(float)
        with np.errstate(invalid="ignore"):
            values = np.where((values >= SERIAL[0]) & (values < SERIAL[1]), values, np.nan)
        _refuse(path, texts, np.isnan(values), name, log, rows)
        return np.round((values - EPOCH_OF_SERIAL) * 86400.0), False, form
    if form in ("seconds", "milliseconds"):
        values = pd.to_numeric(texts, errors="coerce").to_numpy(float) / (
            1000.0 if form == "milliseconds" else 1.0
        )
        low, high = SECONDS
        with np.errstate(invalid="ignore"):
            values = np.where((values >= low) & (values < high), np.floor(values), np.nan)
        _refuse(path, texts, np.isnan(values), name, log, rows)
        return values, True, form
    offset = texts.str.contains(OFFSET, regex=True).to_numpy(bool)
    found = pd.to_datetime(texts, format=form, errors="coerce", utc=True)
    bad = np.array(found.isna(), bool)
    whole = np.where(bad, np.nan, found.dt.as_unit("s").astype("int64").to_numpy())
    with np.errstate(invalid="ignore"):
        bad |= ~((whole >= 0.0) & (whole < SECONDS[1]))
    _refuse(path, texts, bad, name, log, rows)
    known = offset[~bad]
    if known.any() and not known.all():
        good = np.flatnonzero(~bad)
        first = int(good[np.argmax(known != known[0])])
        raise StudyError(
            f"{path.name}, row {rows(first)}: some times carry an offset from UTC, others do not; export them alike"
        )
    seconds = np.full(len(texts), np.nan)
    seconds[~bad] = whole[~bad]
    return seconds, bool(known.size and known.all()), form


def _unusual(texts):
    """Whether any text has an hour 24, or a.m. or p.m. with points."""
    return bool(texts.str.contains(r"[ T]24:00|[ap]\.\s?m\.?", case=False, regex=True).any())


def _usual(text):
    """A time with AM and PM without points, and 24:00 as the beginning of the next day."""
    text = re.sub(r"\s*\b([ap])\.\s?m\.?", lambda found: f" {found[1].upper()}M", text, flags=re.IGNORECASE)
    found = re.fullmatch(r"(\d{4}-\d\d-\d\d)[ T]24:00(:00)?", text)
    if not found:
        return text
    try:
        return f"{np.datetime64(found[1]) + 1} 00:00{found[2] or ''}"
    except ValueError:
        return text


def _form_of(texts):
    """Format of the times by the first of them."""
    import pandas as pd

    sample = texts[texts != ""].head(50)
    numbers = pd.to_numeric(sample, errors="coerce")
    if (
        sample.size
        and numbers.notna().mean() > 0.9
        and sample.str.fullmatch(r"\d{9,14}(\.\d*)?").mean() > 0.9
    ):
        middle = float(numbers.median())
        if MILLISECONDS[0] <= middle < MILLISECONDS[1]:
            return "milliseconds"
        if SECONDS[0] <= middle < SECONDS[1]:
            return "seconds"
    if sample.size and sample.str.fullmatch(SERIAL_TEXT).mean() > 0.5:
        return "days"
    for form in COMMON:
        if pd.to_datetime(sample, format=form, errors="coerce", utc=True).notna().mean() > 0.9:
            return form
    return "ISO8601"


def _likely_format(text):
    """A format that a text may have, as a hint; empty if none is known."""
    found = re.match(r"\d{1,2}([./-])\d{1,2}[./-]\d{4}\s+(\d{1,2}:\d\d)(:\d\d)?(\s*[AaPp][Mm])?$", text)
    if not found:
        return ""
    mark, _, seconds, half = found.groups()
    clock = ("%I:%M" if half else "%H:%M") + (":%S" if seconds else "") + (" %p" if half else "")
    return f', such as "%d{mark}%m{mark}%Y {clock}" (day first) or "%m{mark}%d{mark}%Y {clock}" (month first)'


def _refuse(path, texts, bad, name, log, rows):
    if bad.sum() <= UNREADABLE * bad.size:
        return
    first, count = int(np.argmax(bad)), int(bad.sum())
    given = "" if log.time_format else " in ISO 8601"
    hint = "" if log.time_format else _likely_format(texts.iloc[first])
    raise StudyError(
        f"{path.name}, row {rows(first)}, column {shown(name)}: {shown(texts.iloc[first])} is no time{given}; "
        f"{count} such cell{'' if count == 1 else 's'} in this part: correct them, or set log.time_format{hint}"
    )


def first_column_stamps(block):
    """Seconds since 1970 of each line whose first cell is a plain ISO time to the minute or second.

    Parameters
    ----------
    block : bytes
        Whole lines, without a header.

    Returns
    -------
    int64 array [lines] or None
        None unless every line begins with such a time, without fraction or offset.
    """
    data = np.frombuffer(block, np.uint8)
    out = np.empty(block.count(b"\n") + 1, np.int64)
    lines = _walk(data, out)
    return out[:lines] if lines > 0 else None


@njit(cache=True, nogil=True, error_model="numpy")
def _walk(data, out):
    """Fill `out`; how many lines, -1 if one of them is not so."""
    at, lines, size = 0, 0, data.size
    while at < size:
        if at + 17 > size or not _shaped(data, at):
            return -1
        end = at + 16
        second = 0
        if data[end] == 58:  # a colon: seconds follow
            if at + 20 > size or not (_digit(data[end + 1]) and _digit(data[end + 2])):
                return -1
            second = _two(data, end + 1)
            end += 3
        if data[end] != 44 and data[end] != 59 and data[end] != 9:
            return -1
        year, month, day = 100 * _two(data, at) + _two(data, at + 2), _two(data, at + 5), _two(data, at + 8)
        hour, minute = _two(data, at + 11), _two(data, at + 14)
        if (
            month < 1
            or month > 12
            or day < 1
            or day > _length(year, month)
            or hour > 23
            or minute > 59
            or second > 59
        ):
            return -1
        out[lines] = _days(year, month, day) * 86400 + hour * 3600 + minute * 60 + second
        lines += 1
        while at < size and data[at] != 10:
            at += 1
        at += 1
    return lines


@njit(nogil=True, inline="always")
def _digit(byte):
    return byte >= 48 and byte <= 57


@njit(nogil=True, inline="always")
def _two(data, at):
    return 10 * (np.int64(data[at]) - 48) + np.int64(data[at + 1]) - 48


@njit(nogil=True)
def _shaped(data, at):
    """Whether ``0000-00-00 00:00`` stands there."""
    for place in range(16):
        byte = data[at + place]
        if place == 4 or place == 7:
            good = byte == 45
        elif place == 10:
            good = byte == 32 or byte == 84
        elif place == 13:
            good = byte == 58
        else:
            good = _digit(byte)
        if not good:
            return False
    return True


@njit(nogil=True)
def _length(year, month):
    if month == 2:
        leap = (year % 4 == 0 and year % 100 != 0) or year % 400 == 0
        return 29 if leap else 28
    return 30 if month == 4 or month == 6 or month == 9 or month == 11 else 31


@njit(nogil=True)
def _days(year, month, day):
    """Days from 1970-01-01 in the proleptic Gregorian calendar."""
    y = year - 1 if month <= 2 else year
    shifted = month - 3 if month > 2 else month + 9  # March first, so that the leap day ends the year
    return 365 * y + y // 4 - y // 100 + y // 400 + (153 * shifted + 2) // 5 + day - 1 - 719468
