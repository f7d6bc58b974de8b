"""Terminal voltage of a charge against PyBaMM, and the taper in the cold."""

import numpy as np
import pytest

from darkspell.bank.reference import temperature_terms
from darkspell.chemistry.numbers import chemistry_numbers
from dev.bank_curves import terminal_voltage


def test_lfp_at_the_10_h_rate():
    """PyBaMM 26.10, SPMe, Prada2013, 25 degC (run): volts a cell at 30, 50, 70 and 80 %; within 15 mV."""
    soc, volts = terminal_voltage("lfp", 10.0, True)
    cell = np.interp([0.3, 0.5, 0.7, 0.8], soc, volts) / 4
    assert cell == pytest.approx([3.223, 3.275, 3.286, 3.320], abs=0.015)


@pytest.mark.parametrize("chemistry, factor", [("flooded", 1.875), ("agm", 1.875), ("lfp", 1.0)])
def test_the_taper_grows_in_the_cold(chemistry, factor):
    """Copetti, Lorenzo & Chenlo 1993 (read in transcription): 1 - 0.025 (T - 25), 1.875 at -10 degC."""
    c = chemistry_numbers(chemistry, 12.0)
    cold, warm = (temperature_terms(np.array([t]), c).taper_h[0] for t in (-10.0, 25.0))
    assert cold / warm == pytest.approx(factor)
