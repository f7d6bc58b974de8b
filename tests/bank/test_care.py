"""What a bank's year asks for, on years made by hand."""

import numpy as np
import pytest

from darkspell.bank.bank_results import BankBlock
from darkspell.bank.maintenance import bank_care, generator_use
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
    bank = BankBlock(*([zeros] * 11), engine_used=500 * running, running=running, capacity=100.0)
    generator = Generator(charge_w=500.0, rated_w=1000.0, fuel_idle_l_per_h_kw=0.1, fuel_l_per_kwh=0.4)
    members, months = generator_use(bank, generator, Calendar(1))
    assert members["generator_h"] == 7 and members["generator_starts"] == 2
    assert members["fuel_l"] == pytest.approx(7 * 0.1 + 3.5 * 0.4)
    assert months["generator_h"][0, [0, 11]].tolist() == [2.0, 2.0]
