"""Parts of doubt on figures that are sums of parts of known variance."""

import numpy as np
import pytest

from darkspell.report.tables import uncertainty
from darkspell.report.tables.uncertainty import uncertainty_table, weight_of
from darkspell.statistics.summary import MEANS
from darkspell.statistics.variance_decomposition import variance_parts

WORLDS, YEARS = 4000, 10


@pytest.fixture(scope="module")
def known():
    """A figure: climate of variance 4, loads of variance 1 (as demand says), years of variance 9."""
    rng = np.random.default_rng(3)
    parameter_draw = np.arange(WORLDS * YEARS) % WORLDS
    climate, loads = rng.normal(0, 2, WORLDS)[parameter_draw], rng.normal(0, 1, WORLDS)[parameter_draw]
    values = 50 + climate + loads + rng.normal(0, 3, parameter_draw.size)
    return values, parameter_draw, 1000 + 100 * loads


def test_parts_are_those_put_in(known):
    """Three standard errors: the variance between 4,000 parameter draws is known to 2 %, the loads' slope
    to 3.5 %.
    """
    within, climate, loads, bank, means = variance_parts(*known)
    assert within == pytest.approx(9.0, rel=0.07)
    assert climate == pytest.approx(4.0, rel=0.12)
    assert loads == pytest.approx(1.0, rel=0.21)
    assert means.size == WORLDS and bank == 0.0


def test_the_bank_has_its_part(known):
    """A figure that falls by 30 per unit of a log capacity that varies by 5 %: 2.25; another factor adds none."""
    values, parameter_draw, demand = known
    log = np.random.default_rng(4).normal(0, 0.05, (2, WORLDS))[:, parameter_draw]
    within, climate, loads, bank, _ = variance_parts(
        values - 30 * log[0], parameter_draw, demand, np.exp(log)
    )
    assert bank == pytest.approx(2.25, rel=0.15)
    assert climate == pytest.approx(4.0, rel=0.12) and within == pytest.approx(9.0, rel=0.07)


def test_table_adds_up_and_better_sources_narrow(known, monkeypatch):
    """Shares sum to one; the place's interval is 1.96 SD of what parameter draws differ by; monthly values
    narrow it.
    """
    values, parameter_draw, demand = known
    monkeypatch.setattr(uncertainty, "MEANS", {"lolh": MEANS["lolh"]})  # all rows would be the same
    members = {MEANS["lolh"][0]: values, "demand_kwh": demand}
    row = uncertainty_table(members, parameter_draw, "atlas").set_index("figure").loc["lolh"]
    assert row[["place_share_sampling", "place_share_climate", "place_share_loads"]].sum() == pytest.approx(
        1.0, abs=1e-5
    )
    assert row[["year_share_weather", "year_share_climate", "year_share_loads"]].sum() == pytest.approx(
        1.0, abs=1e-5
    )
    assert row["place_high"] - row["place_low"] == pytest.approx(2 * 1.96 * np.sqrt(5.0), rel=0.06)
    assert row["next_high"] - row["next_low"] < row["place_high"] - row["place_low"]
    assert weight_of("measured") < weight_of("monthly") < weight_of("atlas")


def test_few_draws_tell_nothing():
    """One parameter draw a year, or one parameter draw: no number rather than a wrong one."""
    assert np.isnan(variance_parts(np.arange(20.0), np.arange(20), np.ones(20))[0])
    assert np.isnan(variance_parts(np.arange(20.0), np.zeros(20, int), np.ones(20))[0])
