"""The search for the cheapest design that meets the targets, against a look at every design."""

from dataclasses import dataclass

import numpy as np
import pytest

from darkspell.design.catalogue_search import MOST_TRIED, Column, cheapest_first


@dataclass(frozen=True)
class Piece:
    """What the search reads of a design."""

    array_wp: float
    bank_ah: float
    limit_a: float | None
    cost: float


def shop(chance, arrays=6, banks=9):
    """Columns of random prices that ascend with the bank, in two slopes and with two controllers."""
    columns = []
    for turned in ("flat", "steep"):
        for array in range(1, arrays + 1):
            for limit in (20.0, None):
                costs = np.cumsum(chance.integers(1, 40, banks)) + 60 * array + (0 if limit else 30)
                stack = [
                    Piece(array, 100.0 * n, limit, float(c))
                    for n, c in zip(range(1, banks + 1), costs, strict=True)
                ]
                columns.append(Column(stack, turned, None, -1))
    return columns


@pytest.mark.parametrize("seed", range(40))
def test_it_hands_out_the_cheapest_in_their_order(seed):
    """For demands that grow with none of array, bank and controller; and it tries few."""
    chance = np.random.default_rng(seed)
    columns = shop(chance)
    need = {"flat": chance.uniform(2, 50), "steep": chance.uniform(2, 50)}
    clipped, tried = chance.uniform(0.6, 1.0), []

    def meets(one, column):
        tried.append(one)
        array = one.array_wp if one.limit_a is None else clipped * one.array_wp
        return array * one.bank_ah / 100.0 >= need[column.turned]

    good = sorted(one.cost for c in columns for one in c.stack if meets(one, c))
    tried.clear()
    meeting, failed, untried = cheapest_first(columns, meets, 4)
    assert [one.cost for one, _ in meeting] == good[:4]
    assert untried == 0 and len(tried) == len(set(map(id, tried))) <= 90
    assert all(not meets(one, column) for one, column in failed)


def test_nothing_on_the_list_is_said_only_when_the_list_is_through():
    """Where every design fails the end is reached in few trials; where trials run out, what is open is told."""
    columns = shop(np.random.default_rng(1))
    meeting, failed, untried = cheapest_first(columns, lambda one, column: False, 4)
    assert not meeting and untried == 0 and len(failed) <= 48
    many = [
        Column(shop(np.random.default_rng(n))[0].stack[:1], str(n), None, -1) for n in range(MOST_TRIED + 7)
    ]
    meeting, failed, untried = cheapest_first(many, lambda one, column: False, 4)
    assert not meeting and len(failed) == MOST_TRIED and untried == 7
