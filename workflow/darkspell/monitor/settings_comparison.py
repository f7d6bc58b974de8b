"""How to set a counter for this bank and system, what the common wrong value costs, and which monitor suits.

All of it on the same true years: the bank is run once, and read again by each variant.
"""

from typing import NamedTuple

import numpy as np

from darkspell.core.batches import over_batches
from darkspell.monitor.all_monitors import error_statistics, power_past, read_one, seen_current
from darkspell.monitor.settings_search import capacities, tuned
from darkspell.study.monitor_defaults import usual_settings, with_settings
from darkspell.study.monitors import Gauge, Pack

MEMBERS = 256
JUDGED = ("reading_error_p95_pct", "missed_warning_h", "false_alarm_h", "off_10_points_h")
LOW_CHARGE = (
    "low_charge_error_p95_pct"  # a kind of monitor is judged by it too: most hours of a year are near full
)
LEFT = 0.8  # as if the bank had lost a fifth since the capacity was set


class Variant(NamedTuple):
    """One monitor to try.

    Attributes
    ----------
    setting : key of the study, or the kind for a kind of monitor
    role : ``fitted``, ``as set``, ``wrong``, ``kind``, or ``other`` for a value that would serve, but less well
    value : what is set
    monitor : darkspell.study.monitors
    """

    setting: str
    role: str
    value: object
    monitor: object


def fitted_shunt(study):
    """The study's own shunt as label and chemistry suggest to set it, before any year is known.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    darkspell.study.monitors.Shunt
    """
    own = study.monitors[study.monitor]
    bare = own.model_copy(update={"set_up": "label"})
    usual = usual_settings(bare, *_of(study))
    names = (
        "capacity_set_ah",
        "ah_efficiency_set_pct",
        "full_voltage_v",
        "full_current_pct",
        "rate_exponent_set",
    )
    return own.model_copy(update={name: usual[name] for name in names} | {"full_dwell_min": 15.0})


def wrong_values(study, fitted):
    """The common wrong value of each setting.

    Parameters
    ----------
    study : darkspell.study.Study
    fitted : darkspell.study Shunt
        With the settings that serve best.

    Returns
    -------
    dict by key
    """
    neglected = fitted.model_copy(update={"set_up": "neglected"})
    usual = usual_settings(neglected, *_of(study))
    capacity = study.bank.capacity_ah
    if abs(capacity / fitted.capacity_set_ah - 1.0) < 0.05:
        capacity = round(fitted.capacity_set_ah / LEFT, 1)
    efficiency = usual["ah_efficiency_set_pct"]
    if fitted.ah_efficiency_set_pct > 99.0:
        efficiency = 95.0
    wrong = {
        "capacity_set_ah": capacity,
        "rate_exponent_set": usual["rate_exponent_set"],
        "ah_efficiency_set_pct": efficiency,
        "full_voltage_v": usual["full_voltage_v"],
        "full_current_pct": usual["full_current_pct"] if fitted.full_current_pct < 4 else 10.0,
        "full_dwell_min": 1.0,
    }
    return wrong


def variants(study, fitted):
    """Settings to try on a study's years, besides the fitted shunt: list of Variant.

    Parameters
    ----------
    study : darkspell.study.Study
    fitted : darkspell.study Shunt
        With the settings that serve best.

    Returns
    -------
    list of Variant
    """
    own = study.monitors[study.monitor]
    tried = [Variant("all", "fitted", "", fitted), Variant("all", "as set", "", own)]
    tried += [
        Variant(name, "wrong", value, fitted.model_copy(update={name: value}))
        for name, value in wrong_values(study, fitted).items()
    ]
    tried += [
        Variant("capacity_set_ah", "other", value, fitted.model_copy(update={"capacity_set_ah": value}))
        for value in capacities(study).values()
        if value != fitted.capacity_set_ah
    ]
    for kind, made in (("gauge", Gauge(kind="gauge")), ("pack", Pack(kind="pack"))):
        named = [one for one in study.monitors.values() if one.kind == kind]
        one = named[0] if named else with_settings(made, *_of(study))
        tried.append(
            Variant(kind, "kind", "", one.model_copy(update={"warn_below_soc_pct": own.warn_below_soc_pct}))
        )
    return tried


def try_variants(system, workers=None):
    """Read up to `MEMBERS` years of a study's own design through all variants.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    workers : int, optional

    Returns
    -------
    tried : list of Variant
    results : list of dict of float arrays [members]
        Of error statistics, in the order of `tried`.
    """
    some = system.with_members(slice(MEMBERS))
    study = system.study
    tried = variants(study, tuned(some, fitted_shunt(study)))

    def work(members, parameter_draw, count):
        traces = some.traces(members, parameter_draw)
        bank = some.bank(traces)
        asked = traces.all_essential + traces.deferrable
        seen = seen_current(bank, asked, traces.past_monitor, power_past(study, bank, traces, members))
        out = []
        for one in tried:
            name = study.monitor if one.monitor.kind == "shunt" else one.setting
            read = read_one(name, one.monitor, study, some.chemistry, bank, traces.temp_bank, members, seen)
            found = error_statistics(one.monitor, some.calendar, bank, read.soc) | read.counts
            if one.role in ("fitted", "kind"):
                found[LOW_CHARGE] = low_charge_error(read.soc, bank.soc)
            out.append({key: values[:count] for key, values in found.items()})
        return out

    batches = over_batches(work, some, workers)
    joined = [
        {key: np.concatenate([part[n][key] for part in batches]) for key in batches[0][n]}
        for n in range(len(tried))
    ]
    return tried, joined


def low_charge_error(reading, soc, below=0.5):
    """Error of a reading, exceeded in 5 % of the hours in which the bank holds less than half.

    Parameters
    ----------
    reading, soc : numpy.ndarray
        State of charge read, and true [-], shape [hours, L].
    below : float
        State of charge [-].

    Returns
    -------
    numpy.ndarray
        95th percentile of the absolute error [points], shape [L]; NaN for members without such hours.
    """
    error = np.abs(np.asarray(reading, float) - soc)
    low = np.asarray(soc) < below
    return np.array(
        [
            100.0 * np.quantile(error[low[:, k], k], 0.95) if low[:, k].any() else np.nan
            for k in range(error.shape[1])
        ]
    )


def settings_table(study, tried, results, parameter_draw, seed=0):
    """Rows of monitor_settings.csv: the setting sheet.

    Parameters
    ----------
    study : darkspell.study.Study
    tried : list of Variant
    results : list of dict of float arrays [members]
        Statistics of each variant.
    parameter_draw : int array [members]
    seed : int

    Returns
    -------
    pandas.DataFrame
        Columns ``group``, ``setting``, ``unit``, ``fitted`` (for this bank and system), ``as_set`` (in the
        study), ``wrong`` (the common wrong value), ``reason``, and what the wrong value does on the same
        years: ``error_fitted`` and ``error_wrong`` (error exceeded 5 % of the time) [points],
        ``missed_warning_fitted_h`` and ``missed_warning_wrong_h`` (hours of missed warnings a year), and the
        difference of each,
        ``error_increase_points`` and ``missed_warning_increase_h``, with ``_low`` and ``_high`` (95 %
        interval of the mean); ``error_as_set`` and ``missed_warning_as_set_h`` with all values as the study has
        them; ``n`` (years).
    """
    import pandas as pd

    from darkspell.core.rounding import significant
    from darkspell.monitor.settings_explanations import GROUPS, reasons
    from darkspell.statistics.intervals import difference_interval

    own, fitted = study.monitors[study.monitor], tried[0].monitor
    base, rows = results[0], []
    why = reasons(study, fitted, fitted_shunt(study), *_capacity_choice(tried, results))
    wrong = {
        one.setting: (one.value, found)
        for one, found in zip(tried, results, strict=True)
        if one.role == "wrong"
    }
    n = len(base["reading_error_p95_pct"])
    now = [results[1][name].mean() for name in ("reading_error_p95_pct", "missed_warning_h")]
    for group, settings in GROUPS.items():
        for setting, unit in settings:
            row = [group, setting, unit, getattr(fitted, setting), getattr(own, setting)]
            if setting not in wrong:
                rows.append((*row, "", why[setting], *[np.nan] * 10, *significant(np.array(now)), n))
                continue
            value, found = wrong[setting]
            means, harms = [], []
            for name in ("reading_error_p95_pct", "missed_warning_h"):
                a, b = base[name], found[name]
                bounds = difference_interval(a, b, parameter_draw[:n], seed=seed, unit_size=1.0)
                means += [a.mean(), b.mean()]
                harms += [(b - a).mean(), *bounds]
            numbers = (*means, *harms, *now)
            rows.append((*row, value, why[setting], *significant(np.array(numbers, float)), n))
    columns = (
        "group", "setting", "unit", "fitted", "as_set", "wrong", "reason", "error_fitted", "error_wrong",
        "missed_warning_fitted_h", "missed_warning_wrong_h", "error_increase_points", "error_increase_low",
        "error_increase_high", "missed_warning_increase_h", "missed_warning_increase_low_h",
        "missed_warning_increase_high_h", "error_as_set", "missed_warning_as_set_h", "n",
    )  # fmt: skip
    return pd.DataFrame(rows, columns=columns)


def _capacity_choice(tried, results):
    """The capacity that was not chosen [Ah], and error and missed warnings of the chosen and of that; or None."""
    other = [n for n, one in enumerate(tried) if one.role == "other"]
    if not other:
        return ()
    cost = [
        tuple(float(results[n][name].mean()) for name in ("reading_error_p95_pct", "missed_warning_h"))
        for n in (0, other[0])
    ]
    return tried[other[0]].value, cost


def kinds_table(tried, results, parameter_draw, seed=0):
    """Rows of monitor_kinds.csv: each kind of monitor on the same years, and how it differs from a well-set shunt.

    Parameters
    ----------
    tried : list of Variant
    results : list of dict of float arrays [members]
        Statistics of each variant.
    parameter_draw : int array [members]
    seed : int

    Returns
    -------
    pandas.DataFrame
        Columns ``kind``, ``statistic``, ``mean``, ``mean_low``, ``mean_high``, ``difference`` (from the
        shunt), ``low``, ``high`` (95 %) and ``verdict``; ``n`` (years).
    """
    import pandas as pd

    from darkspell.core.rounding import significant
    from darkspell.statistics.intervals import difference_interval, mean_intervals, verdict

    base, rows = results[0], []
    for one, found in zip(tried, results, strict=True):
        if one.role not in ("fitted", "kind"):
            continue
        kind = one.monitor.kind
        for name in (*JUDGED, LOW_CHARGE):
            known = np.isfinite(found[name])
            if not known.any():
                continue
            values, first = found[name][known], base[name][known]
            draw = parameter_draw[: len(known)][known]
            low, high, _ = mean_intervals(values[:, None], draw, seed=seed)
            pair = difference_interval(first, values, draw, seed=seed, unit_size=1.0)
            pair = (0.0, 0.0) if kind == "shunt" else pair
            numbers = (values.mean(), low[0], high[0], (values - first).mean(), *pair)
            said = "" if kind == "shunt" else verdict(*pair)
            rows.append((kind, name, *significant(np.array(numbers, float)), said, len(values)))
    columns = (
        "kind", "statistic", "mean", "mean_low", "mean_high", "difference", "low", "high", "verdict", "n"
    )  # fmt: skip
    return pd.DataFrame(rows, columns=columns)


def _of(study):
    """What the usual settings follow from, after the monitor."""
    return study.bank, study.system.nominal_voltage_v, study.controller.absorption_voltage_v
