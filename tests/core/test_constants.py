"""The table of constants: what has no source has a range, and fewer have none than before."""

import pytest

from darkspell.core.constants import sources
from dev.sources import KINDS, counts, kind_of

BARE = [row for row in sources() if kind_of(row["source"]) == KINDS[0]]


def test_fewer_constants_without_source_than_before():
    """259 of 529 had none; 146 of 656 and 130 of 695 since. The number may only fall."""
    assert sum(count[KINDS[0]] for count in counts().values()) <= 130


@pytest.mark.parametrize("row", BARE, ids=lambda row: f"{row['room']} {row['name']}")
def test_a_constant_without_source_has_a_range_about_its_value(row):
    """A value that is a pair of bounds is its own range."""
    if isinstance(row["value"], list) and "range" not in row:
        assert len(row["value"]) == 2 and row["value"][0] < row["value"][1]
        return
    low, high = row["range"]
    assert low < row["value"] < high or row["value"] == 0.0 == low


def test_no_range_without_need():
    """A range is for what has no source, and for what is drawn (`bank_draws`, `controller_curve`)."""
    drawn = (
        "resistance_mohm_ah_cell",
        "self_discharge_pct_month",
        "coulombic_efficiency_pct",
        "capacity_loss_per_k",
        "loss_tenth",
    )
    rest = [row for row in sources() if row not in BARE and not row["name"].endswith(drawn)]
    assert all("range" not in row for row in rest)
