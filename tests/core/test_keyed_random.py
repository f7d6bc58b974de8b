"""Keyed draws: known answers, distribution, independence of batches."""

import numpy as np
from scipy import stats

from darkspell.core.keyed_random import (
    normal_table,
    normals,
    philox,
    philox_lanes,
    quick_normals,
    short_philox,
    stream_key,
    uniforms,
)


def test_philox_known_answer():
    """Random123's known-answer file, philox4x32-10, all zeros (memory, and equal to what this code gave)."""
    words = philox(np.uint64(0), 0, 0)
    assert [int(w) for w in words] == [0x6627E8D5, 0xE169C58D, 0xBC57AC4C, 0x9B00DBD8]


def test_short_philox_known_answer():
    """The same file, philox4x32-7, all zeros (memory, and equal to what this code gave)."""
    words = short_philox(np.uint64(0), 0, 0)
    assert [int(w) for w in words] == [0x5F6FB709, 0x0D893F64, 0x4F121F81, 0x4F730A48]


def test_many_members_at_once_have_the_same_words():
    key, members = stream_key(3, "a/b"), np.array([0, 1, 77, 2**31, 2**40 + 5])
    words = np.empty((4, members.size), np.uint32)
    for index in (0, 5, 2**33 + 1):
        philox_lanes(key, index, members, words)
        assert words.T.tolist() == [list(map(int, philox(key, index, member))) for member in members]


def test_philox_words_are_even():
    """The words of one member fill the 32 bits evenly."""
    bits = np.array([philox(stream_key(1, "a/b"), i, 7) for i in range(4000)], dtype=np.uint64).ravel()
    assert stats.kstest(bits / 2.0**32, "uniform").pvalue > 1e-3


def test_uniforms_and_normals_are_distributed_as_they_say():
    """Kolmogorov-Smirnov at one per mille, on keys fixed here."""
    key = stream_key(0, "test/one")
    assert stats.kstest(uniforms(key, 0, 20_000), "uniform").pvalue > 1e-3
    assert stats.kstest(normals(key, 1, 20_000), "norm").pvalue > 1e-3
    out = np.empty(20_000)
    quick_normals(key, 0, 2, normal_table(), out)
    assert stats.kstest(out, "norm").pvalue > 1e-3
    assert abs(out.std() - 1.0) < 0.02


def test_streams_members_and_seeds_differ_and_repeat():
    """Every part of the key matters; the length asked for does not."""
    base = normals(stream_key(0, "sky/daily"), 3, 50)
    for key, member in (
        (stream_key(1, "sky/daily"), 3),
        (stream_key(0, "sky/year"), 3),
        (stream_key(0, "sky/daily"), 4),
    ):
        assert abs(np.corrcoef(base, normals(key, member, 50))[0, 1]) < 0.5
    np.testing.assert_array_equal(base[:7], normals(stream_key(0, "sky/daily"), 3, 7))
