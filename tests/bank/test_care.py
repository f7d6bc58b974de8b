"""What a bank's year asks for, on years made by hand."""

import numpy as np
import pytest

from darkspell.bank.bank_results import BankBlock
from darkspell.bank.maintenance import bank_care, equalising, generator_use
from darkspell.core.calendar import Calendar
from darkspell.study.generator import Generator


def test_forty_five_days_without_a_full_charge():
    """14 days are tolerated and 30 call for an equalising charge (the table's own figures): 31 days, one charge."""
    soc = np.ones((8760, 2), np.float32)
    soc[1000 : 1000 + 45 * 24, 0] = 0.6
    care = bank_care(soc, np.full_like(soc, 10.0), "flooded")
    assert care["partial_charge_pct"] == pytest.approx([100 * 31 / 365, 0.0])
    assert care["equalisations"].tolist() == [1.0, 0.0]
    assert bank_care(soc, np.full_like(soc, 10.0), "lfp")["partial_charge_pct"].max() == 0.0


def test_acid_freezes_when_discharged():
    """Freezing points of battery acid (memory; handbooks): about -8 C empty, -22 C half full, -57 C full."""
    soc = np.tile(np.float32([0.0, 0.5, 1.0]), (8760, 1))
    for temp, frozen in ((-5.0, 0), (-15.0, 1), (-30.0, 2), (-60.0, 3)):
        hours = bank_care(soc, np.full_like(soc, temp), "flooded")["freezing_h"]
        assert (hours == 8760).sum() == frozen
    assert bank_care(soc, np.full_like(soc, -60.0), "agm")["freezing_h"].max() == 0.0


def test_a_generator_run_by_hand():
    """Two runs, one over the year's end: hours, starts, energy, and fuel by the line of the study."""
    running = np.zeros((8760, 1), np.float32)
    running[[8758, 8759, 0, 1]] = 1.0
    running[5000:5003] = 1.0
    zeros = np.zeros_like(running)
    bank = BankBlock(
        *([zeros] * 11), engine_used=500 * running, running=running, unserved_critical=None, capacity=100.0
    )
    generator = Generator(charge_w=500.0, rated_w=1000.0, fuel_idle_l_per_h_kw=0.1, fuel_l_per_kwh=0.4)
    members, months = generator_use(bank, generator, Calendar(1))
    assert members["generator_h"] == 7 and members["generator_starts"] == 2
    assert members["fuel_l"] == pytest.approx(7 * 0.1 + 3.5 * 0.4)
    assert months["generator_h"][0, [0, 11]].tolist() == [2.0, 2.0]


def test_an_equalising_charge_waits_for_a_full_bank_and_current_to_spare():
    """Due after 30 days, full after 40; 4 A to spare an hour a day from then on, 3 h in a row from day 50 on.

    By hand: 3 % of 100 Ah is 3 A. Hours of two days run count together, a pause of two days begins anew. Water: 3 h x
    3 A x 6 cells x 0.336 g/Ah = 18.1 g. A bank with less to spare stays stratified until the year ends; one that was
    never long below full is never due.
    """
    soc, offer = np.ones((8760, 3), np.float32), np.zeros((8760, 3), np.float32)
    soc[: 40 * 24, :2] = 0.6
    for day in range(40, 365):
        offer[24 * day + 12, 0] = 4.0 if day % 3 == 0 or day >= 50 else 0.0
        offer[24 * day + 12 : 24 * day + 15, 1:] = 2.9
    offer[50 * 24 + 11 : 50 * 24 + 14, 0] = 4.0
    zeros = np.zeros_like(soc)
    bank = BankBlock(soc, zeros, zeros, offer, *([zeros] * 9), unserved_critical=None, capacity=100.0)
    found = equalising(bank, "flooded", 6)
    assert found["equalised"].tolist() == [1.0, 0.0, 0.0] and found["equalising_h"].tolist() == [
        3.0,
        0.0,
        0.0,
    ]
    assert found["equalising_water_l"][0] == pytest.approx(0.0181, abs=1e-4)
    first = 24 * 30 - 1
    assert found["stratified_pct"] == pytest.approx(
        [(50 * 24 + 14 - first) / 87.6, (8760 - first) / 87.6, 0.0]
    )
    assert not any(values.any() for values in equalising(bank, "agm", 6).values())
