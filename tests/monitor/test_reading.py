import numpy as np
import pytest

from darkspell.core.calendar import Calendar
from darkspell.monitor.reading_errors import reading_errors

CALENDAR = Calendar(7)


@pytest.fixture(scope="module")
def pair():
    rng = np.random.default_rng(9)
    soc = rng.uniform(0, 1, (8760, 5)).astype(np.float32)
    reading = np.clip(soc + rng.normal(0.01, 0.06, soc.shape), 0, 1).astype(np.float32)
    return reading, soc


def test_a_constant_bias():
    soc = np.full((8760, 2), 0.5, np.float32)
    errors = reading_errors(soc + np.float32([0.0725, -0.1225]), soc, 0.4, CALENDAR)
    # Single precision
    np.testing.assert_allclose(errors.mean_pct, [7.25, -12.25], atol=1e-4)
    # Counts in steps of 0.1 points
    np.testing.assert_allclose(errors.p95_pct, [7.25, 12.25], atol=0.05)
    assert errors.off_5_h.tolist() == [8760, 8760]
    assert errors.off_10_h.tolist() == [0, 8760]
    assert errors.off_20_h.tolist() == [0, 0]
    assert errors.false_alarm_h.tolist() == [0, 8760] and errors.missed_warning_h.tolist() == [0, 0]


def test_against_numpy(pair):
    reading, soc = pair
    errors = reading_errors(reading, soc, 0.3, CALENDAR)
    off = 100 * (reading.astype(float) - soc)
    # numpy is the reference; single precision for means, steps of 0.1 points for percentiles
    np.testing.assert_allclose(errors.mean_pct, off.mean(0), atol=1e-4)
    np.testing.assert_allclose(errors.p95_pct, np.percentile(abs(off), 95, axis=0), atol=0.05)
    for points in (5, 10, 20):
        hours = getattr(errors, f"off_{points}_h")
        np.testing.assert_allclose(hours, (abs(off) >= points).sum(0), atol=1)
    np.testing.assert_array_equal(errors.missed_warning_h, ((reading >= 0.3) & (soc < 0.3)).sum(0))
    np.testing.assert_array_equal(errors.false_alarm_h, ((reading < 0.3) & (soc >= 0.3)).sum(0))


def test_a_perfect_reading_has_no_errors(pair):
    _, soc = pair
    errors = reading_errors(soc, soc, 0.3, CALENDAR)
    assert errors.mean_pct.tolist() == [0.0] * 5
    assert errors.p95_pct.max() < 0.1
    assert errors.missed_warning_h.sum() == errors.false_alarm_h.sum() == errors.off_5_h.sum() == 0


def test_an_error_of_a_hundred_points_is_counted():
    soc = np.zeros((8760, 1), np.float32)
    errors = reading_errors(soc + 1, soc, 0.3, CALENDAR)
    assert errors.off_20_h[0] == errors.missed_warning_h[0] == 8760
    assert errors.p95_pct[0] == pytest.approx(100.0, abs=0.1)
