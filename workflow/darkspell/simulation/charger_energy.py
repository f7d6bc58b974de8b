"""Energy that each charger offers and that is taken from it, by month."""

import numpy as np

from darkspell.chargers.hourly_power import charger_block
from darkspell.statistics.reliability import monthly_energy

GENERATOR = "the generator"  # no name of a study's own has a space


def taken_from_chargers(system, members, parameter_draw, traces, bank):
    """Energy of each charger by month, of a block of members.

    What the bank and the loads take of all chargers together is shared out hour by hour as they offer it.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    members, parameter_draw : int arrays [lanes]
    traces : darkspell.simulation.input_series.TraceBlock
    bank : darkspell.bank.bank_results.BankBlock

    Returns
    -------
    dict of float arrays [lanes, 12]
        ``<name>/offered`` and ``<name>/taken`` [kWh], January first; of the generator ``<name>/taken`` and
        ``<name>/hours``.
    """
    seed, out = system.study.engine.seed, {}
    if system.study.generator is not None:
        out[f"{GENERATOR}/taken"] = monthly_energy(bank.engine_used, system.calendar)
        out[f"{GENERATOR}/hours"] = 1000.0 * monthly_energy(bank.running, system.calendar)
    if not system.chargers:
        return out
    share = np.divide(bank.aux_used, traces.aux, out=np.zeros_like(traces.aux), where=traces.aux > 0.0)
    for name, charger in system.chargers.items():
        power = charger_block(charger, system.calendar, members, parameter_draw, seed)
        out[f"{name}/offered"] = monthly_energy(power, system.calendar)
        out[f"{name}/taken"] = monthly_energy(power * share, system.calendar)
    return out
