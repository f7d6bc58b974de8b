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
