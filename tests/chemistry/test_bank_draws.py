"""Draws of what is not known of a bank."""

from types import SimpleNamespace

import numpy as np
import pytest

from darkspell.bank.reference_laws import charge_efficiency
from darkspell.chemistry.bank_draws import BankDraw, bank_draws, capacity_sd, gassing_factor
from darkspell.chemistry.numbers import chemistry_numbers
from darkspell.core.constants import CHEMISTRIES, constant, table

DRAWS = np.arange(4000)


def bank(chemistry="flooded", capacity=5.0, properties=100.0, health=100.0):
    """What the draws read of a study's bank."""
    return SimpleNamespace(
        chemistry=chemistry, capacity_uncertainty_pct=capacity, property_uncertainty_pct=properties,
        state_of_health_pct=health, capacity_points=None,
    )  # fmt: skip


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_draws_have_the_tables_median_and_stay_in_its_ranges(chemistry):
    drawn = BankDraw(*bank_draws(bank(chemistry), DRAWS, seed=1))
    for name, factors in (
        ("resistance_mohm_ah_cell", drawn.resistance),
        ("self_discharge_pct_month", drawn.self_discharge),
        ("capacity_loss_per_k", drawn.cold_loss),
    ):
        entry = table("bank")[chemistry][name]
        low, high = (end / entry["value"] for end in entry["range"])
        assert np.median(factors) == pytest.approx(1.0, abs=0.03)
        assert factors.min() == pytest.approx(low, rel=1e-5) and factors.max() == pytest.approx(
            high, rel=1e-5
        )
    # Cut off at 1.96 standard deviations, which takes some 3 % of the spread
    assert np.std(np.log(drawn.capacity)) == pytest.approx(capacity_sd(bank(chemistry)), rel=0.05)


def test_a_known_bank_is_as_its_table_has_it():
    assert np.all(bank_draws(bank(capacity=0.0, properties=0.0), DRAWS, seed=1) == 1.0)


def test_members_of_a_parameter_draw_share_their_bank_and_neighbours_change_nothing():
    drawn = bank_draws(bank(), np.array([3, 1, 3]), seed=5)
    np.testing.assert_array_equal(drawn[:, 0], drawn[:, 2])
    np.testing.assert_array_equal(drawn[:, 1:2], bank_draws(bank(), np.array([1]), seed=5))


def test_an_old_bank_is_less_well_known():
    """Capacity lost is known as well as lives are: 20 % lost and lives spread by 25 % leave 5 points of 80."""
    spread = constant("bank", "common", "life_spread")
    aged = bank(health=80.0, properties=0.0)
    assert capacity_sd(aged) == pytest.approx(np.hypot(0.05, 0.2 * spread / 0.8))
    assert capacity_sd(bank(properties=0.0)) == pytest.approx(0.05)


def test_a_measured_capacity_leaves_the_slow_rate_open():
    """Flooded banks hold 1.075 to 1.225 of their label at 100 h: 3.3 % of a standard deviation (arithmetic)."""
    assert (
        capacity_sd(bank(capacity=0.0))
        == pytest.approx(np.log(1.225 / 1.075) / 3.92)
        == pytest.approx(0.0333, abs=1e-4)
    )


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_the_drawn_efficiency_is_that_of_a_whole_cycle(chemistry):
    """Charged in hours at the 10 h current from empty as far as the bank accepts, as the table's own is defined."""
    c, entry = chemistry_numbers(chemistry, 12.0), table("bank")[chemistry]["coulombic_efficiency_pct"]
    taper = 1.0 - np.exp(-1.0 / float(c.taper_h))
    for z, wanted in zip(
        (-1.96, 0.0, 1.96), (entry["range"][0], entry["value"], entry["range"][1]), strict=True
    ):
        soc, charged, g = 0.0, 0.0, float(gassing_factor(chemistry, np.array(z)))
        while soc < 0.999:
            charge = min(0.1, float(c.accept_max), taper * (1.0 - soc))
            share = float(charge_efficiency(np.array([soc + 0.5 * charge]), charge, g, c)[0])
            assert share > 0.05  # of the last charge too something stays
            soc, charged = soc + charge * share, charged + charge
        assert 100.0 * soc / charged == pytest.approx(wanted, abs=0.1)
