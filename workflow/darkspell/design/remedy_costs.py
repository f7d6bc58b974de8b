"""Cost over life of a study with each of its remedies."""

import numpy as np

from darkspell.design.cost_table import COLUMNS, costs_of, price_of_change
from darkspell.design.remedies import only_fuel
from darkspell.simulation.system import build_system

YEARLY = ("yearly_cost", "yearly_cost_low", "yearly_cost_high")


def with_yearly_cost(table, system, site_of, remedies, workers=None):
    """Add the yearly cost over life to the rows of remedies.csv.

    Parameters
    ----------
    table : pandas.DataFrame
        From `darkspell.design.remedies.remedies_table`.
    system : darkspell.simulation.system.System
        Of the study.
    site_of : callable
        From a study to ``(climate, sky)``.
    remedies : dict
        From `darkspell.design.remedies.remedies_of`.
    workers : int, optional

    Returns
    -------
    pandas.DataFrame
        With the columns of `YEARLY` after ``cost`` [currency/year]: of the study with the remedy, as costs.csv has
        them; NaN where the price of the remedy is not known.
    """
    yearly = {name: _yearly(system, site_of, *remedies[name], workers) for name in table["remedy"]}
    out, at = table.copy(), table.columns.get_loc("cost") + 1
    for number, column in enumerate(YEARLY):
        out.insert(at + number, column, [yearly[name][number] for name in table["remedy"]])
    return out


def _yearly(system, site_of, changes, pieces, workers):
    study = system.study
    changed = study.with_changes(changes).model_copy(update={"engine": study.engine})
    price = price_with(study, changed, changes, pieces)
    if np.isnan(price[0]):
        return (np.nan,) * len(YEARLY)
    costs = costs_of(build_system(changed, *site_of(changed)), workers, price)
    row = dict(zip(COLUMNS[2:], costs, strict=True))
    return tuple(round(row[name], 2) for name in YEARLY)


def price_with(study, changed, changes, pieces):
    """First cost of a study with a remedy, and of it array and bank [currency].

    Parameters
    ----------
    study, changed : darkspell.study.Study
        Without the remedy and with it.
    changes : dict
        Dotted key to value.
    pieces : float or None
        Price of the remedy; None where the price list has none.

    Returns
    -------
    tuple of (float, float, float)
        The pieces count to the part that they enlarge, so that they are replaced with it.
    """
    first, array, bank = price_of_change(study, study)
    if pieces is None:
        pieces = 0.0 if only_fuel(changes) and study.sizing.prices.fuel_per_l is not None else np.nan
    other_bank = (changed.bank.capacity_ah, changed.bank.chemistry) != (
        study.bank.capacity_ah, study.bank.chemistry,
    )  # fmt: skip
    more_array = changed.array_wp != study.array_wp
    return first + pieces, array + pieces * more_array, bank + pieces * other_bank
