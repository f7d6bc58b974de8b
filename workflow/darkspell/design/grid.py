"""Loss of load of every design of a grid, on the same members."""

from itertools import product

import numpy as np

from darkspell.bank.part_series import DRAWS, series_count
from darkspell.bank.run_designs import TOTALS, run_designs
from darkspell.chemistry.bank_draws import known_bank
from darkspell.chemistry.numbers import trimmed
from darkspell.core.batches import LANES, no_power, over_batches
from darkspell.core.constants import constant
from darkspell.statistics.reliability import LOSS_FLOOR

COUNTS = ("lolh", "short_nights", "eue_essential_kwh", "eue_kwh", "longest_full_charge_interval_days")
KEPT = [TOTALS.index(name) for name in (
    "lolh", "short_nights", "unserved_essential", "unserved", "longest_full_charge_interval_h",
)]  # fmt: skip


def designs_of(study):
    """Sizes of every design of the grid, arrays in the outer order.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    float64 array [designs, 2]
        Array [Wp] and bank [Ah].
    """
    return np.array(list(product(study.sizing.array_wp, study.sizing.bank_ah)), float)


def run_grid(system, designs, workers=None, tell=None):
    """Run every design over every member.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    designs : float array [designs, 2]
        Array size [Wp] and bank size [Ah on the label]; the controller grows with the array.
    workers, tell
        As in `darkspell.core.batches.over_batches`.

    Returns
    -------
    dict of float32 arrays [members, designs]
        `COUNTS`: loss-of-load hours, short nights, unserved essential and unserved total energy [kWh],
        longest time between two full charges [days].

    Notes
    -----
    A member's row and a design's column depend on nothing else: blocks of members (a system with fewer
    of them) and blocks of designs, run apart and set side by side, give the same bits.
    """
    return run_scales(system, scales_of(system, designs), workers, tell)


def scales_of(system, designs):
    """Factors per ampere-hour of each design, see `darkspell.simulation.system.System.per_ah_factors`.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    designs : float array [designs, 2]
        Array [Wp] and bank [Ah].

    Returns
    -------
    float32 array [designs, 6]
    """
    return np.array([system.per_ah_factors(*design) for design in designs], np.float32)


def run_scales(system, scales, workers=None, tell=None):
    """As `run_grid`, of designs given by their factors per Ah.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    scales : float32 array [designs, factors]
        Of each design, per Ah of its bank.
    workers : int, optional
        Threads.
    tell : callable, optional
        Told how far the work is.

    Returns
    -------
    float32 [designs, 6]
    """

    def work(members, parameter_draw, count):
        return _batch(system, scales, system.traces(members, parameter_draw).for_bank(), count)

    if not run_designs.signatures:  # compiled before the traces are, which another job may be at
        _batch(system, scales[:1], _no_series(system.controls), 1)
    parts = over_batches(work, system, workers, tell)
    return dict(zip(COUNTS, np.concatenate(parts, axis=1), strict=True))


def _no_series(controls):
    """Input series of zeros, as many as the driver takes; a bank as its table has it among them."""
    none = (no_power(LANES),) * series_count(controls)
    return (*none[:DRAWS], known_bank(LANES), *none[DRAWS + 1 :])


def _batch(system, scales, traces, count):
    """Counts of one batch; float32 [5, count, designs]."""
    study = system.study
    full = constant("bank", study.bank.chemistry, "full_soc")
    floors = tuple(map(np.float32, (LOSS_FLOOR, study.short_night_floor_wh, full)))
    out = np.empty((len(COUNTS), count, len(scales)), np.float32)
    width = -(-len(scales) // LANES) * LANES
    fill = np.minimum(np.arange(width), len(scales) - 1)
    lanes, totals = np.ascontiguousarray(scales[fill].T), np.empty((len(TOTALS), width), np.float32)
    c = trimmed(system.chemistry)
    for member in range(count):
        run_designs(traces, member, lanes, system.controls, c, floors, totals)
        out[:, member] = totals[KEPT, : len(scales)]
    out[2:4] /= scales[:, 3] * 1000.0
    out[4] /= np.float32(24.0)
    return out
