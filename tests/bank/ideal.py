"""An ideal store made of the project's own bank step: no losses, no limits but empty and full."""

import numpy as np

from darkspell.chemistry.numbers import chemistry_numbers

VOLTS = 10.0


def ideal_chemistry():
    """Numbers of a lossless store at a constant voltage; every charge current is accepted."""
    zeros = tuple(np.float32(0) for _ in range(8))
    changes = dict(
        ocv_0=VOLTS, resistance=0, resistance_per_k=0, resistance_per_k2=0, setpoint=VOLTS, setpoint_per_k=0,
        accept_max=1e6, taper_h=0.02, taper_per_k=0, cold_zero=-300, cold_slope=1, capacity_per_k=0,
        capacity_per_k_below_0=0, peukert_share=1, peukert_rate=1, per_peukert_rate=1, peukert_power=0,
        self_discharge=0, efficiency_low=1, efficiency_knee=1, efficiency_fall=0, efficiency_fall_rate=0,
        cut_off=1, per_cut_off=1, reconnect=0, floor=0, q10=1, leak_octaves=0,
    )  # fmt: skip
    base = chemistry_numbers("lfp", 12)
    return base._replace(
        ocv_knot=zeros[:7], ocv_slope=zeros, **{name: np.float32(value) for name, value in changes.items()}
    )
