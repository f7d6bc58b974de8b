"""Several targets at once: cases with a known answer."""

import numpy as np
import pytest

from darkspell.statistics.joint_chance import joint_chance

DRAWS, YEARS = 2000, 5


@pytest.mark.parametrize(
    ("mixing", "chance", "expected"),
    [
        (1.0, 0.5, 0.5),  # both go with the same draw: the chance of one
        (0.0, 0.5, 0.25),  # independent: the product
        (-1.0, 0.5, 0.0),  # one is good where the other is bad
        (0.5, 0.5, 1 / 4 + np.arcsin(0.5) / (2 * np.pi)),  # Sheppard's formula for a bivariate normal
        (1.0, 0.9, 0.9),
    ],
)
def test_two_targets_of_a_known_correlation(mixing, chance, expected):
    """Draws of a known correlation; years add noise of their own, which must not weaken it."""
    rng, draw = np.random.default_rng(11), np.arange(DRAWS * YEARS) % DRAWS
    first, rest = rng.normal(size=(2, DRAWS))
    second = mixing * first + np.sqrt(1.0 - mixing**2) * rest
    years = np.stack([first, second], axis=1)[draw] + rng.normal(0.0, 2.0, (draw.size, 2))
    badness = np.maximum(20.0 + years, 0.0)
    assert joint_chance([chance, chance], badness, draw) == pytest.approx(expected, abs=0.03)


def test_one_target_and_an_impossible_one():
    """One target has its own chance; with one that is never met, all are never met."""
    draw, years = np.arange(100) % 20, np.random.default_rng(1).random((100, 2))
    assert joint_chance([0.37], years[:, :1], draw) == 0.37
    assert joint_chance([0.9, 0.0], years, draw) == 0.0
    assert joint_chance([1.0, 0.9], years, np.arange(100)) == pytest.approx(0.9, abs=0.01)
