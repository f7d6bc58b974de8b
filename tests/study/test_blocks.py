"""A bank of blocks: what is refused, and with what cure; and what passes."""

from types import SimpleNamespace

import pytest

from darkspell.study.bank_checks import check_bank
from darkspell.study.base import Faults

BANK = {
    "chemistry": "agm", "capacity_ah": 200.0, "block_voltage_v": None, "blocks_in_series": None,
    "strings_in_parallel": 1, "block_capacity_ah": None, "reconnect_voltage_v": None, "cutoff_voltage_v": 11.0,
    "second_capacity_pct": None, "second_rate_h": None, "charge_temperature_max_c": None,
}  # fmt: skip


def bank(**changes):
    return SimpleNamespace(**(BANK | changes))


@pytest.mark.parametrize(
    "changes, nominal",
    [
        ({}, 12),
        ({"block_voltage_v": 12.8, "blocks_in_series": 2}, 24),
        (
            {"block_voltage_v": 6, "blocks_in_series": 2, "strings_in_parallel": 2, "block_capacity_ah": 100},
            12,
        ),
        ({"chemistry": "nmc"}, 24),
        ({"reconnect_voltage_v": 12.5}, 12),
    ],
)
def test_what_adds_up_passes(changes, nominal):
    """12.8 V blocks are called 12 V; two strings of 100 Ah hold 200."""
    check_bank(bank(**changes), nominal)


@pytest.mark.parametrize(
    "changes, nominal, key, cure",
    [
        ({"block_voltage_v": 12, "blocks_in_series": 3}, 48, "blocks_in_series", "put 4 in series"),
        ({"block_voltage_v": 12, "blocks_in_series": 2}, 48, "blocks_in_series", "make 24 V"),
        ({"block_voltage_v": 9, "blocks_in_series": 1}, 12, "blocks_in_series", "take blocks that make 12 V"),
        ({"block_voltage_v": 12}, 12, "blocks_in_series", "give both"),
        ({"blocks_in_series": 1}, 12, "block_voltage_v", "give both"),
        ({"block_capacity_ah": 90, "strings_in_parallel": 2}, 12, "capacity_ah", "give 180"),
        ({"reconnect_voltage_v": 10.9}, 12, "reconnect_voltage_v", "raise it"),
        ({"chemistry": "nmc"}, 12, "chemistry", "take 24 or 48 V"),
    ],
)
def test_what_does_not_is_refused_with_its_cure(changes, nominal, key, cure):
    """One fault, at the key that cures it."""
    with pytest.raises(Faults) as found:
        check_bank(bank(**changes), nominal)
    assert len(found.value.pairs) == 1
    where, text = found.value.pairs[0]
    assert where == key and cure in text


def test_all_faults_come_at_once():
    """Three things wrong, three faults."""
    with pytest.raises(Faults) as found:
        check_bank(
            bank(block_voltage_v=12, blocks_in_series=3, block_capacity_ah=90, reconnect_voltage_v=10.0), 12
        )
    assert [key for key, _ in found.value.pairs] == [
        "blocks_in_series",
        "capacity_ah",
        "reconnect_voltage_v",
    ]
