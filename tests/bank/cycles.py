"""A full cycle through the project's bank step, for tests."""

import numpy as np
from numba import njit

from darkspell.bank.cell_laws import temperature_terms
from darkspell.bank.step import step
from darkspell.bank.step_values import Controls
from darkspell.chemistry.numbers import chemistry_numbers

F = np.float32


@njit
def _cycle(c, rate, top, spill_free):
    zero, one, big = F(0), F(1), F(1e6)
    no_load = (zero, zero, zero, zero, zero, zero, zero)
    controls = Controls(zero, zero, None)
    terms = temperature_terms(F(25), c)
    soc, charged, discharged, energy_in, energy_out = F(0), 0.0, 0.0, 0.0, 0.0
    for _ in range(20000):
        if soc >= top:
            break
        r = step((soc, one, one, zero, zero, one), (big, rate, zero, zero), no_load, terms, controls, c)
        charged += r[1]
        energy_in += r[1] * r[2]
        soc = r[0][0]
    start = soc
    for _ in range(20000):
        # The load that draws the wanted current at the voltage of the hour before.
        watts = rate * (c.ocv_0 if soc <= zero else r[2]) if energy_out > 0 else rate * F(12.7)
        loads = (watts, zero, zero, zero, zero, zero, zero)
        r = step((soc, one, one, zero, zero, one), None, loads, terms, controls, c)
        if r[1] >= zero:
            break
        discharged -= r[1]
        energy_out -= r[1] * r[2]
        soc = r[0][0]
    return charged, discharged, energy_in, energy_out, start, soc


def full_cycle(chemistry, leak=True, rate=0.05):
    """Charge from empty to 99.9 % and discharge to empty at `rate` [1/h].

    Returns
    -------
    charged, discharged : float
        Ampere-hours per Ah.
    energy_in, energy_out : float
        Watt-hours per Ah.
    """
    c = chemistry_numbers(chemistry, 12.0, cut_off=1.0, reconnect=0.0, depth_limit=1.0)
    changes = {} if leak else {"self_discharge": F(0)}
    c = c._replace(peukert_share=F(1), peukert_power=F(0), **changes)
    return _cycle(c, F(rate), F(0.999), True)[:4]
