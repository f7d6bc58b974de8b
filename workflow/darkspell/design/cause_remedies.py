"""What helps against a cause of loss that larger sizes do not cure: cold, heat, voltage, a limited charge current."""

import numpy as np

from darkspell.core.calendar import HOURS
from darkspell.core.errors import StudyError
from darkspell.core.rounding import jsonable
from darkspell.design.whatif_runner import run_studies
from darkspell.simulation.system import build_system
from darkspell.statistics.registry import yearly_of
from darkspell.statistics.site_figures import probability_met, site_figures

# A cable of five times the cross-section, or a fifth of the length; our choice.
CABLE_SHARE, LEAST_MOHM = 0.2, 0.5
SLOW_S = 120  # a cut-off that outlasts the start of a motor; our choice
HEATER_W_PER_WH = 0.025  # 60 W for 200 Ah at 12 V; our choice
INVERTER_V_PER_12V = 10.5  # cut-off of an inverter: common practice, no source
COOL_ROOM_C = 10.0, 30.0  # our choice
MORE_CURRENT = 2.0  # controller of twice the current; our choice


def remedies_of_cause(study, cause):
    """Changes that act on one cause.

    Parameters
    ----------
    study : darkspell.study.Study
    cause : str or None
        One of `darkspell.design.cause_words.CAUSES`.

    Returns
    -------
    dict
        ``{name: {dotted key: value}}``, names of `darkspell.design.cause_words.WORDS`; empty where only
        sizes and loads are a remedy.
    """
    makers = {
        "too_cold": _against_cold,
        "too_hot": _against_heat,
        "voltage": _against_sag,
        "charge_current": _more_current,
    }
    made = makers[cause](study) if cause in makers else {}
    return {name: changes for name, changes in made.items() if _possible(study, changes)}


def all_of_causes(study):
    """The changes of all causes.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    dict
        As `remedies_of_cause`.
    """
    cold = remedies_of_cause(study, "too_cold") if study.bank.chemistry in LITHIUM else {}
    cold |= remedies_of_cause(study, "too_hot") if study.bank.charge_temperature_max_c is not None else {}
    return cold | remedies_of_cause(study, "voltage") | remedies_of_cause(study, "charge_current")


LITHIUM = ("lfp", "nmc", "naion")  # kinds that a battery's electronics keep from charging in the cold


def _against_cold(study):
    bank, made = study.bank, {}
    if bank.location == "outdoors":
        made["indoors"] = {"bank.location": "indoors"}
    if bank.heater is None:
        power = round(HEATER_W_PER_WH * bank.capacity_ah * study.system.nominal_voltage_v, 1)
        made["heater"] = {"bank.heater": {"power_w": power}}
    if bank.chemistry in ("lfp", "nmc"):
        made["sodium_ion"] = {"bank.chemistry": "naion"}
        made["agm"] = {"bank.chemistry": "agm", "bank.capacity_ah": 2.0 * bank.capacity_ah}
    return made


def _against_heat(study):
    bank = study.bank
    if bank.location == "indoors" and bank.indoor_max_c <= COOL_ROOM_C[1]:
        return {}
    low, high = COOL_ROOM_C
    cooler = {"bank.location": "indoors", "bank.indoor_min_c": low, "bank.indoor_max_c": high}
    return {"cooler_indoors": cooler}


def _against_sag(study):
    mohm, made = study.system.cable_resistance_mohm, {}
    if mohm > LEAST_MOHM:
        made["thicker_cable"] = {
            "system.cable_resistance_mohm": max(round(CABLE_SHARE * mohm, 3), LEAST_MOHM)
        }
    if any(load.supply == "ac" for load in study.loads.values()) and study.inverter_cutoff_v is None:
        own = INVERTER_V_PER_12V * study.system.nominal_voltage_v / 12.0
        made["own_inverter_cutoff"] = {"inverter.cutoff_voltage_v": own}
    starts = any(load.peak_watts > load.watts for load in study.loads.values())  # a pan outlasts any wait
    if starts and study.bank.cutoff_delay_s < SLOW_S:
        made["slower_cutoff"] = {"bank.cutoff_delay_s": SLOW_S}
    return made


def _more_current(study):
    limit = study.controller.current_limit_a
    if limit is None or study.controller.kind != "mppt":
        return {}
    return {"larger_controller": {"controller.current_limit_a": MORE_CURRENT * limit}}


def _possible(study, changes):
    """Whether the changed study is valid; another chemistry may clash with voltages that the study states."""
    try:
        study.with_changes(changes)
    except StudyError:
        return False
    return True


def try_remedies(system, site_of, cause, workers=None):
    """Simulate the remedies of a cause on the draws of the study.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    site_of : callable
        From a study to ``(climate, sky)``.
    cause : str or None
        One of `darkspell.design.cause_words.CAUSES`.
    workers : int, optional

    Returns
    -------
    list of dict
        ``remedy``, ``changes``, the target's ``statistic``, ``value`` (best guess), ``place_low``, ``place_high``,
        ``probability_met`` (of the first target); the best first.
    """
    study, target = system.study, system.study.target
    tried = remedies_of_cause(study, cause)
    if not tried:
        return []
    changed = [
        study.with_changes(changes).model_copy(update={"engine": study.engine}) for changes in tried.values()
    ]
    systems = [build_system(one, *site_of(one)) for one in changed]
    column, scale = yearly_of(target.statistic), HOURS if target.statistic == "lolp" else 1.0
    rows = []
    runs = run_studies(systems, 0, study.engine.members, workers)
    for (name, changes), members in zip(tried.items(), runs, strict=True):
        values = np.asarray(members[column], float)[:, None]
        demand = float(np.mean(members["demand_kwh"]))
        found = site_figures(values, system.parameter_draw, [column], demand, study.engine.seed)
        bounds = (found.value[0], found.place_low[0], found.place_high[0])
        rows.append(
            {"remedy": name, "changes": changes, "statistic": target.statistic}
            | dict(
                zip(("value", "place_low", "place_high"), (jsonable(x / scale) for x in bounds), strict=True)
            )
            | {"probability_met": jsonable(probability_met(found, target.at_most * scale)[0])}
        )
    return sorted(rows, key=lambda row: (row["value"], row["remedy"]))
