"""All monitors of a study on one block of members."""

from typing import NamedTuple

import numpy as np

from darkspell.monitor.internal_bms import pack_counted, shown_together
from darkspell.monitor.reading_errors import reading_errors
from darkspell.monitor.settings import instrument_errors, pack_settings, shunt_settings
from darkspell.monitor.shunt import Counted, ShuntBlock, counters_block, seen_current
from darkspell.monitor.voltage_gauge import study_gauge
from darkspell.statistics.registry import mean_units

STATISTICS = {
    "reading_error_mean_pct": "mean_pct",
    "reading_error_p95_pct": "p95_pct",
    "off_5_points_h": "off_5_h",
    "off_10_points_h": "off_10_h",
    "off_20_points_h": "off_20_h",
    "missed_warning_h": "missed_warning_h",
    "false_alarm_h": "false_alarm_h",
}
RESETS = mean_units(("reset_days", "premature_reset_days"))
COUNTED = mean_units(("discharge_counted_ah",))
APART = mean_units(("batteries_apart_10_h",))


class Reading(NamedTuple):
    """What a monitor shows, and what it does besides.

    Attributes
    ----------
    soc : state of charge read, a fraction, float32 [8760, lanes]
    counts : dict of float arrays [lanes]
        `RESETS` and `COUNTED` of what counts ampere-hours, `APART` of several batteries.
    """

    soc: np.ndarray
    counts: dict


def readings(study, chemistry, bank, traces, members, monitors=None):
    """Read a block through every monitor of the study.

    Parameters
    ----------
    study : darkspell.study.Study
    chemistry : darkspell.chemistry.numbers.ChemistryNumbers
    bank : darkspell.bank.bank_results.BankBlock
    traces : darkspell.simulation.input_series.TraceBlock
    members : int array [lanes]
    monitors : dict, optional
        Monitors by name in place of the study's own, every setting filled.

    Returns
    -------
    dict of Reading
        By monitor's name.
    """
    asked = traces.all_essential + traces.deferrable if traces.past_monitor.any() else traces.deferrable
    seen = seen_current(bank, asked, traces.past_monitor, power_past(study, bank, traces, members))
    monitors = study.monitors if monitors is None else monitors
    return read_all(monitors, study, chemistry, bank, traces.temp_bank, members, seen)


def read_one(name, monitor, *block):
    """Read a block through one monitor.

    Parameters
    ----------
    name : str
    monitor : darkspell.study monitor
    block
        The other arguments of `read_all`.

    Returns
    -------
    `Reading`
    """
    return read_all({name: monitor}, *block)[name]


def read_all(monitors, study, chemistry, bank, temp, members, seen):
    """Read a block through monitors by name, those that count on one walk.

    Parameters
    ----------
    monitors : dict of Monitor
        By name.
    study : Study
    chemistry : Chemistry
    bank : bank.BankYear
        Hourly bank of the block.
    temp : float64 [8760, lanes]
        Temperature of the bank [degC].
    members : int [lanes]
    seen : dict or None
        Where given, what a display shows hour by hour is kept in it.

    Returns
    -------
    dict of Reading in their order
    """
    seed, counted = study.engine.seed, {}
    for name, monitor in monitors.items():
        if monitor.kind == "shunt":
            settings = shunt_settings(name, monitor)
            errors = instrument_errors(settings, members, seed)
            counted[name] = Counted(settings, [errors], past=seen is not None)
        elif monitor.kind == "pack":
            settings = pack_settings(name, monitor, study.bank.capacity_ah)
            counted[name] = pack_counted(settings, monitor, members, seed)
    walked = {}
    if counted:
        some = list(counted.values())
        walked = counters_block(bank, temp, chemistry, some, members, seed, seen)
        walked = dict(zip(counted, walked, strict=True))
    out = {}
    for name, monitor in monitors.items():
        if monitor.kind == "gauge":
            out[name] = Reading(study_gauge(name, monitor, study, chemistry, bank, temp, members), {})
            continue
        block = walked[name]
        if monitor.kind == "shunt":
            block = ShuntBlock(block.reading, *block.counts[0], block.discharged[0])
            out[name] = Reading(block.reading, _counts(block))
        else:
            block = shown_together(block)
            apart = {"batteries_apart_10_h": block.apart_hours.astype(float)}
            out[name] = Reading(block.reading, _counts(block) | apart)
    return out


def _counts(block):
    return {
        "reset_days": block.reset_days.astype(float),
        "premature_reset_days": block.premature_days.astype(float),
        "discharge_counted_ah": block.discharged,
    }


def power_past(study, bank, traces, members):
    """Charging power that does not pass the shunt [W], float32 [8760, lanes]; None if all of it passes.

    Parameters
    ----------
    study : darkspell.study.Study
    bank : darkspell.bank.bank_results.BankBlock
    traces : darkspell.simulation.input_series.TraceBlock
    members : int array [lanes]

    Returns
    -------
    float32 array [8760, lanes], or None
        [W]; None if all of it passes.
    """
    arrays = study.controller.bypasses_shunt
    names = [name for name, row in study.chargers.items() if row.bypasses_shunt]
    if not arrays and not names:
        return None
    total = bank.array_used.copy() if arrays else np.zeros_like(bank.array_used)
    if names:
        from darkspell.chargers.expected_charge import chargers_from
        from darkspell.chargers.hourly_power import charger_block
        from darkspell.core.calendar import Calendar
        from darkspell.pv.ratings import charging_voltage

        calendar = Calendar(study.site.start_month)
        chargers = chargers_from(study, calendar, charging_voltage(study))
        on_offer = sum(
            charger_block(chargers[n], calendar, members, members, study.engine.seed) for n in names
        )
        share = np.divide(bank.aux_used, traces.aux, out=np.zeros_like(traces.aux), where=traces.aux > 0.0)
        total += on_offer * share
    return total


def error_statistics(monitor, calendar, bank, reading, since=None, joint=None, count=None):
    """How far one reading is from the truth.

    `since`, `joint` and `count` as in `darkspell.monitor.reading_errors.reading_errors`.

    Parameters
    ----------
    monitor : darkspell.study monitor
    calendar : darkspell.core.calendar.Calendar
    bank : darkspell.bank.bank_results.BankBlock
    reading : float32 array [8760, lanes]
        State of charge on the display [-].
    since, joint, count : optional
        As of `darkspell.monitor.reading_errors.reading_errors`.

    Returns
    -------
    dict of float arrays [lanes] by `STATISTICS`
    """
    warn = monitor.warn_below_soc_pct / 100.0
    errors = reading_errors(reading, bank.soc, warn, calendar, since, joint, count)
    return {name: getattr(errors, field) for name, field in STATISTICS.items()}
