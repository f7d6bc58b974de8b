"""All monitors of a study on one block of members."""

from darkspell.monitor.gauge import gauge_block
from darkspell.monitor.reading import reading_errors
from darkspell.monitor.settings import shunt_settings
from darkspell.monitor.shunt import seen_current, shunt_block

STATISTICS = {
    "reading_error_mean_pct": ("mean_pct", "%"),
    "reading_error_p95_pct": ("p95_pct", "%"),
    "off_5_points_h": ("off_5_h", "h/year"),
    "off_10_points_h": ("off_10_h", "h/year"),
    "off_20_points_h": ("off_20_h", "h/year"),
    "false_comfort_h": ("false_comfort_h", "h/year"),
    "false_warning_h": ("false_warning_h", "h/year"),
}
RESETS = {"reset_days": "days/year", "premature_reset_days": "days/year"}


def readings(study, chemistry, bank, traces, members):
    """Read a block through every monitor of the study.

    Parameters
    ----------
    study : darkspell.study.Study
    chemistry : darkspell.bank.chemistry.ChemistryNumbers
    bank : darkspell.bank.block.BankBlock
    traces : darkspell.traces.TraceBlock
    members : int array [lanes]

    Returns
    -------
    dict of (reading, counts)
        By monitor's name: state of charge read, a fraction, float32 [8760, lanes]; and, for a shunt,
        `RESETS` as a dict of arrays [lanes] (empty for a gauge).
    """
    seen = seen_current(bank, traces.all_essential, traces.deferrable, traces.past_monitor)
    out = {}
    for name, monitor in study.monitors.items():
        if monitor.kind == "gauge":
            nominal = study.system.nominal_voltage_v
            out[name] = gauge_block(bank.voltage, study.bank.chemistry, nominal), {}
            continue
        block = shunt_block(
            bank,
            traces.temp_bank,
            chemistry,
            shunt_settings(name, monitor),
            members,
            study.engine.seed,
            seen=seen,
        )
        counts = block.reset_days.astype(float), block.premature_days.astype(float)
        out[name] = block.reading, dict(zip(RESETS, counts, strict=True))
    return out


def error_statistics(monitor, calendar, bank, reading):
    """How far one reading is from the truth; dict of float arrays [lanes] by `STATISTICS`."""
    errors = reading_errors(reading, bank.soc, monitor.warn_below_soc_pct / 100.0, calendar)
    return {name: getattr(errors, field) for name, (field, _) in STATISTICS.items()}
