"""Percentiles from counts against numpy's from the values themselves."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays

from darkspell.statistics.histogram import STEPS, SocHistogram

PERCENTS = (0, 5, 10, 25, 50, 75, 90, 95, 100)
HALF_BIN = 0.5 / STEPS
fractions = st.floats(0, 1, width=32)


@given(arrays(np.float32, array_shapes(min_dims=2, max_dims=2, max_side=12), elements=fractions))
@settings(max_examples=100, deadline=None)
def test_percentiles_are_within_half_a_bin(soc):
    histogram = SocHistogram(soc.shape[0])
    histogram.update(soc)
    exact = np.percentile(soc, PERCENTS, axis=1).T
    np.testing.assert_allclose(histogram.percentiles(PERCENTS), exact, atol=HALF_BIN + 1e-6)


def test_blocks_padding_and_merging_do_not_matter():
    rng = np.random.default_rng(1)
    soc = rng.beta(3, 1, (24, 150)).astype(np.float32)
    whole, first, second = SocHistogram(24), SocHistogram(24), SocHistogram(24)
    whole.update(soc)
    first.update(soc[:, :64])
    second.update(soc[:, 64:128])
    second.update(np.concatenate((soc[:, 128:], soc[:, -1:].repeat(42, axis=1)), axis=1), lanes=22)
    first.merge(second)
    np.testing.assert_array_equal(first.counts, whole.counts)
    assert (whole.counts.sum(axis=1) == 150).all()


def test_out_of_range_is_clipped():
    histogram = SocHistogram(1)
    histogram.update(np.float32([[-0.1, 1.2]]))
    assert histogram.percentiles([0, 100]).tolist() == [[0, 1]]


def test_faults_are_told():
    histogram = SocHistogram(2)
    with pytest.raises(ValueError, match="counted nothing"):
        histogram.percentiles([50])
    with pytest.raises(ValueError, match="3 h"):
        histogram.update(np.zeros((3, 1), np.float32))
    with pytest.raises(ValueError, match="1 states of charge"):
        histogram.update(np.float32([[0.5], [np.nan]]))
