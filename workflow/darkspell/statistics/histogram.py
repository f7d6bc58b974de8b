"""Percentiles by hour of the year from counts, so that memory does not grow with members."""

import numpy as np

from darkspell.core.constants import constant
from darkspell.core.jit import kernel

STEPS = constant("statistics", "histogram_steps")


class SocHistogram:
    """Counts of state of charge in every hour of the year.

    Parameters
    ----------
    hours : int
        Hours of the year.
    steps : int
        Number of steps from empty to full; a bin is centred on each multiple of ``1 / steps``.

    Attributes
    ----------
    counts : ndarray
        Members by hour and bin; int32 [hours, steps + 1].
    """

    def __init__(self, hours=8760, steps=STEPS):
        self.steps = steps
        self.counts = np.zeros((hours, steps + 1), np.int32)

    def update(self, soc, lanes=None):
        """Count one block.

        Parameters
        ----------
        soc : ndarray
            State of charge, a fraction; clipped to 0..1 [-]; float32 [hours, L].
        lanes : int, optional
            How many lanes, from the first, are members; the rest is padding. All by default.

        Raises
        ------
        ValueError
            If the block has another number of hours, or holds what is not a number.
        """
        if soc.shape[0] != self.counts.shape[0]:
            raise ValueError(f"a block of {soc.shape[0]} h met a histogram of {self.counts.shape[0]} h")
        lanes = soc.shape[1] if lanes is None else lanes
        missing = _count(soc, lanes, np.float32(self.steps), self.counts)
        if missing:
            raise ValueError(f"{missing} states of charge are not numbers")

    def merge(self, other):
        """Add the counts of another histogram of the same shape, as from another thread.

        Parameters
        ----------
        other : Histogram
        """
        self.counts += other.counts

    def percentiles(self, percents):
        """Percentiles over members in each hour.

        Parameters
        ----------
        percents : array_like
            Percentiles wanted, 0..100 [%]; shape [Q].

        Returns
        -------
        ndarray
            State of charge, a fraction, within half a bin of numpy's ``linear`` rule [-]; float32 [hours, Q].

        Raises
        ------
        ValueError
            If nothing was counted yet.
        """
        if not self.counts[0].any():
            raise ValueError("percentiles asked of a histogram that has counted nothing")
        shares = np.asarray(percents, float) / 100
        return (_percentiles(self.counts, shares) / self.steps).astype(np.float32)


@kernel
def _count(soc, lanes, steps, counts):
    half, missing = np.float32(0.5), 0
    for h in range(soc.shape[0]):
        for lane in range(lanes):
            place = soc[h, lane] * steps + half
            missing += place != place
            place = place if place > half else half
            counts[h, int(place if place < steps else steps)] += 1
    return missing


@kernel
def _percentiles(counts, shares):
    hours, bins = counts.shape
    out = np.empty((hours, shares.size))
    for h in range(hours):
        total = counts[h].sum()
        for q in range(shares.size):
            place = shares[q] * (total - 1)
            rank = int(np.floor(place))
            at, seen = 0, counts[h, 0]
            while seen <= rank and at < bins - 1:
                at += 1
                seen += counts[h, at]
            above = at
            while seen <= rank + 1 and rank + 1 < total and above < bins - 1:
                above += 1
                seen += counts[h, above]
            out[h, q] = at + (place - rank) * (above - at)
    return out
