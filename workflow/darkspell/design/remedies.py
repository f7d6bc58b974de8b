"""What would help: what-ifs made from the study itself, each with its price."""

from math import isnan

from darkspell.design.catalogue import bank_changes
from darkspell.design.cause_remedies import all_of_causes
from darkspell.design.cost_table import price_of_change

STEEPER_DEG, STEEPEST_DEG = 15, 90
STEP = 0.25  # one step of array or bank, of its size, where no pieces are listed; our choice


def remedies_of(study):
    """Remedies of a study: sizes, loads, and what acts on the causes of loss.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    dict
        ``{name: (changes, cost)}``; cost in the study's currency, None where the price list has none.
    """
    sizes = _more_array(study) | _more_bank(study) | _steeper(study) | _without(study) | _generator(study)
    return sizes | {name: (made, _other_bank(study, made)) for name, made in all_of_causes(study).items()}


def _other_bank(study, changes):
    """Price of a bank of another chemistry less that of the study's; None if the list has none, or no bank is new."""
    if "bank.chemistry" not in changes:
        return None
    more = price_of_change(study, study.with_changes(changes))[2] - price_of_change(study, study)[2]
    return None if isnan(more) else round(more, 2)


def _more_array(study):
    sold = study.sizing.catalogue
    steps = {"more_array": (STEP * study.array_wp, STEP * study.array_wp * study.sizing.prices.array_per_wp)}
    if sold:
        steps = {
            f"one_more_string_{name}"[:40]: (
                one.modules_per_string * one.power_wp,
                one.modules_per_string * one.price,
            )
            for name, one in sold.modules.items()
        }
    remedies = {}
    for name, (power, price) in steps.items():
        share = 1.0 + power / study.array_wp
        changes = {f"arrays.{n}.power_wp": round(a.power_wp * share, 3) for n, a in study.arrays.items()}
        if study.controller.current_limit_a is not None and study.controller.kind == "mppt":
            changes["controller.current_limit_a"] = round(study.controller.current_limit_a * share, 3)
        remedies[name] = (changes, round(price, 2))
    return remedies


def _more_bank(study):
    sold, bank = study.sizing.catalogue, study.bank
    if not sold:
        more = STEP * bank.capacity_ah
        steps = {"more_bank": (more, more * study.sizing.prices.bank_rate(bank.chemistry))}
    else:
        nominal = study.system.nominal_voltage_v
        steps = {
            f"one_more_battery_{name}"[:40]: (one.capacity_ah, one.price * (nominal // one.nominal_voltage_v))
            for name, one in sold.blocks.items()
            if nominal % one.nominal_voltage_v == 0
        }
    return {
        name: (bank_changes(study, round(bank.capacity_ah + more, 3)), round(price, 2))
        for name, (more, price) in steps.items()
    }


def _steeper(study):
    changes = {
        f"arrays.{name}.tilt_deg": min(one.tilt_deg + STEEPER_DEG, STEEPEST_DEG)
        for name, one in study.arrays.items()
        if one.tilt_deg < STEEPEST_DEG and not one.tilt_by_date and not one.any_heading
    }
    return {"steeper": (changes, 0.0)} if changes else {}


def _without(study):
    if len(study.loads) + len(study.measured_loads) < 2:
        return {}
    return {
        f"without_{name}"[:40]: ({f"loads.{name}": None}, 0.0)
        for name, load in study.loads.items()
        if load.tier != "uninterruptible"
        and name not in study.sizing.protected_loads  # alarms and lights are no saving
    }


def _generator(study):
    """A generator that may run an hour longer each day; its price is that of the fuel, known afterwards."""
    if study.generator is None:
        return {}
    (first, start), (last, end) = (map(int, time.split(":")) for time in study.generator.window)
    if (60 * (last - first) + end - start - 1) % 1440 >= 1440 - 60:
        return {}
    return {"hour_of_generator": ({"generator.window": [study.generator.window[0], _later(last, end)]}, None)}


def _later(hour, minute):
    return f"{(hour + 1) % 24:02d}:{minute:02d}"


def remedies_table(rows, remedies, statistic, prices):
    """Rows of remedies.csv: the target's statistic of every remedy, with its price, the greatest help first.

    Parameters
    ----------
    rows : list of dict
        From `darkspell.design.whatif_runner.run_whatifs`.
    remedies : dict
        From `remedies_of`.
    statistic : str
        Column of members.csv that the target is about.
    prices : darkspell.study.targets.Prices
        Fuel that a remedy burns beyond the study's, or saves, is counted in for ``fuel_years``.

    Returns
    -------
    pandas.DataFrame
        Columns of the rows with ``cost`` and ``saved_per_100``: less of the statistic for 100 of the currency.
    """
    import pandas as pd

    table = pd.DataFrame([row for row in rows if row["statistic"] == statistic]).rename(
        columns={"whatif": "remedy"}
    )
    fuel = {row["whatif"]: row["difference"] for row in rows if row["statistic"] == "fuel_l"}
    table.insert(2, "cost", [_cost(*remedies[name], fuel.get(name), prices) for name in table["remedy"]])
    paid = pd.to_numeric(table["cost"]).where(lambda cost: cost > 0)
    table["saved_per_100"] = -100.0 * table["difference"] / paid
    return table.sort_values(["difference", "remedy"], kind="stable").reset_index(drop=True)


def _cost(changes, pieces, litres, prices):
    """Price of a remedy with the fuel of some years; None where the price list has not all of it."""
    if litres is None or prices.fuel_per_l is None or (pieces is None and not only_fuel(changes)):
        return pieces
    return round((pieces or 0.0) + litres * prices.fuel_per_l * prices.fuel_years, 2)


def only_fuel(changes):
    """Whether a remedy costs nothing but the generator's fuel.

    Parameters
    ----------
    changes : dict
        Dotted key to value.

    Returns
    -------
    bool
    """
    return set(changes) == {"generator.window"}
