"""The sheet of charge and discharge curves."""

import numpy as np
import pytest

from darkspell.core.constants import CHEMISTRIES, constant
from dev.bank_curves import terminal_voltage


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


@pytest.mark.parametrize("chemistry", ["flooded", "agm", "gel"])
def test_a_tenth_of_the_capacity_meets_the_set_point_at_four_fifths(chemistry):
    """Common practice, no source: so bulk brings lead-acid to some 80 %; low, it charges far below its set point."""
    soc, volts = terminal_voltage(chemistry, 10.0, True)
    top = constant("bank", chemistry, "absorption_v_cell") * 6
    assert soc[volts > top - 0.01].min() == pytest.approx(0.8, abs=0.04)
    assert 0.3 < volts[20] - terminal_voltage(chemistry, 1e5, False)[1][20] < 0.8


@pytest.mark.parametrize(
    ("chemistry", "cells", "model"),
    # PyBaMM 26.10 (run), single particle with electrolyte, C/10 at 25 C: cell voltage at 30, 50 and 70 %.
    [("lfp", 4, (3.222, 3.273, 3.288)), ("nmc", 3.5, (3.599, 3.778, 3.961))],
)
def test_lithium_under_a_slow_charge(chemistry, cells, model):
    """Above the model, which knows no hysteresis, by 2.5 % at most: our voltage rises straight with the current."""
    soc, volts = terminal_voltage(chemistry, 10.0, True)
    ours = np.interp([0.3, 0.5, 0.7], soc, volts) / cells
    assert np.all(ours > np.array(model) - 0.005) and np.all(ours < 1.025 * np.array(model))
