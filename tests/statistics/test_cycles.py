"""Rainflow counting against the standard's worked example and the PyPI package ``rainflow``."""

from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from darkspell.statistics.rainflow import rainflow, reversals

# ASTM E1049-85, worked example of rainflow counting (figure 6): ranges and counts.
ASTM_SERIES = (-2, 1, -3, 5, -1, 3, -4, 4, -2)
ASTM_COUNTS = {3: 0.5, 4: 1.5, 6: 0.5, 8: 1.0, 9: 0.5}


def test_worked_example_of_the_standard():
    ranges, _, counts = rainflow(ASTM_SERIES)
    found = Counter()
    for span, count in zip(ranges, counts, strict=True):
        found[span] += count
    assert found == ASTM_COUNTS


@given(st.lists(st.integers(-9, 9) | st.integers(-4000, 4000).map(lambda n: n / 16), min_size=3, max_size=60))
@settings(max_examples=300, deadline=None)
def test_agrees_with_the_reference_package(series):
    reference = pytest.importorskip("rainflow")
    # The package counts a flat end as a cycle of range 0; we count none.
    expected = sorted(cycle[:3] for cycle in reference.extract_cycles(np.array(series, float)) if cycle[0])
    found = sorted(zip(*rainflow(series), strict=True))
    np.testing.assert_allclose(np.reshape(found, (-1, 3)), np.reshape(expected, (-1, 3)))


@given(st.lists(st.floats(0, 1), min_size=1, max_size=60))
@settings(deadline=None)
def test_counts_add_up_to_half_the_reversals(series):
    points = reversals(np.array(series))
    assert rainflow(series)[2].sum() == (points.size - 1) / 2
    assert (np.abs(np.diff(np.sign(np.diff(points)))) == 2).all()
