"""Persistence: components with given autocorrelations, and those of measured records recovered."""

import numpy as np
import pytest

from darkspell.climate.persistence import LATER, autocorrelation, components, typical_persistence


def total(parts, lags):
    """Autocorrelation of the latent series at some lags, annual component included; [12, lags]."""
    fast, slow, weight = (parts[name][:, None] for name in ("fast_phi", "slow_phi", "slow_weight"))
    daily = (1.0 - weight) * fast**lags + weight * slow**lags
    return (1.0 - parts["annual_weight"]) * daily + parts["annual_weight"]


# Autocorrelation of the normal scores of De Bilt at lag 1 and, mean, at 3 to 8 days (KNMI 1980-2019): .33, .06.
def test_components_have_the_given_autocorrelations():
    lag_one, later = np.full(12, 0.33), np.full(12, 0.06)
    parts = components(lag_one, later)
    assert total(parts, np.array([1])) == pytest.approx(np.full((12, 1), 0.33), abs=1e-6)
    assert total(parts, LATER).mean(axis=1) == pytest.approx(later, abs=1e-3)


def test_a_clear_sky_with_seasons_is_more_persistent_than_a_dull_one_without():
    dull = typical_persistence(55.0, np.full(12, 0.4))
    clear = typical_persistence(20.0, 0.6 + 0.1 * np.cos(np.arange(12) * np.pi / 6.0))
    assert clear["fast_phi"].min() > dull["fast_phi"].max()


def test_autocorrelation_is_the_weighted_sum_of_powers():
    """By hand: 0.9 * 0.3 + 0.1 * 0.9 at one day."""
    assert autocorrelation(0.3, 0.9, 0.1)[0] == pytest.approx(0.36)
