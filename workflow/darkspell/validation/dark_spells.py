"""Dark spells and what else of a daily record decides the loss of load, counted.

A dark spell is a run of days with a clearness below 0.3; it is counted within the four darkest calendar months
that follow one another (November to February, May to August south of the equator), winter by winter.
"""

from dataclasses import dataclass

import numpy as np

THRESHOLD = 0.3  # of the project's statistics of measured stations
LONGEST_COUNTED = 11
WINTER_DAYS = 120


@dataclass(frozen=True)
class Spells:
    """Dark spells of some winters.

    Parameters
    ----------
    counts : int array [11]
        Runs of 1, 2, ... 10 days and of 11 or more.
    longest : int array [winters]
        Longest run of each winter [days].
    share : float
        Of winter days that are dark [-].
    mean : float
        Mean length of a run [days].
    winters : int
    """

    counts: np.ndarray
    longest: np.ndarray
    share: float
    mean: float
    winters: int


def winters(dates, kt, latitude):
    """Daily clearness of each whole winter of a record.

    Parameters
    ----------
    dates : datetime64[D] array [days]
        Without a break, 29 February left out.
    kt : float array [days]
        NaN where not known.
    latitude : float
        Degrees.

    Returns
    -------
    float64 array [winters, 120]
    """
    first = 11 if latitude >= 0 else 5
    month = dates.astype("datetime64[M]").astype(int) % 12 + 1
    day = (dates - dates.astype("datetime64[M]")).astype(int) + 1
    starts = np.flatnonzero((month == first) & (day == 1))
    length = WINTER_DAYS if latitude >= 0 else WINTER_DAYS + 3
    return np.array([kt[at : at + length] for at in starts if at + length <= kt.size])


def spells(rows):
    """Dark spells of winters.

    Parameters
    ----------
    rows : float array [winters, days]
        Daily clearness; a day that is not known ends a run.

    Returns
    -------
    Spells
    """
    rows = np.atleast_2d(rows)
    dark = rows < THRESHOLD
    lengths, longest = [], np.zeros(len(rows), int)
    for at, row in enumerate(dark):
        edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(int), [0]])))
        runs = edges[1::2] - edges[::2]
        lengths.append(runs)
        longest[at] = runs.max(initial=0)
    runs = np.concatenate(lengths) if lengths else np.zeros(0, int)
    counts = np.bincount(np.minimum(runs, LONGEST_COUNTED), minlength=LONGEST_COUNTED + 1)[1:]
    known = np.isfinite(rows).sum()
    return Spells(
        counts=counts,
        longest=longest,
        share=float(dark.sum() / max(known, 1)),
        mean=float(runs.mean()) if runs.size else float("nan"),
        winters=len(rows),
    )


def autocorrelation(rows, lags):
    """Autocorrelation of daily clearness; rows are parts of one series, or members.

    Parameters
    ----------
    rows : float array [..., days]
        Normal scores, or values less their mean; NaN where not known.
    lags : sequence of int

    Returns
    -------
    float64 array [lags]
    """
    variance = np.nanmean(rows**2)
    return np.array([np.nanmean(rows[..., lag:] * rows[..., :-lag]) for lag in lags]) / variance
