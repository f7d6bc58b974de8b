import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from darkspell.climate.distribution import shift_to_mean, textbook_distribution, textbook_quantiles
from darkspell.climate.site_climate import PROBABILITIES, quantile_weights

EDGES = np.array([0.2, 0.3, 0.4, 0.5, 0.6])


# Bendt, Collares-Pereira & Rabl (1981) with the limits of Hollands & Huget (1983), as in Duffie & Beckman,
# eqs 2.9.4-2.9.6: F at .2 .3 .4 .5 .6, worked out apart from this project to three decimals.
@pytest.mark.parametrize(
    ("mean", "shares"),
    [
        (0.3, [0.365, 0.552, 0.703, 0.826, 0.926]),
        (0.5, [0.098, 0.185, 0.295, 0.434, 0.608]),
        (0.7, [0.004, 0.011, 0.027, 0.065, 0.155]),
    ],
)
def test_textbook_curve(mean, shares):
    assert textbook_distribution(EDGES, mean) == pytest.approx(shares, abs=0.0005)


# Hollands & Huget chose gamma so that the curve's mean is the monthly mean; their fit is good to about 0.01
# between 0.3 and 0.7 (our reading of the curve, since the papers print no tolerance).
@pytest.mark.parametrize("mean", [0.3, 0.4, 0.5, 0.6, 0.7])
def test_textbook_quantiles_have_about_their_mean(mean):
    assert textbook_quantiles(mean).mean() == pytest.approx(mean, abs=0.01)


@pytest.mark.parametrize("mean", [0.3, 0.5, 0.7])
def test_textbook_quantiles_invert_the_curve(mean):
    assert textbook_distribution(textbook_quantiles(mean)[0], mean) == pytest.approx(PROBABILITIES, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    days=st.lists(st.floats(0.0, 0.9), min_size=50, max_size=50),
    mean=st.floats(0.08, 0.8),
)
def test_shift_meets_the_mean_and_keeps_the_order(days, mean):
    moved = shift_to_mean(np.sort(days)[None], np.array([mean]), np.array([0.82]))[0]
    assert moved.mean() == pytest.approx(mean, abs=1e-6)
    assert (np.diff(moved) >= 0.0).all()
    assert 0.0 < moved[0] and moved[-1] <= 0.82


def test_weights_of_midpoints_are_equal():
    assert quantile_weights(PROBABILITIES) == pytest.approx(np.full(50, 0.02), abs=1e-12)


def test_weights_integrate_a_straight_line_between_flat_ends():
    probabilities = np.array([0.1, 0.4, 0.9])
    values = np.array([1.0, 2.0, 5.0])
    # By hand: 0.1*1 + 0.3*1.5 + 0.5*3.5 + 0.1*5.
    assert values @ quantile_weights(probabilities) == pytest.approx(0.1 + 0.45 + 1.75 + 0.5)
