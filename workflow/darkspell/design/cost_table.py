"""First cost and cost over life of a study and of its changes, in one table."""

import numpy as np

from darkspell.design.bank_lives import lives_and_fuel
from darkspell.design.life_cycle_cost import life_cycle_cost
from darkspell.simulation.system import build_system

COLUMNS = (
    "kind", "whatif", "array_wp", "bank_ah", "first_cost", "bank_life_years", "replacements", "bank_cost",
    "array_cost", "equipment_cost", "fuel_cost", "visits_cost", "life_cycle_cost", "life_cycle_cost_low",
    "life_cycle_cost_high", "yearly_cost", "yearly_cost_low", "yearly_cost_high",
)  # fmt: skip


def cost_table(system, site_of, whatifs, workers=None, tell=None):
    """Rows of costs.csv: the study, then each what-if.

    Parameters
    ----------
    system : darkspell.simulation.system.System
        Of the study.
    site_of : callable
        From a study to ``(climate, sky)``.
    whatifs : dict
        ``{name: {dotted key: value}}``.
    workers : int, optional
    tell : callable, optional
        Called with the share that is done.

    Returns
    -------
    pandas.DataFrame
        Columns of `COLUMNS`: present values over ``sizing.life_cycle.horizon_years``, first cost included in
        ``life_cycle_cost``; ``yearly_cost`` is the same as equal yearly payments; low and high bound 8 of 10 banks.
        Replacements of bank, array and equipment are less their residual value. ``bank_life_years`` is the median.
        What needs the price of the bank is NaN where a what-if changes to a chemistry that has no price of its own.
    """
    import pandas as pd

    rows = [("study", "", *costs_of(system, workers))]
    for done, (name, changes) in enumerate(whatifs.items(), 1):
        changed = system.study.with_changes(changes).model_copy(update={"engine": system.study.engine})
        price = price_of_change(system.study, changed)
        rows.append(("whatif", name, *costs_of(build_system(changed, *site_of(changed)), workers, price)))
        if tell:
            tell(done / len(whatifs))
    table = pd.DataFrame(rows, columns=COLUMNS)
    numbers = table.select_dtypes("number").columns
    table[numbers] = table[numbers].map(lambda value: float(f"{value:.6g}"))
    return table


def price_of_change(study, changed):
    """First cost of a changed study, and of it array and bank [currency].

    A price per Ah is that of a nominal voltage; a changed one has kept the price per Wh.

    Parameters
    ----------
    study, changed : darkspell.study.Study

    Returns
    -------
    tuple of (float, float, float)
        First cost and bank are NaN where the change is to a chemistry without a price of its own: a price per Ah of
        one chemistry says nothing of another.
    """
    prices, chemistry = changed.sizing.prices, changed.bank.chemistry
    array = prices.array_per_wp * changed.array_wp
    if chemistry != study.bank.chemistry and chemistry not in prices.bank_per_ah_by_chemistry:
        return np.nan, array, np.nan
    bank = prices.bank_rate(chemistry) * changed.bank.capacity_ah
    return round(prices.fixed + array + bank, 2), array, bank


def costs_of(system, workers=None, price=None):
    """Costs of one study; the numbers of `COLUMNS` after the name.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    workers : int, optional
    price : tuple of (float, float, float), optional
        First cost, and of it array and bank; by the study's rates if not given.

    Returns
    -------
    tuple of float
    """
    study, prices = system.study, system.study.sizing.prices
    array_wp, bank_ah = study.array_wp, study.bank.capacity_ah
    if price is None:
        price = price_of_change(study, study)
    years, litres = lives_and_fuel(system, np.array([[array_wp, bank_ah]]), workers)
    whole = life_cycle_cost(
        study.sizing.life_cycle, *([part] for part in price), [bank_ah], years,
        litres * (prices.fuel_per_l or 0.0), study.engine.seed,
    )  # fmt: skip
    parts = whole.bank, whole.array, whole.equipment, whole.fuel, whole.visits
    totals = whole.total, whole.total_low, whole.total_high, whole.yearly, whole.yearly_low, whole.yearly_high
    numbers = (years, whole.replacements, *parts, *totals)
    return (array_wp, bank_ah, price[0], *(float(part[0]) for part in numbers))
