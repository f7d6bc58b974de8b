"""Calendar months without measured days, filled from a default climate and the neighbouring months.

The atlas errs alike in neighbouring months: the logarithm of record over atlas is interpolated between the measured
months on both sides of a gap. Its change from month to month is taken for a random walk, so that the error inside a
gap of `n` months, at month `j`, has the variance ``c^2 j (n + 1 - j) / (n + 1)`` of a Brownian bridge.
"""

from dataclasses import dataclass

import numpy as np

from darkspell.core.calendar import MONTH_NAMES
from darkspell.core.constants import constant

MONTHS = 12


@dataclass(frozen=True)
class Gaps:
    """Position of each calendar month between the measured months next to it, round the year.

    Parameters
    ----------
    before, after : int arrays [12]
        Nearest measured month at or before each month, and after it; of a measured month itself and the next.
    share : float64 array [12]
        Distance from `before` over the length of the gap; 0 for measured months [-].
    length : float64 array [12]
        Months from `before` to `after`.
    """

    before: np.ndarray
    after: np.ndarray
    share: np.ndarray
    length: np.ndarray

    @property
    def own_part(self):
        """Squared weights of both neighbours; 1 for measured months; float64 [12]."""
        return self.share**2 + (1.0 - self.share) ** 2

    @property
    def bridge(self):
        """Variance of a random walk of unit steps, fixed at both ends; 0 for measured months; float64 [12]."""
        return self.share * (1.0 - self.share) * self.length


def empty_months(record):
    """Calendar months with too few good days, all years together; days of polar night count as good.

    Parameters
    ----------
    record : darkspell.climate.record.Record

    Returns
    -------
    bool array [12]
    """
    good = np.isfinite(record.kt) | record.dark
    days = np.bincount(record.month[good], minlength=MONTHS)
    return days < constant("record", "fewest_in_month")


def gaps(empty):
    """Gaps of a year.

    Parameters
    ----------
    empty : bool array [12]
        At least one month is measured.

    Returns
    -------
    Gaps
    """
    every = np.arange(MONTHS)
    measured = np.flatnonzero(~np.asarray(empty))
    back = np.array([((month - measured) % MONTHS).min() for month in every])
    ahead = np.array([((measured - month - 1) % MONTHS).min() + 1 for month in every])
    length = (back + ahead).astype(float)
    return Gaps((every - back) % MONTHS, (every + ahead) % MONTHS, back / length, length)


def interpolated(kt, atlas, empty):
    """Monthly means, those of empty months by interpolation of the ratio to the atlas.

    Parameters
    ----------
    kt, atlas : float arrays [12]
        Mean clearness of the record (of empty months unused) and of the atlas [-].
    empty : bool array [12]

    Returns
    -------
    float64 array [12]
        [-].
    """
    return np.where(empty, atlas * np.exp(across(np.log(kt / atlas), empty)), kt)


def across(values, empty):
    """Monthly values, those of empty months by linear interpolation round the year.

    Parameters
    ----------
    values : float array [12]
        Those of empty months are unused.
    empty : bool array [12]

    Returns
    -------
    float64 array [12]
    """
    between = gaps(empty)
    filled = (1.0 - between.share) * values[between.before] + between.share * values[between.after]
    return np.where(empty, filled, values)


def month_sd(measured_sd, empty):
    """Standard deviation of the logarithm of monthly means, without what is common to all months.

    Parameters
    ----------
    measured_sd : float
        Of the measured months.
    empty : bool array [12]

    Returns
    -------
    float64 array [12]
    """
    between = gaps(empty)
    step = constant("climate", "atlas_month_step_sd")
    return np.sqrt(measured_sd**2 * between.own_part + step**2 * between.bridge)


def sentences(empty, sd):
    """What was done about empty months, in words.

    Parameters
    ----------
    empty : bool array [12]
    sd : float array [12]
        From `month_sd`.

    Returns
    -------
    list of str
        Empty without such months.
    """
    if not np.any(empty):
        return []
    names = ", ".join(MONTH_NAMES[month] for month in np.flatnonzero(empty))
    return [
        f"Too few measured days in {names}: the mean there is that of the built-in atlas times the ratio of record "
        f"and atlas in the measured months next to it, the mix of days that of the climate. It is uncertain by up to "
        f"{100.0 * np.max(sd[empty]):.0f} % (one standard deviation) more than the year; days measured in these "
        "months, of any year, would tell."
    ]
