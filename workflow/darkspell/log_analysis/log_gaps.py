"""Gaps between the rows of a log, and whether logging stops by night."""

from dataclasses import dataclass

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.reader import stamp

GAP_H = 1.5


@dataclass(frozen=True)
class Gaps:
    """Gaps of an hour and a half or more between rows.

    Parameters
    ----------
    count, dark : int
        All gaps, and those that begin by night.
    hours, share : float
        Their length together [h], and over the length of the log [-].
    nights, nights_stopped : int
        Nights of the log, and those in which a gap begins.
    by_night : bool
        Whether more gaps begin by night than chance explains, in enough nights to matter.
    longest : (str, str)
        Times between which the longest lies; empty without gaps.
    """

    count: int
    dark: int
    hours: float
    share: float
    nights: int
    nights_stopped: int
    by_night: bool
    longest: tuple = ("", "")


def gaps(seconds, hours, dark):
    """Gaps between rows, and whether logging stops by night; `Gaps`.

    Parameters
    ----------
    seconds : float64 [rows]
        Time of each row [s].
    hours : LogHours
    dark : bool array [H]
        Hours without sun.
    """
    from scipy.stats import binomtest

    first = hours.dates[0].astype("datetime64[s]").astype(float)
    step = np.diff(seconds)
    usual = float(np.median(step))
    wide = np.flatnonzero(step > max(3600.0 * GAP_H, 3.0 * usual))
    begun = ((seconds[wide] + usual - first) // 3600.0).astype(int)
    begun = begun[(begun >= 0) & (begun < dark.size)]
    by_night = begun[dark[begun]]
    # A night has the number of the noon before it.
    stopped, nights = np.unique((by_night - 12) // 24).size, max(hours.dates.size, 1)
    chance = 1.0
    if begun.size and 0.0 < dark.mean() < 1.0:
        chance = binomtest(by_night.size, begun.size, float(dark.mean()), alternative="greater").pvalue
    sure = chance < constant("log_analysis", "night_gap_chance")
    lost = float((step[wide] - usual).sum())
    at = wide[np.argmax(step[wide])] if wide.size else None
    return Gaps(
        int(wide.size), int(by_night.size), lost / 3600.0, lost / float(seconds[-1] - seconds[0]), nights,
        int(stopped), bool(sure and stopped >= constant("log_analysis", "night_gap_share") * nights),
        ("", "") if at is None else (stamp(seconds[at]), stamp(seconds[at + 1])),
    )  # fmt: skip
