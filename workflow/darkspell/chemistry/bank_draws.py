"""What is not known of a bank, drawn once per parameter draw as factors on the numbers of its chemistry.

Capacity is lognormal about the rated one: a tolerance that is a key of the study, age, and the slow rate. Resistance,
self-discharge, charge lost to gas and capacity lost to the cold are drawn over the ranges in the table of constants:
the median is the table's value, and the ends of the range, which no draw passes, are 1.96 standard deviations away.
How fast a bank accepts charge at its set point is not drawn: the counters' hours of charging rest on the table's.
"""

from typing import NamedTuple

import numpy as np

from darkspell.chemistry.numbers import efficiency_fall
from darkspell.core.constants import constant, table
from darkspell.core.keyed_random import normals_of_members, stream_key

STREAM = "bank/draw"
NORMAL_95 = 1.96
STATED_SLOW_H = 48.0  # a capacity at this rate or slower leaves the slow rate to no range; our choice


class BankDraw(NamedTuple):
    """Factors of the members' banks on the numbers of their chemistry; rows of one float32 array [5, lanes].

    Attributes
    ----------
    capacity : on the present capacity [-]
    resistance : on the resistance at any temperature [-]
    self_discharge : on the self-discharge [-]
    gassing : on the share of the charge that is lost near full [-]
    cold_loss : on the capacity that the cold withholds [-]
    """

    capacity: np.ndarray
    resistance: np.ndarray
    self_discharge: np.ndarray
    gassing: np.ndarray
    cold_loss: np.ndarray


def known_bank(lanes):
    """The factors of a bank that is as the table has it.

    Parameters
    ----------
    lanes : int

    Returns
    -------
    float32 array [5, lanes]
        Ones.
    """
    return np.ones((len(BankDraw._fields), lanes), np.float32)


def bank_draws(bank, parameter_draw, seed):
    """Factors of the bank of each member.

    Parameters
    ----------
    bank : darkspell.study.bank.Bank
        Section of the study: chemistry, state of health and both uncertainties.
    parameter_draw : int array [lanes]
    seed : int

    Returns
    -------
    float32 array [5, lanes]
        Rows as `BankDraw`.
    """
    draws, at = np.unique(np.asarray(parameter_draw, np.int64), return_inverse=True)
    z = normals_of_members(stream_key(seed, STREAM), draws, len(BankDraw._fields))
    z = np.clip(z, -NORMAL_95, NORMAL_95).T
    share, kind = bank.property_uncertainty_pct / 100.0, bank.chemistry
    factors = BankDraw(
        capacity=np.exp(capacity_sd(bank) * z[0]),
        resistance=_within_range(kind, "resistance_mohm_ah_cell", share * z[1]),
        self_discharge=_within_range(kind, "self_discharge_pct_month", share * z[2]),
        gassing=gassing_factor(kind, share * z[3]),
        cold_loss=_within_range(kind, "capacity_loss_per_k", share * z[4]),
    )
    return np.ascontiguousarray(np.array(factors)[:, at], np.float32)


def capacity_sd(bank):
    """Standard deviation of the logarithm of a bank's present capacity.

    The spread of lives among like banks adds to the tolerance as the bank ages: what is lost by now, 1 - h, is known
    only as well as the life is. What the bank holds at the 100 h rate beyond its label's is a property with a range:
    of the flooded ridge's constants it moves the loss of load most (`python -m dev.physics_effects --ranges`).

    Parameters
    ----------
    bank : darkspell.study.bank.Bank

    Returns
    -------
    float
        [-]; with a measured capacity, that of the slow rate alone.
    """
    tolerance, health = bank.capacity_uncertainty_pct / 100.0, bank.state_of_health_pct / 100.0
    aged = constant("bank", "common", "life_spread") * (1.0 - health) / health if tolerance > 0.0 else 0.0
    low, high = table("bank")[bank.chemistry]["capacity_100h_factor"]["range"]
    slow = bank.property_uncertainty_pct / 100.0 * 0.5 * np.log(high / low) / NORMAL_95
    if bank.capacity_points is not None and max(bank.capacity_points[:2]) >= STATED_SLOW_H:
        slow = 0.0  # the data sheet says it
    return float(np.sqrt(tolerance**2 + aged**2 + slow**2))


def gassing_factor(kind, z):
    """Factor on the charge lost near full that gives a full cycle another ampere-hour efficiency.

    Straight between the factors of the table's efficiency, 1, and of the ends of its range.

    Parameters
    ----------
    kind : str
        A chemistry.
    z : float array
        Standard deviations from the table's value [-].

    Returns
    -------
    float64 array
        [-].
    """
    entry = table("bank")[kind]["coulombic_efficiency_pct"]
    ends = entry["range"][0], entry["value"], entry["range"][1]
    falls = np.array([efficiency_fall(kind, end / 100.0) for end in ends])
    if falls[1] == 0.0:  # nothing is lost near full
        return np.ones_like(z)
    return np.interp(z, (-NORMAL_95, 0.0, NORMAL_95), falls / falls[1])


def _within_range(kind, name, z):
    """Factor on a constant: its value at 0, the ends of its range at -1.96 and 1.96."""
    entry = table("bank")[kind][name]
    low, high = (np.log(end / entry["value"]) / NORMAL_95 for end in entry["range"])
    return np.exp(np.where(z < 0.0, -low * z, high * z))
