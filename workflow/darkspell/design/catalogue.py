"""Designs made of what is sold: whole strings, whole batteries, one controller."""

from dataclasses import dataclass, replace

import numpy as np

from darkspell.core.errors import StudyError
from darkspell.design.bank_lives import grid_lives
from darkspell.design.life_cycle_cost import life_cycle_cost
from darkspell.pv.ratings import charging_voltage

COLDEST_C = -25.0  # for the string's voltage where the study names no record low; our choice
REFERENCE_C = 25.0


@dataclass(frozen=True)
class Design:
    """One design of whole pieces.

    Parameters
    ----------
    module, block, controller : str
        Names on the study's list; "" for the study's own controller.
    modules, blocks : int
        Pieces bought.
    array_wp, bank_ah : float
    limit_a : float or None
    cost : float
        With the fixed price.
    array_cost, bank_cost : float
        Of it, modules and batteries.
    bank_life_years, life_cycle_cost, yearly_cost : float, optional
        See `darkspell.design.life_cycle_cost`; nan until `with_life_cycle_costs` fills them.
    """

    module: str
    modules: int
    block: str
    blocks: int
    controller: str
    array_wp: float
    bank_ah: float
    limit_a: float | None
    cost: float
    array_cost: float
    bank_cost: float
    bank_life_years: float = np.nan
    life_cycle_cost: float = np.nan
    yearly_cost: float = np.nan

    def changes(self, study):
        """The design as a what-if of the study; the arrays keep their shares.

        Parameters
        ----------
        study : darkspell.study.Study

        Returns
        -------
        dict
            New values by dotted key.
        """
        share = self.array_wp / study.array_wp
        made = {f"arrays.{name}.power_wp": one.power_wp * share for name, one in study.arrays.items()}
        made |= bank_changes(study, self.bank_ah)
        if self.limit_a is not None:
            made["controller.current_limit_a"] = self.limit_a
        elif study.controller.current_limit_a is not None:
            made["controller.current_limit_a"] = study.controller.current_limit_a * share
        return made


def bank_changes(study, bank_ah):
    """A bank of another size as a what-if, without the keys of the study's own blocks.

    Parameters
    ----------
    study : darkspell.study.Study
    bank_ah : float
        Rated capacity [Ah].

    Returns
    -------
    dict
        New values by dotted key.
    """
    blocks = {} if study.bank.block_capacity_ah is None else {"bank.block_capacity_ah": None}
    return {"bank.capacity_ah": bank_ah, **blocks}


def ladders(study):
    """Designs in columns of one array, one controller and one kind of battery, with ascending banks.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    list of list of Design

    Raises
    ------
    StudyError
        If no battery or no controller on the list fits the system.
    """
    shelf, fixed, nominal = study.sizing.catalogue, study.sizing.prices.fixed, study.system.nominal_voltage_v
    blocks = {n: b for n, b in shelf.blocks.items() if nominal % b.nominal_voltage_v == 0}
    if not blocks:
        raise StudyError(
            f"sizing.catalogue.blocks: none adds up to {nominal} V; list one whose voltage divides it"
        )
    columns = []
    for module, sold in shelf.modules.items():
        for count in range(sold.modules_per_string, sold.max_count + 1, sold.modules_per_string):
            for controller, limit, price in _controllers(study, count * sold.power_wp):
                for block, one in blocks.items():
                    series = nominal // one.nominal_voltage_v
                    columns.append(
                        [
                            Design(
                                module, count, block, series * parallel, controller, count * sold.power_wp,
                                parallel * one.capacity_ah, limit,
                                round(fixed + count * sold.price + series * parallel * one.price + price, 2),
                                count * sold.price, series * parallel * one.price,
                            )
                            for parallel in range(1, one.max_in_parallel + 1)
                        ]
                    )  # fmt: skip
    if not columns:
        raise StudyError(
            "sizing.catalogue: no string fits what there is room for; lower modules_per_string or raise most"
        )
    return columns


def with_life_cycle_costs(system, columns, workers=None):
    """The same designs with bank life and cost over life.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    columns : list of list of Design
    workers : int, optional

    Returns
    -------
    list of list of Design
    """
    study = system.study
    designs = [one for column in columns for one in column]
    sizes = np.array([(one.array_wp, one.bank_ah) for one in designs])
    years, litres = grid_lives(system, sizes, workers)
    prices = np.array([(one.cost, one.array_cost, one.bank_cost) for one in designs]).T
    fuel = litres * (study.sizing.prices.fuel_per_l or 0.0)
    whole = life_cycle_cost(study.sizing.life_cycle, *prices, sizes[:, 1], years, fuel, study.engine.seed)
    found = zip(years, np.round(whole.total, 2), np.round(whole.yearly, 2), strict=True)
    names = "bank_life_years", "life_cycle_cost", "yearly_cost"
    filled = iter([dict(zip(names, map(float, numbers), strict=True)) for numbers in found])
    return [[replace(one, **next(filled)) for one in column] for column in columns]


def _controllers(study, array_wp):
    """Controllers worth trying: all that clip the array, and the cheapest that does not; (name, limit, price)."""
    sold = study.sizing.catalogue.controllers
    if not sold:
        return [("", None, 0.0)]
    if study.controller.kind == "pwm" or any(a.own_controller for a in study.arrays.values()):
        raise StudyError("sizing.catalogue.controllers: needs controller.kind: mppt, shared by all arrays")
    volts = string_voltage(study)
    fit = {
        name: one
        for name, one in sold.items()
        if one.input_voltage_max_v is None or volts is None or volts <= one.input_voltage_max_v
    }
    if not fit:
        raise StudyError(
            f"sizing.catalogue.controllers: none survives the {volts:.0f} V of a string in the cold; list "
            f"one that does"
        )
    amps = array_wp / charging_voltage(study)
    passing = [name for name, one in fit.items() if one.current_limit_a >= amps]
    cheapest = min(passing, key=lambda name: (fit[name].price, name)) if passing else None
    kept = [
        (name, one.current_limit_a, one.price)
        for name, one in fit.items()
        if name == cheapest
        or (one.current_limit_a < amps and (cheapest is None or one.price < fit[cheapest].price))
    ]
    return kept


def string_voltage(study):
    """Highest open-circuit voltage of the study's strings at the record low temperature.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    float or None
        [V]; None where unknown.
    """
    low = study.site.record_low_temperature_c
    cold = REFERENCE_C - (COLDEST_C if low is None else low)
    volts = [
        a.module_voc_v * a.modules_in_series * (1 - a.module_voc_temp_coefficient_pct_k / 100 * cold)
        for a in study.arrays.values()
        if a.module_voc_v is not None
    ]
    return max(volts, default=None)


def scales_of_ladders(system, columns):
    """Factors per ampere-hour of all columns, padded with the last design of each.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    columns : list of list of Design

    Returns
    -------
    float32 array [columns, banks, 6]
    """
    longest = max(map(len, columns))
    filled = [column + [column[-1]] * (longest - len(column)) for column in columns]
    return np.array(
        [
            [system.per_ah_factors(one.array_wp, one.bank_ah, one.limit_a) for one in column]
            for column in filled
        ],
        np.float32,
    )
