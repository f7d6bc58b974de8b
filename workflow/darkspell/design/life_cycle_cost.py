"""Cost of a design over a period of study: first cost, replacements, disposal, fuel and visits, discounted.

Present value and equivalent annual cost follow ASTM E917 (life-cycle cost; from memory): a payment in year t counts
(1 + r)^-t, and what is not worn out at the end of the period counts at its straight-line residual value.
"""

from typing import NamedTuple

import numpy as np

from darkspell.bank.life_spread import life_factors

BANKS = 200  # draws of how long a bank of the type lasts; our choice
SHORTEST_YEARS = 0.5  # a bank that wears out faster is replaced twice a year; our bound


def first_cost(study):
    """Price of a study's own array and bank by its ``sizing.prices`` [currency].

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    float
    """
    prices = study.sizing.prices
    bank = prices.bank_rate(study.bank.chemistry) * study.bank.capacity_ah
    parts = prices.array_per_wp * study.array_wp, bank
    return round(prices.fixed + sum(parts), 2)


class LifeCycleCost(NamedTuple):
    """Present values over the period of study; float64 arrays [designs] in the study's currency.

    Attributes
    ----------
    first : what is paid at the start
    bank, array, equipment : replacements less residual value, of the bank with disposal and work
    fuel, visits : what is paid each year
    total, total_low, total_high : sum; low and high bound 8 of 10 banks of the type
    yearly, yearly_low, yearly_high : the sum as equal payments at the end of each year [currency/year]
    replacements : mean number of banks bought after the first
    """

    first: np.ndarray
    bank: np.ndarray
    array: np.ndarray
    equipment: np.ndarray
    fuel: np.ndarray
    visits: np.ndarray
    total: np.ndarray
    total_low: np.ndarray
    total_high: np.ndarray
    yearly: np.ndarray
    yearly_low: np.ndarray
    yearly_high: np.ndarray
    replacements: np.ndarray


def life_cycle_cost(terms, first, array, bank, bank_ah, bank_life_years, fuel_per_year, seed):
    """Cost over life of some designs.

    Parameters
    ----------
    terms : darkspell.study.life_cycle.LifeCycle
    first, array, bank : float arrays [designs]
        First cost, and of it the prices of array and bank [currency].
    bank_ah : float array [designs]
        Rated capacity [Ah].
    bank_life_years : float array [designs]
        Median life of banks of the type in this service [years].
    fuel_per_year : float array [designs]
        [currency/year].
    seed : int
        Of the lives of single banks, see `darkspell.bank.life_spread.life_factors`.

    Returns
    -------
    LifeCycleCost
    """
    years, rate = terms.horizon_years, terms.discount_rate_pct / 100.0
    given = first, array, bank, bank_ah, bank_life_years, fuel_per_year
    first, array, bank, bank_ah, typical, fuel = (np.asarray(part, float) for part in given)
    lives = np.maximum(np.multiply.outer(life_factors(range(BANKS), seed), typical), SHORTEST_YEARS)
    disposal = terms.bank_disposal_per_ah * bank_ah
    banks = replaced(bank, disposal, terms.bank_replacement, lives, years, rate)
    arrays = replaced(array, 0.0, 0.0, terms.array_life_years, years, rate)
    equipment = np.broadcast_to(
        replaced(terms.equipment, 0.0, 0.0, terms.equipment_life_years, years, rate), first.shape
    )
    annuity = present_value_of_annuity(rate, years)
    visits = np.full(first.shape, terms.visits_per_year * terms.visit * annuity)
    totals = first + banks + arrays + equipment + fuel * annuity + visits
    mean, (low, high) = totals.mean(axis=0), np.quantile(totals, [0.1, 0.9], axis=0)
    bought = np.maximum(np.ceil(years / lives - 1e-9) - 1.0, 0.0).mean(axis=0)
    present = first, banks.mean(axis=0), arrays, equipment, fuel * annuity, visits
    return LifeCycleCost(*present, mean, low, high, *(part / annuity for part in (mean, low, high)), bought)


def present_value_of_annuity(rate, years):
    """Present value of 1 a year, paid at the end of each: (1 - (1 + r)^-N) / r; N without interest.

    Parameters
    ----------
    rate : float
        Interest r [1/year].
    years : float
        N.

    Returns
    -------
    float
    """
    return years if rate == 0.0 else (1.0 - (1.0 + rate) ** -years) / rate


def replaced(price, disposal, work, life, years, rate):
    """Present value of replacing a part whenever it wears out, less what it is worth at the end.

    Parameters
    ----------
    price, disposal, work : float or float array [designs]
        Of one part: bought, taken away, and the work of the replacement [currency].
    life : float or float array [..., designs]
        [years].
    years : float
        Period of study.
    rate : float
        Discount rate [1/year].

    Returns
    -------
    float64 array, as price and life broadcast

    Notes
    -----
    Replaced at k L for k = 1, 2, ... below N. The part in service at the end has served N - k L of its L years: that
    share of its disposal is charged, and the rest of its price returned.
    """
    life = np.asarray(life, float)
    count = np.maximum(np.ceil(years / life - 1e-9) - 1.0, 0.0)
    growth = np.log1p(rate)
    # Sum of the geometric series of the replacements' discount factors.
    step = np.exp(-growth * life)
    factors = count if rate == 0.0 else step * (1.0 - step**count) / (1.0 - step)
    used = (years - count * life) / life
    at_end = np.exp(-growth * years)
    return factors * (price + disposal + work) + at_end * (used * disposal - (1.0 - used) * price)
