"""What a controller's limit takes from the minutes of an hour, on measured minutes left out of the fit."""

import numpy as np
import pytest

from darkspell.pv.minute_peaks import peak_terms, relative_width, without_peaks
from pv.payerne import payerne

width = np.vectorize(relative_width, excluded=[1], otypes=[np.float32])
kept = np.vectorize(without_peaks, otypes=[np.float32])


def left_out():
    """Minutes, hourly means and clear-sky means of every other two days of sun above 50 W/m2 of clear sky."""
    record = payerne()
    lit = record.clear > 50.0
    ghi, clear = record.ghi[lit], record.clear[lit]
    judge = np.arange(len(ghi)) // 48 % 2 == 1
    return ghi[judge], ghi[judge].mean(axis=1), clear[judge]


@pytest.mark.parametrize("limit", [400.0, 500.0, 600.0, 700.0, 800.0, 900.0, 1000.0])
def test_energy_clipped_from_minutes(limit):
    """Of the half month's energy within 0.45 points; hourly means alone miss up to 3.3."""
    minutes, mean, clear = left_out()
    total = mean.sum()
    truth = (np.minimum(mean, limit) - np.minimum(minutes, limit).mean(axis=1)).sum() / total
    power = mean.astype(np.float32)
    model = kept(power, width((mean / clear).astype(np.float32), peak_terms()), np.float32(limit))
    ours = (mean - model).sum() / total
    print(f"{limit:g} W/m2: measured {truth:.2%}, modelled {ours:.2%}")
    assert ours == pytest.approx(truth, abs=0.0045)
    assert truth > 0.003 and ours > 0.5 * truth


def test_nothing_is_clipped_far_from_the_limit_or_without_one():
    """Bounded: no hour gives more, a limit of twice the power takes nothing, and an infinite one neither."""
    power, wide = np.float32(500.0), np.float32(0.6)
    assert without_peaks(power, wide, np.float32(np.inf)) == power
    assert without_peaks(power, wide, np.float32(1000.0)) == power
    assert without_peaks(np.float32(0.0), wide, np.float32(1000.0)) == 0.0
    at_limit = without_peaks(power, wide, power)
    assert at_limit == pytest.approx(500.0 * (1.0 - 0.15))  # by hand: a quarter of the half width
    assert (
        relative_width(np.float32(1.2), peak_terms()) == relative_width(np.float32(0.2), peak_terms()) < 0.01
    )
