"""Numbers as loggers write them: with units, codes for missing values, decimal commas."""

import re

import numpy as np

from darkspell.core.errors import StudyError
from darkspell.study.errors import shown

NOTHING = frozenset((
    "", "na", "n/a", "nan", "null", "none", "-", "--", "---", "?", "inf", "-inf", "+inf", "err", "error", "overflow",
    "ovr", "nodata", "no data", "missing", "unknown", "unavailable",
))  # fmt: skip
# Written by loggers in place of a value; the four last are no codes where the unit makes them ordinary values.
CODES = (-999.0, -9999.0, -99999.0, 9999.0, 99999.0, 7999.0, -7999.0, 6999.0, -6999.0)
SUFFIX = {"v": 1.0, "mv": 1e-3, "a": 1.0, "ma": 1e-3, "w": 1.0, "kw": 1e3, "%": 1.0, "ah": 1.0, "wh": 1.0, "c": 1.0,
          "°c": 1.0, "degc": 1.0, "k": 1.0, "f": 1.0, "°f": 1.0, "v dc": 1.0, "vdc": 1.0, "adc": 1.0}  # fmt: skip
NUMBER = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([^\d\s].*)?")
LARGEST = 1e9  # in any unit; a square of more would overflow far from its cause
UNREADABLE = 0.05  # share of a column beyond which it is refused


def numbers(path, cells, name, rows, decimal, log, small_unit):
    """Numbers of one column; NaN where there is none.

    Parameters
    ----------
    path : pathlib.Path
    cells : pandas.Series
    name : str
        Of the column.
    rows : callable
        Row of the file of a position in `cells`.
    decimal : str
    log : darkspell.study.log_format.Log
    small_unit : bool
        The column is in thousandths (mA, mV), in which codes such as 7999 are ordinary values.

    Returns
    -------
    values : float64 array
    counts : dict of str to int
        What was set aside, by its kind.

    Raises
    ------
    StudyError
        If more than one cell in twenty is neither number nor known code.
    """
    import pandas as pd

    if pd.api.types.is_numeric_dtype(cells.dtype):
        values, unreadable = cells.to_numpy(float, copy=True), np.zeros(len(cells), bool)
        texts = None
    else:
        texts = cells.fillna("").astype(str).str.strip()
        values, unreadable = _cleaned(texts, decimal)
    words = {code.strip().lower() for code in log.missing if not _is_number(code)}
    named = np.zeros(len(values), bool) if texts is None else texts.str.lower().isin(words).to_numpy()
    unreadable &= ~named
    if unreadable.sum() > UNREADABLE * len(values):
        first = int(np.argmax(unreadable))
        text = str(texts.iloc[first])
        hint = "; decimal commas and points are mixed" if re.fullmatch(r"[+-]?\d+[.,]\d+", text) else ""
        count = int(unreadable.sum())
        raise StudyError(
            f"{path.name}, row {rows(first)}, column {shown(name)}: {shown(text)} is no number{hint}; {count} such "
            f"cell{'' if count == 1 else 's'}: correct them, leave them empty, or list their text under log.missing"
        )
    codes = [code for code in CODES if not (small_unit and abs(code) in (7999.0, 6999.0, 9999.0))]
    codes += [float(code) for code in log.missing if _is_number(code)]
    counts = {"unreadable": int(unreadable.sum())}
    coded = np.isin(values, codes) | named
    counts["code"] = int(coded.sum())
    values[coded] = np.nan
    with np.errstate(invalid="ignore"):
        values[~(np.abs(values) < LARGEST)] = np.nan  # NaN and infinities too
    return values, counts


def _is_number(text):
    try:
        float(text)
    except ValueError:
        return False
    return True


def _cleaned(texts, decimal):
    """Numbers of texts, and which texts are neither numbers nor empty."""
    import pandas as pd

    texts = texts.str.replace("\u2212", "-", regex=False)
    mark = "." if decimal == "," else ","
    grouped = texts.str.fullmatch(rf"\(?[+-]?\d{{1,3}}(?:\{mark}\d{{3}})+(?:\{decimal}\d+)\)?").to_numpy(bool)
    if grouped.any():  # marks between thousands
        texts = texts.where(~grouped, texts.str.replace(mark, "", regex=False))
    plain = texts.str.replace(",", ".", regex=False) if decimal == "," else texts
    values = pd.to_numeric(plain, errors="coerce").to_numpy(float, copy=True)
    rest = np.flatnonzero(np.isnan(values))
    unreadable = np.zeros(len(texts), bool)
    memo = {}
    for at in rest:
        text = plain.iloc[at]
        if text not in memo:
            memo[text] = _one(text)
        values[at], unreadable[at] = memo[text]
    return values, unreadable


def _one(text):
    lower = text.strip('"').strip().lower()
    if lower in NOTHING:
        return np.nan, False
    if re.fullmatch(r"\(\d+\.?\d*\)", lower):  # a spreadsheet's negative number
        return -float(lower[1:-1]), False
    found = NUMBER.fullmatch(lower)
    if found is None:
        return np.nan, True
    unit = (found[2] or "").strip()
    if unit and unit not in SUFFIX:
        return np.nan, True
    return float(found[1]) * SUFFIX.get(unit, 1.0), False
