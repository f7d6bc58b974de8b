"""The smallest bank that meets the target for each array, without running every design.

All designs meet the same years, so a larger bank leaves less unserved but for rare turns of the cut-off's
thresholds. A few years find where that happens, by halving; all years then decide there, with the neighbours
run too, and the search walks on from them until a design that meets the target is next to one that does not.
"""

from dataclasses import dataclass, replace

import numpy as np

from darkspell.core.batches import LANES
from darkspell.core.calendar import HOURS
from darkspell.design.grid import run_scales

PILOT = 128  # years that find the neighbourhood; two batches, one a thread; our choice


@dataclass(frozen=True)
class Frontier:
    """What was found.

    Parameters
    ----------
    least : int array [columns]
        Place of the smallest bank that meets the target; the number of banks where none does.
    counts : dict of (int, int) to dict of float32 arrays [members]
        Counts of all years, by column and place of the bank, of every design run over all of them.
    runs : int
        Member-years run, pilot included.
    """

    least: np.ndarray
    counts: dict
    runs: int


def target_values(counts, statistic):
    """Values of the target's statistic by member.

    Parameters
    ----------
    counts : dict of arrays [members, designs]
        See `darkspell.design.grid.COUNTS`.
    statistic : str or callable
        Name, or function of the counts.

    Returns
    -------
    array [members, designs]
    """
    if callable(statistic):
        return statistic(counts)
    return counts["lolh"] / HOURS if statistic == "lolp" else counts[statistic]


def find_frontier(system, scales, statistic, at_most, workers=None, judge=None):
    """Find the smallest bank of each column that meets the target on the mean of all members.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    scales : float32 array [columns, banks, 6]
        Factors per Ah (`darkspell.design.grid.scales_of`); banks ascending within each column.
    statistic : str or callable
        One that a target may name, or what `target_values` takes.
    at_most : float
    workers : int, optional
    judge : callable, optional
        From the counts of all members and their parameter draws to whether each design meets the target; the mean
        over members decides without it, and on the few years that find the neighbourhood.

    Returns
    -------
    Frontier
    """
    search = _Search(system, scales, statistic, at_most, workers, judge)
    banks = scales.shape[1]
    pilot = slice(0, min(PILOT, system.members.size))
    low = np.full(len(scales), -1)  # fails, or is below the smallest bank
    high = np.full(len(scales), banks)  # meets, or is above the largest
    while (high - low > 1).any():
        middle = (low + high) // 2
        pairs = [(c, int(middle[c])) for c in np.flatnonzero(high - low > 1)]
        for (c, b), good in zip(pairs, search.meets(pairs, pilot), strict=True):
            low[c], high[c] = (low[c], b) if good else (b, high[c])
    for column, best in enumerate(high):
        search.ask(column, best - 1, best)
    while search.asked:
        for column in search.answer():
            search.widen(column)
    return Frontier(
        np.array([search.least(column) for column in range(len(scales))]), search.counts, search.runs
    )


class _Search:
    """Runs what is asked for once, and remembers it."""

    def __init__(self, system, scales, statistic, at_most, workers, judge=None):
        self.system, self.scales, self.workers = system, scales, workers
        self.statistic, self.at_most, self.judge = statistic, at_most, judge
        self.counts, self.good, self.asked, self.apart, self.runs = {}, {}, [], {}, 0

    def meets(self, pairs, members):
        """Whether the mean over some members meets the target, by design."""
        part = replace(
            self.system,
            members=self.system.members[members],
            parameter_draw=self.system.parameter_draw[members],
        )
        counts = run_scales(part, np.array([self.scales[pair] for pair in pairs]), self.workers)
        self.runs += part.members.size * len(pairs)
        if part.members.size == self.system.members.size:
            for place, pair in enumerate(pairs):
                self.counts[pair] = {name: values[:, place] for name, values in counts.items()}
        means = target_values(counts, self.statistic).astype(float).mean(axis=0)
        self.apart |= dict(zip(pairs, np.abs(means - self.at_most), strict=True))
        if self.judge is not None and part.members.size == self.system.members.size:
            return self.judge(counts, part.parameter_draw)
        return means <= self.at_most

    def ask(self, column, *places):
        """Put designs on the list, unless they are known or there are none."""
        wanted = [(column, int(b)) for b in places if 0 <= b < self.scales.shape[1]]
        self.asked += [pair for pair in wanted if pair not in self.good]

    def answer(self):
        """Run the list over all members; the columns that it touched."""
        pairs, self.asked = self.asked + self.beside(self.asked), []
        self.good |= dict(zip(pairs, map(bool, self.meets(pairs, slice(None))), strict=True))
        return sorted({column for column, _ in pairs})

    def beside(self, pairs):
        """Designs that cost nothing, since lanes come by 64: those most likely to be asked for next.

        Ring by ring the neighbours of what is asked for, first those of the nearest to the target.
        """
        banks, spare, ring = self.scales.shape[1], -len(pairs) % LANES, list(pairs)
        seen, found = {*pairs, *self.good}, []
        while ring and len(found) < spare:
            ring.sort(key=lambda pair: (self.apart.get(pair, np.inf), pair))
            near = [(c, b + step) for c, b in ring for step in (-1, 1) if 0 <= b + step < banks]
            ring = [pair for pair in dict.fromkeys(near) if pair not in seen]
            seen |= set(ring)
            found += ring
        return found[:spare]

    def least(self, column):
        """The smallest bank known to meet the target; one beyond the last if there is none."""
        known = [b for (c, b), good in self.good.items() if c == column and good]
        return min(known, default=self.scales.shape[1])

    def widen(self, column):
        """Ask for the next design where the border is not yet between two that were run."""
        places = sorted(b for c, b in self.good if c == column)
        good = [self.good[column, b] for b in places]
        if all(good):
            self.ask(column, places[0] - 1)
        elif not any(good):
            self.ask(column, places[-1] + 1)
