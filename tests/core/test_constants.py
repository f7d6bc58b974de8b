"""The table of constants: what has no source has a range, and fewer have none than before."""

import pytest

from darkspell.core.constants import sources
from dev.sources import KINDS, counts, kind_of

BARE = [row for row in sources() if kind_of(row["source"]) == KINDS[0]]


def test_fewer_constants_without_source_than_before():
    """259 of 529 had none; 151 of 640 when this was written. The number may only fall."""
    assert sum(count[KINDS[0]] for count in counts().values()) <= 151


@pytest.mark.parametrize("row", [row for row in BARE if row["room"] == "bank"], ids=lambda row: row["name"])
def test_a_constant_of_the_bank_without_source_has_a_range_about_its_value(row):
    low, high = row["range"]
    assert low < row["value"] < high or row["value"] == 0.0 == low


def test_no_range_without_need():
    """A range is for what has no source, and for what `darkspell.chemistry.bank_draws` draws."""
    drawn = (
        "resistance_mohm_ah_cell",
        "self_discharge_pct_month",
        "coulombic_efficiency_pct",
        "capacity_loss_per_k",
    )
    rest = [row for row in sources() if row not in BARE and not row["name"].endswith(drawn)]
    assert all("range" not in row for row in rest)
