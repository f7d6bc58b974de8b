"""A year of one design for a block of members, in the units of the bank."""

from typing import NamedTuple

import numpy as np

from darkspell.bank.optional_features import NEVER
from darkspell.bank.run_years import OUTPUTS, run_members
from darkspell.core.batches import no_power
from darkspell.core.calendar import HOURS


class BankBlock(NamedTuple):
    """Hour arrays of a block of members; float32 [8760, lanes].

    Attributes
    ----------
    soc : state of charge at the end of the hour, a fraction of present capacity [-]
    current : mean current at the bank's terminals, charging positive [A]
    voltage : mean terminal voltage [V]
    offer : current that the charger could push in after the loads [A]
    accept : current that the bank accepts at the set point [A]
    unserved_essential, unserved_deferrable : energy asked for and not delivered [Wh]
    spilled, array_used : array energy not taken, and taken [Wh]
    cause : why essential load is not served where some is not, see `darkspell.bank.step`
    aux_used, engine_used : energy taken from the other chargers, and from the generator [Wh]
    running : 1 while the generator runs and may run, else 0
    unserved_critical : critical load not delivered [Wh]; None where it follows from that of essential loads, because
        no inverter switches critical loads off by itself
    capacity : present capacity at the reference rate and temperature, as the study has it [Ah], a number
    float_drop : how far the chargers' voltage falls after the absorption time [V], a number; 0 without one
    capacity_factor : of each member's own bank on the capacity [-], float32 [lanes]
    """

    soc: np.ndarray
    current: np.ndarray
    voltage: np.ndarray
    offer: np.ndarray
    accept: np.ndarray
    unserved_essential: np.ndarray
    unserved_deferrable: np.ndarray
    spilled: np.ndarray
    array_used: np.ndarray
    cause: np.ndarray
    aux_used: np.ndarray
    engine_used: np.ndarray
    running: np.ndarray
    unserved_critical: np.ndarray | None
    capacity: float
    float_drop: float = 0.0
    capacity_factor: np.ndarray | None = None


def run_block(traces, scales, controls, chemistry):
    """Run one design over a block.

    Parameters
    ----------
    traces : tuple of ten, fourteen or nineteen float32 arrays
        From `darkspell.simulation.input_series.TraceBlock.for_bank`.
    scales, controls, chemistry
        As `darkspell.bank.run_years.run_members` takes them.

    Returns
    -------
    BankBlock
    """
    lanes = traces[0].shape[1]
    extras = controls.extras
    both = extras is not None and extras.both is not None
    rows = len(OUTPUTS) - (not both) if extras is not None else 11 if traces[6].any() else 10
    out = np.empty((rows, HOURS, lanes), np.float32)
    capacity, factor = np.float32(1.0) / scales[3], traces[9][0]
    run_members(traces, scales, controls, chemistry, capacity * traces[9][:1], out)
    absent = [no_power(lanes)] * (len(OUTPUTS) - 1 - rows) + [None] * (not both)
    drop = 0.0 if extras is None or extras.absorption >= NEVER else float(extras.float_drop)
    return BankBlock(*out, *absent, capacity=float(capacity), capacity_factor=factor, float_drop=drop)
