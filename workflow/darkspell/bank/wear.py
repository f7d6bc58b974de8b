"""Wear of a bank in a year: cycles by their depth, time by its temperature, and time below full.

The three are added as shares of a life (Miner's rule; common practice, no source). Cycles are counted after
ASTM E1049-85 and weighed by a power law through the two cycle lives of the table; calendar wear doubles every
10 K and is credited down to 20 degC only; what is spent below full adds to both by the table's toll.
"""

import numpy as np

from darkspell.core.constants import constant
from darkspell.core.jit import kernel
from darkspell.statistics.rainflow import _rainflow, reversals

LEAST_DEPTH = 0.005  # shallower ripples cause no wear that matters


def cycle_wear(soc, capacity, chemistry):
    """Share of a life that each member's cycles take in the year.

    Parameters
    ----------
    soc : float32 array [8760, L]
        State of charge over present capacity [-].
    capacity : float
        Present capacity over rated [-].
    chemistry : str

    Returns
    -------
    float64 array [L]
    """
    deep, shallow = (constant("bank", chemistry, f"cycle_life_{depth}") for depth in (80, 30))
    power = np.log(shallow / deep) / np.log(0.8 / 0.3)
    return np.array(
        [_cycles(soc[:, lane].astype(float), capacity, deep, power) for lane in range(soc.shape[1])]
    )


@kernel
def _cycles(soc, capacity, deep, power):
    total = 0.0
    for depth, _, count in _rainflow(reversals(soc)):
        if depth > LEAST_DEPTH:
            total += count * (depth * capacity / 0.8) ** power / deep
    return total


def calendar_wear(temp, chemistry):
    """Share of a life that the year itself takes: mean of Q10^((T - 25) / 10) over the rated calendar life.

    Parameters
    ----------
    temp : float32 array [8760, L]
        Bank temperature T [degC]; one below calendar_coolest of the table counts as that.
    chemistry : str

    Returns
    -------
    float64 array [L]
        [1/year].
    """
    q10 = constant("bank", "common", "calendar_life_q10")
    coolest, rated = (
        constant("bank", "common", name) for name in ("calendar_coolest", "reference_temperature")
    )
    warmth = (np.maximum(np.asarray(temp, float), coolest) - rated) / 10.0
    return np.mean(q10**warmth, axis=0) / constant("bank", chemistry, "calendar_life_y")


def yearly_wear(soc, temp, partial_pct, capacity, chemistry):
    """Share of a life that a year takes [1/year], member by member.

    Parameters
    ----------
    soc, temp : float32 arrays [8760, L]
    partial_pct : float array [L]
        Share of the year that is too long after a full charge [%], see `darkspell.bank.maintenance.bank_care`.
    capacity : float
        Present capacity over rated [-].
    chemistry : str

    Returns
    -------
    float64 array [L]
    """
    worn = cycle_wear(soc, capacity, chemistry) + calendar_wear(temp, chemistry)
    return worn * (1.0 + constant("bank", chemistry, "partial_charge_toll") * np.asarray(partial_pct) / 100.0)


def partial_wear(wear, partial_pct, chemistry):
    """The part of a year's wear that time too long after a full charge brings.

    Parameters
    ----------
    wear, partial_pct : float arrays [L]
        As `yearly_wear` returns and takes them [1/year, %].
    chemistry : str

    Returns
    -------
    float64 array [L]
        [1/year].
    """
    toll = constant("bank", chemistry, "partial_charge_toll") * np.asarray(partial_pct) / 100.0
    return wear * toll / (1.0 + toll)


def years_at(share, wear):
    """Years until each share of the life is spent, the wear running linearly between the ages known.

    Parameters
    ----------
    share : float array [ages]
        Ascending from 0 to 1.
    wear : float array [ages]
        Yearly wear at each of them [1/year].

    Returns
    -------
    float64 array [ages]
    """
    share, wear = np.asarray(share, float), np.asarray(wear, float)
    # The integral of dx / w over a step in which w is linear.
    low, high = wear[:-1], wear[1:]
    even = np.isclose(low, high)
    step = np.where(even, 1.0 / low, np.log(high / low) / np.where(even, 1.0, high - low))
    return np.concatenate([[0.0], np.cumsum(np.diff(share) * step)])
