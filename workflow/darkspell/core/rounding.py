"""Rounding of what is written, so that hashes are the same wherever it was computed."""

import numpy as np

DIGITS = 6
LEAST_SHOWN = 0.0001  # smaller numbers, of hours or nights a year, mean nothing to a reader


def significant(values, digits=DIGITS):
    """Round to significant digits.

    Parameters
    ----------
    values : array_like
        Numbers of any unit; not a number stays so.
    digits : int
        Digits kept.

    Returns
    -------
    ndarray
        float64, of the same shape; int64 where every number is whole.
    """
    values = np.asarray(values, float)
    with np.errstate(divide="ignore", invalid="ignore"):
        magnitude = np.floor(np.log10(np.abs(values)))
    places = digits - 1 - np.where(np.isfinite(magnitude), magnitude, 0)
    # Two powers of ten, both whole: 10.0 ** -k is inexact.
    up, down = 10.0 ** np.maximum(places, 0), 10.0 ** np.maximum(-places, 0)
    rounded = np.round(values / down * up) / up * down + 0.0
    whole = np.isfinite(rounded).all() and (rounded == np.floor(rounded)).all()
    return rounded.astype(np.int64) if whole else rounded


def readable(value, digits=3):
    """A number in words of a terminal: no powers of ten, and nothing smaller than a ten-thousandth.

    Parameters
    ----------
    value : float
    digits : int
        Significant digits.

    Returns
    -------
    str
    """
    if value and abs(value) < LEAST_SHOWN:
        return f"<{LEAST_SHOWN:g}" if value > 0 else f">-{LEAST_SHOWN:g}"
    text = f"{value:.{digits}g}"
    return f"{float(text):,.0f}" if "e" in text else text


def jsonable(value, digits=DIGITS):
    """Round a number for JSON.

    Parameters
    ----------
    value : float
    digits : int
        Significant digits.

    Returns
    -------
    float or None
        None where the number is not finite.
    """
    return float(significant(value, digits)) if np.isfinite(value) else None
