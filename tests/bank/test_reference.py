"""The compiled step against the same hour written out in NumPy, in double precision."""

import numpy as np
import pytest

from darkspell.bank.chemistry import CHEMISTRIES, chemistry_numbers
from darkspell.bank.step import Controls, step, temperature_terms
from darkspell.benchmark import reference

F = np.float32


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_two_ways_of_writing_the_hour_agree(chemistry):
    """Twenty thousand random hours; a branch may flip where float32 rounds across a threshold: 1 in 1,000."""
    c = chemistry_numbers(chemistry, 24.0)
    rng = np.random.default_rng(12)
    n = 20_000
    soc, on, free = rng.uniform(0, 1, n), rng.integers(0, 2, n), rng.integers(0, 2, n)
    mpp = rng.uniform(0, 20, n) * rng.integers(0, 2, n)
    source = np.where(rng.integers(0, 2, n), 1e6, rng.uniform(0, 0.6, n))
    essential, deferrable = rng.uniform(0, 2, n), rng.uniform(0, 2, n)
    aux, always = (rng.uniform(0, top, n) * rng.integers(0, 2, n) for top in (3, 1))
    peak = (essential + deferrable) * rng.uniform(1, 3, n) + always
    standing, cable, temp = 0.01, 0.05, rng.uniform(-30, 45, n)
    given = [a.astype(F) for a in (soc, on, free, mpp, source, aux, essential, deferrable, always, peak)]
    controls = Controls(F(0.5), F(0.65))
    exact = [a.astype(float) for a in given]
    state, *rest = reference.step(
        exact[:3], (*exact[3:], standing, cable), temp.astype(F).astype(float), controls, c
    )
    theirs = (*state, *rest)
    ours = []
    for *row, t in zip(*given, temp.astype(F), strict=True):
        hour = (*row[3:], F(standing), F(cable))
        state, *rest = step(tuple(row[:3]), hour, temperature_terms(t, c), controls, c)
        ours.append((*state, *rest))
    ours = np.array(ours)
    flipped = np.zeros(n, bool)
    for place, expected in enumerate(theirs):
        flipped |= ~np.isclose(ours[:, place], expected, rtol=1e-4, atol=2e-4)
    assert flipped.mean() < 1e-3
