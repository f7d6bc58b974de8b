"""Designs in columns of ascending banks, tried in the order of what is minimised: first cost, or cost over life.

A design that fails tells that those with no more of anything fail as well, one that meets the targets that
those with no less of anything meet them; so does a plain store. In each column the border is found by
halving, always in that column whose cheapest undecided design is the cheapest of all. What is handed out has been
tried itself, never concluded.
"""

from dataclasses import dataclass, field

import numpy as np

PATIENCE = 8  # failures after which a group's largest design is asked whether any can do; our choice
MOST_TRIED = 120  # designs simulated whole before the search ends; our choice


@dataclass
class Column:
    """Designs of one array, controller and kind of battery, alike in slope and direction.

    Parameters
    ----------
    stack : list of darkspell.design.catalogue.Design
        Banks and prices ascending.
    turned : tuple
        Slope and direction of the arrays.
    here : darkspell.simulation.system.System
        The study turned so.
    low : int
        Place of the last design known to fail; -1 if none is.
    high : int
        Place of the first design that meets the targets, as far as is known; the length of the stack if none.
    given : set of int
        Places at and above `high` that were handed out.
    minimise : str
        "cost" or "life_cycle_cost": attribute of a design.
    """

    stack: list
    turned: tuple
    here: object
    low: int
    high: int = field(init=False)
    given: set = field(default_factory=set)
    minimise: str = "cost"

    def __post_init__(self):
        self.high = len(self.stack)

    def worth(self, place):
        """What is minimised, of one design; a place that was handed out costs without end.

        Parameters
        ----------
        place : int
            Number of the design in the list.
        """
        return np.inf if place in self.given else getattr(self.stack[place], self.minimise)

    @property
    def settled(self):
        """Whether the border is between two neighbours."""
        return self.low + 1 >= self.high

    @property
    def place(self):
        """Of the least costly design that may yet be handed out; the length of the stack if none is left.

        First costs ascend in a column. Costs over life need not: a larger bank may last longer.
        """
        first = self.high if self.settled else self.low + 1
        left = [place for place in range(first, len(self.stack)) if place not in self.given]
        return min(left, key=lambda place: (self.worth(place), place), default=len(self.stack))

    @property
    def price(self):
        """Of that design; infinite if none is left."""
        place = self.place
        return self.worth(place) if place < len(self.stack) else np.inf

    def probe(self):
        """Place of the design whose trial tells most."""
        return self.place if self.settled else (self.low + self.high) // 2

    def fails(self, place):
        """Record that all designs up to a position fail.

        Parameters
        ----------
        place : int
        """
        if place > self.low:
            self.low, self.given = place, set()
            self.high = self.high if self.high > place else len(self.stack)

    def works(self, place):
        """Record that the designs from a position on meet the targets.

        Parameters
        ----------
        place : int
        """
        if self.low < place < self.high:
            self.high, self.given = place, set()


def cheapest_first(columns, meets, wanted):
    """Find the cheapest designs that meet the targets.

    Parameters
    ----------
    columns : list of Column
        Altered on the way.
    meets : callable
        ``meets(design, column)``: whether a design, simulated whole, meets all targets.
    wanted : int
        How many are asked for.

    Returns
    -------
    meeting : list of (Design, Column)
        Cheapest first.
    failed : list of (Design, Column)
        What was tried and failed.
    untried : int
        Designs of which nothing is known when the search ends without one that meets the targets; else 0.
    """
    known, handed, meeting, failed, asked = {}, set(), [], [], set()
    while len(meeting) < wanted and len(known) < MOST_TRIED:
        column = min(columns, key=lambda c: c.price, default=None)
        if column is None or column.price == np.inf:
            break
        place = column.probe()
        if not any(known.values()) and len(failed) >= PATIENCE and column.turned not in asked:
            asked.add(column.turned)
            column = max((c for c in columns if c.turned == column.turned), key=_most)
            place = len(column.stack) - 1
        one = column.stack[place]
        if (one, column.turned) not in known:
            known[one, column.turned] = meets(one, column)
            if not known[one, column.turned]:
                failed.append((one, column))
        if known[one, column.turned]:
            if column.settled and place == column.place:
                column.given.add(place)
                if (one, column.turned) not in handed:
                    handed.add((one, column.turned))
                    meeting.append((one, column))
                continue
            _spread(columns, one, column, Column.works)
        else:
            column.fails(place)
            _spread(columns, one, column, Column.fails)
    untried = 0 if meeting else sum(max(c.high - c.low - 1, 0) for c in columns)
    return meeting, failed, untried


def _spread(columns, one, tried, tell):
    """Tell all columns turned alike what the trial of one design means for them."""
    for column in columns:
        if column.turned != tried.turned:
            continue
        first, banks = column.stack[0], [other.bank_ah for other in column.stack]
        array, limit = np.sign(first.array_wp - one.array_wp), np.sign(_limit(first) - _limit(one))
        if tell is Column.fails and array <= 0 and limit <= 0:
            tell(column, int(np.searchsorted(banks, one.bank_ah, "right")) - 1)
        if tell is Column.works and array >= 0 and limit >= 0:
            tell(column, int(np.searchsorted(banks, one.bank_ah, "left")))


def _most(column):
    last = column.stack[-1]
    return last.array_wp, _limit(last), last.bank_ah


def _limit(one):
    return 1e9 if one.limit_a is None else one.limit_a
