"""Daily energy use by load and month, as the simulation expects it."""

from itertools import chain

import numpy as np
import pandas as pd

from darkspell.core.calendar import MONTH_NAMES
from darkspell.core.messages import N_
from darkspell.hand_check.formulas import bank_temperature
from darkspell.loads.budget import INVERTER, budget_of
from darkspell.loads.occupancy import MONTH_OF_DATE

STANDING, HEATER = "standing draw", "bank heater"
PRIORITY = {
    "essential": N_("essential"),
    "deferrable": N_("can be shed"),
    "uninterruptible": N_("never switched off"),
    "critical": N_("critical"),
}
DAYS = np.bincount(MONTH_OF_DATE)


def energy_by_load(study, climate, appliances):
    """Expected energy a day of every load, of the standing draw, and of the bank's heater where there is one.

    Parameters
    ----------
    study : darkspell.study.Study
    climate : darkspell.climate.SiteClimate
    appliances : list of darkspell.loads.budget.Appliance

    Returns
    -------
    dict of numpy.ndarray
        Energy [Wh/day], shape [12], January first, by name of the load.
    """
    energy = budget_of(appliances, climate)
    energy[STANDING] = np.full(12, study.self_consumption_w * 24.0)
    if study.bank.heater:
        _, heat = bank_temperature(study.bank, climate.temp_air_mean)
        energy[HEATER] = 24.0 * heat
    return energy


def load_budget(study, climate, appliances):
    """Loads with power, hours, priority and energy by month, and their sum.

    Parameters
    ----------
    study, climate, appliances
        As `energy_by_load` takes them.

    Returns
    -------
    pandas.DataFrame
        ``load, watts, count, hours_per_day, priority``, twelve columns such as ``jan_wh_day``, ``year_kwh``.
    """
    energy = energy_by_load(study, climate, appliances)
    rows = [[name, *_of_load(study, name), *by_month] for name, by_month in energy.items()]
    rows.append(["all", np.nan, np.nan, np.nan, "", *sum(energy.values())])
    months = [f"{name[:3].lower()}_wh_day" for name in MONTH_NAMES]
    table = pd.DataFrame(rows, columns=["load", "watts", "count", "hours_per_day", "priority", *months])
    table["year_kwh"] = table[months].to_numpy(float) @ DAYS / 1000.0
    return table


def _of_load(study, name):
    """Power of one [W], number, hours of a day, and priority of a load; NaN where it has none."""
    if name == STANDING:
        return study.self_consumption_w, 1, 24.0, ""
    if name == HEATER:
        return study.bank.heater.power_w, 1, np.nan, PRIORITY["uninterruptible"]
    if name == INVERTER:
        return study.inverter.no_load_w, 1, np.nan, ""
    load = dict(chain(study.loads.items(), study.measured_loads.items()))[name]
    parts = (getattr(load, key, np.nan) for key in ("watts", "count", "hours_per_day"))
    return (*parts, PRIORITY[load.tier])
