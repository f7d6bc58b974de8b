"""The cycles of IEC 61427-1, phase B, as a sanity run.

From memory, the standard was not at hand: 100 cycles of 2 h at 1.25 times the 10 h current, then 6 h of charge
limited in voltage and current. A bank that such a test is made for goes through them without being cut off, and
neither runs down nor counts up. What the standard measures, the capacity after 150 of A and B together, is no
matter of a model whose wear is a constant.
"""

import numpy as np
import pytest
from numba import njit

from darkspell.bank.cell_laws import temperature_terms
from darkspell.bank.step import step
from darkspell.bank.step_values import FULL_STATE, Controls
from darkspell.chemistry.numbers import chemistry_numbers, peukert_capacity
from darkspell.core.constants import constant

F = np.float32
CYCLES, OUT_H, IN_H = 100, 2, 6


@njit
def cycles(c, draw, charge):
    """Charge at the end of discharge and of charge, current out, and what was not served, by cycle."""
    zero, controls = F(0), Controls(F(0), F(0), None)
    terms = temperature_terms(F(25), c)
    none = (zero, zero, zero, zero, zero, zero, zero)
    state, volts = FULL_STATE, c.ocv_0 * F(1.06)
    out = np.zeros((4, CYCLES), np.float64)
    for cycle in range(CYCLES):
        for _ in range(OUT_H):
            watts = draw * volts
            loads = (watts, zero, zero, zero, watts, zero, zero)
            r = step(state, None, loads, terms, controls, c)
            state, volts = r[0], r[2]
            out[2, cycle] -= r[1]
            out[3, cycle] += r[5]
        out[0, cycle] = state[0]
        for _ in range(IN_H):
            r = step(state, (F(1e6), charge, zero, zero), none, terms, controls, c)
            state = r[0]
        out[1, cycle] = state[0]
    return out


@pytest.mark.parametrize("chemistry", ["flooded", "agm", "gel"])
def test_shallow_cycles_at_a_high_charge(chemistry):
    """A quarter of the 10 h capacity goes out each time, nothing is refused, and the charge settles."""
    ten = peukert_capacity(chemistry, 10.0) / constant("bank", chemistry, "capacity_100h_factor")
    c = chemistry_numbers(chemistry, 12.0)
    low, high, out, lost = cycles(c, F(1.25 * ten / 10.0), F(ten / 10.0))
    assert lost.max() == 0.0
    # The load is set to the voltage of the hour before, which falls by up to 3 % within the two hours.
    assert out / ten == pytest.approx(0.25, rel=0.03)
    assert high.min() > 0.8 and low.min() > 0.5
    assert abs(high[-1] - high[CYCLES // 2]) < 0.002 and abs(low[-1] - low[CYCLES // 2]) < 0.002
