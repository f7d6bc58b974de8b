"""What each source brought, by month: every array and every charger, what it offered and what was taken."""

import numpy as np

from darkspell.core.batches import batches
from darkspell.core.rounding import significant
from darkspell.report.tables.snow import array_alone
from darkspell.simulation.charger_energy import GENERATOR
from darkspell.statistics.bounded_means import bounded_intervals
from darkspell.statistics.reliability import monthly_energy

COLUMNS = (
    "month", "source", "kind", "hours", "hours_low", "hours_high", "offered_kwh", "taken_kwh",
    "taken_kwh_low", "taken_kwh_high", "n",
)  # fmt: skip


def array_shares(system):
    """Share of each array in what all arrays offer, by calendar month, over one batch of members.

    Shared limits of a controller fall on all alike; months without sun have equal shares.

    Parameters
    ----------
    system : darkspell.simulation.system.System

    Returns
    -------
    float array [arrays, 12]
        [-]
    """
    members, parameter_draw, count = next(batches(system.members, system.parameter_draw))
    parts = []
    for at in range(system.arrays.power.size):
        power = array_alone(system, at).weather(members, parameter_draw)[0]
        parts.append(monthly_energy(power, system.calendar)[:count].mean(axis=0))
    parts = np.array(parts)
    total = parts.sum(axis=0)
    return np.divide(parts, total, out=np.full(parts.shape, 1.0 / len(parts)), where=total > 0.0)


def sources_table(system, months, sources):
    """Rows of energy_sources.csv.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    months : dict of float arrays [members, 12]
        ``array_kwh`` and ``spilled_kwh``.
    sources : dict of float arrays [members, 12]
        From `darkspell.simulation.charger_energy.taken_from_chargers`.

    Returns
    -------
    pandas.DataFrame
        `COLUMNS`; energies are means over the members [kWh], with the 95 % interval of the mean. Hours are
        those that an engine, a shore charger or the generator runs, with their interval; not a number for what has no
        such hours.
        The generator is held back to what is taken, so it offers no more than that.
    """
    import pandas as pd

    study, calendar, parameter_draw = system.study, system.calendar, system.parameter_draw
    shares = _by_array(system)
    taken = {name: share * months["array_kwh"] for name, share in shares.items()}
    all_offered = months["array_kwh"] + months["spilled_kwh"]
    offered = {name: share * all_offered for name, share in shares.items()}
    kinds, chargers = dict.fromkeys(study.arrays, "array"), {}
    for name, row in study.chargers.items():
        label = name if name not in kinds else f"{name} ({row.kind})"
        offered[label], taken[label] = sources[f"{name}/offered"], sources[f"{name}/taken"]
        kinds[label], chargers[label] = row.kind, system.chargers[name]
    hours = {name: _hours(chargers.get(name), offered[name]) for name in kinds}
    if study.generator is not None:
        kinds[GENERATOR] = "generator"
        offered[GENERATOR] = taken[GENERATOR] = sources[f"{GENERATOR}/taken"]
        hours[GENERATOR] = sources[f"{GENERATOR}/hours"]
    rows, order = [], calendar.month_order
    for name, kind in kinds.items():
        values = np.asarray(taken[name], float)[:, order]
        low, high, _ = bounded_intervals(values, parameter_draw, ["taken_kwh"] * 12, 0.0, study.engine.seed)
        ran, least, most = _known_hours(hours[name], order, parameter_draw, study.engine.seed)
        rows.append(
            pd.DataFrame(
                {
                    "month": order + 1,
                    "source": name,
                    "kind": kind,
                    "hours": significant(ran),
                    "hours_low": significant(least),
                    "hours_high": significant(most),
                    "offered_kwh": significant(offered[name].mean(axis=0)[order]),
                    "taken_kwh": significant(values.mean(axis=0)),
                    "taken_kwh_low": significant(low),
                    "taken_kwh_high": significant(high),
                    "n": len(parameter_draw),
                }
            )
        )
    return pd.concat(rows, ignore_index=True)


def _hours(charger, offered):
    """Hours by member and month that a charger of one power runs, from what it offers [kWh]; [members, 12]."""
    if charger is None or charger.series is not None:
        return None
    return 1000.0 * np.asarray(offered) / charger.watts


def _known_hours(hours, order, parameter_draw, seed):
    """Mean hours by month with the 95 % interval, in the order of the study year; three arrays [12]."""
    if hours is None:
        return (np.full(12, np.nan),) * 3
    values = np.asarray(hours, float)[:, order]
    low, high, _ = bounded_intervals(values, parameter_draw, ["engine_h"] * 12, 0.0, seed)
    return values.mean(axis=0), low, high


def alternator_hours(system, sources):
    """Hours of a year that the engines run to charge, for the summary.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    sources : dict of float arrays [members, 12]
        From `darkspell.simulation.charger_energy.taken_from_chargers`.

    Returns
    -------
    ``{key: (values, unit)}``, empty without one
    """
    engines = [name for name, row in system.study.chargers.items() if row.kind == "alternator"]
    if not engines:
        return {}
    hours = sum(_hours(system.chargers[name], sources[f"{name}/offered"]).sum(axis=1) for name in engines)
    return {"alternator_h": (hours, "h/year")}


def _by_array(system):
    names = list(system.study.arrays)
    shares = np.ones((1, 12)) if len(names) == 1 else array_shares(system)
    return dict(zip(names, shares, strict=True))
