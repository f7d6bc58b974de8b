"""Figures that safety asks for: the highest charging voltage, and the air that carries hydrogen away."""

import numpy as np

from darkspell.core.constants import constant
from darkspell.core.messages import _
from darkspell.hand_check.threshold_warnings import charging_voltages
from darkspell.hand_check.warning import Finding

TOUCH_VOLTAGE = (
    60.0  # V, direct current: where extra-low voltage ends without further measures (IEC 61140; memory)
)


def highest_charging_voltage(study, check):
    """Highest voltage that the chargers hold at the bank, at its coldest.

    Parameters
    ----------
    study : darkspell.study.Study
    check : darkspell.hand_check.calculation.HandCheck

    Returns
    -------
    float
        [V].
    """
    coldest = float(check.temp_bank.min())
    if study.bank.location == "outdoors":
        record = study.site.record_low_temperature_c
        coldest = (
            coldest - constant("hand_check", "cold_margin_k") if record is None else min(coldest, record)
        )
    return float(charging_voltages(study, np.array([coldest, float(check.temp_bank.max())])).max())


def ventilation(study):
    """Air flow that keeps hydrogen safe: Q = 0.05 n I C / 1000 (IEC 62485-2, vented and valve-regulated cells).

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    float
        [m3/h]; 0 for cells that give off no hydrogen.
    """
    gas = constant("hand_check", study.bank.chemistry, "gas_current_ma_per_ah")
    return 0.05 * study.cells * gas * study.bank.capacity_ah / 1000.0


def safety_warnings(study, check):
    """Warnings on a charging voltage that loads may not survive, and on one that people may not touch.

    Parameters
    ----------
    study : darkspell.study.Study
    check : darkspell.hand_check.calculation.HandCheck

    Yields
    ------
    Finding
    """
    volts, nominal = highest_charging_voltage(study, check), study.system.nominal_voltage_v
    survived = study.system.load_voltage_max_v
    usual = constant("hand_check", "load_voltage_over_nominal") * nominal
    if volts > (usual if survived is None else survived):
        bound = _("{usual:.0f} V, where equipment for it commonly ends").format(usual=usual)
        if survived is not None:
            bound = _("the {survived:g} V that the loads survive").format(survived=survived)
        text = _("The bank is charged with up to {volts:.1f} V: more than {bound}.").format(
            volts=volts, bound=bound
        )
        cure = _(
            "Loads that survive it, a converter before them, or a lower charging voltage as the maker allows."
        )
        yield Finding("system.load_voltage_max_v", round(volts, 1), "V", text, cure)
    if volts > TOUCH_VOLTAGE:
        text = _(
            "The bank is charged with up to {volts:.1f} V: beyond {TOUCH_VOLTAGE:g} V touch may be dangerous."
        ).format(volts=volts, TOUCH_VOLTAGE=TOUCH_VOLTAGE)
        cure = _("Protection against electric shock as the local code asks (IEC 60364-4-41).")
        yield Finding("system.nominal_voltage_v", nominal, "V", text, cure)
