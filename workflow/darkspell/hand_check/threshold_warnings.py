"""Voltages that the study waits for, held against what its chargers give."""

import numpy as np

from darkspell.bank.reference_laws import temperature_terms
from darkspell.chemistry.numbers import chemistry_numbers
from darkspell.core.calendar import MONTH_NAMES
from darkspell.core.constants import constant
from darkspell.core.messages import _
from darkspell.hand_check.formulas import cold_share
from darkspell.hand_check.warning import Finding


def level_findings(study, check):
    """Warnings on levels that come too late or never: of a generator, a reconnection, monitors' full marks.

    Parameters
    ----------
    study : darkspell.study.Study
    check : darkspell.hand_check.calculation.HandCheck

    Yields
    ------
    Finding
    """
    yield from _generator(study, check)
    chargers = charging_voltages(study, check.temp_bank)
    back = study.bank.reconnect_voltage_v
    if back is not None and back > chargers.max():
        text = _(
            "The chargers hold {max:.1f} V at most: loads come back by the state of charge alone."
        ).format(max=chargers.max())
        cure = _("Some tenths of a volt below {min:.1f} V, or none.").format(min=chargers.min())
        yield Finding("bank.reconnect_voltage_v", back, "V", text, cure)
    for name, monitor in study.monitors.items():
        if monitor.kind != "shunt" or monitor.full_voltage_v <= chargers.min():
            continue
        short = chargers < monitor.full_voltage_v
        when = (
            _("never")
            if short.all()
            else _("not in {months}").format(months=_months(short, check.month_order))
        )
        text = _("The chargers reach it {when}; until then the count drifts without a reset.").format(
            when=when
        )
        cure = _("A little below {min:.1f} V, the lowest that they hold at the bank's temperatures.").format(
            min=chargers.min()
        )
        yield Finding(f"monitors.{name}.full_voltage_v", monitor.full_voltage_v, "V", text, cure)


def _generator(study, check):
    """A cold bank cuts its loads off with much charge left: a generator waiting for less starts after that."""
    if study.generator is None:
        return
    bank, start = study.bank, study.generator.start_soc_pct
    coldest = check.temp_bank.min() - (
        constant("hand_check", "cold_margin_k") if bank.location == "outdoors" else 0.0
    )
    out = float(cold_share(bank.chemistry, coldest))
    off = 100.0 * max(1.0 - out, 1.0 - bank.depth_limit_pct / 100.0)
    if start <= off:
        text = _(
            "At {coldest:.0f} degC the bank lets out {out:.0f} % of its charge: loads go off with "
            "{off:.0f} % left, before the generator starts."
        ).format(coldest=coldest, out=100 * out, off=off)
        cure = _("Start it at {off:.0f} % or more, or keep the bank warmer.").format(off=off + 10)
        yield Finding("generator.start_soc_pct", start, "%", text, cure)


def charging_voltages(study, temp_bank):
    """Voltage that the chargers hold at given bank temperatures.

    Parameters
    ----------
    study : darkspell.study.Study
    temp_bank : float array
        [degC].

    Returns
    -------
    float array
        [V].
    """
    c = chemistry_numbers(
        study.bank.chemistry, study.system.nominal_voltage_v, absorption=study.controller.absorption_voltage_v
    )
    return temperature_terms(np.asarray(temp_bank, float), c).setpoint


def _months(chosen, order):
    names = [_(MONTH_NAMES[m]) for m in order if chosen[m]]
    *first, last = names
    return _("{first} and {last}").format(first=", ".join(first), last=last) if first else last
