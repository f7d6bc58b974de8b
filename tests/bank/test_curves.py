"""The sheet of charge and discharge curves."""

import numpy as np
import pytest

from darkspell.bank.chemistry import CHEMISTRIES
from darkspell.bank.curves import terminal_voltage


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_curves_lie_in_order(chemistry):
    """Charged above rested above discharged, and the faster the lower; all of it by Ohm's law alone."""
    rested, slow, fast, charged = (
        terminal_voltage(chemistry, hours, charging, points=11)[1]
        for hours, charging in ((1e5, False), (20.0, False), (5.0, False), (10.0, True))
    )
    inside = np.isfinite(fast)
    assert inside.sum() >= 4
    assert np.all(fast[inside] < slow[inside]) and np.all(slow[inside] < rested[inside])
    both = np.isfinite(charged) & np.isfinite(rested)  # an empty bank gives nothing, a full one takes nothing
    assert both.sum() >= 8 and np.all(charged[both] >= rested[both])


def test_a_curve_ends_where_the_rate_withholds_the_rest():
    """Peukert, k = 1.2, the 100 h figure 1.15 times that of 20 h: at a 5 h current (1/1.15) (4.6)^-0.2 come out."""
    soc, volts = terminal_voltage("flooded", 5.0, False)
    out = (4.6**-0.2) / 1.15
    assert 1.0 - soc[np.isfinite(volts)].min() == pytest.approx(out, abs=0.011)  # points are 0.01 apart
