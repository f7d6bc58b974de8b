"""The settings of a counter that read nearest to the truth on the study's own years.

What the chemistry suggests is where the search begins; a value takes its place only if the years show that it
reads nearer. One batch of members is read again by each value tried.
"""

import numpy as np

from darkspell.bank.drive import LANES
from darkspell.constants import constant
from darkspell.monitor.reading import reading_errors
from darkspell.monitor.study import power_past, read_one, seen_current

ROUNDS = 2


def tuned(assembly, monitor):
    """A shunt with the efficiency and the criteria of full that suit the study's years.

    The error of a setting is that which is passed for 5 hours of 100, averaged over the years. A setting keeps
    what it has unless another value gains more than `tuning_slack`.

    Parameters
    ----------
    assembly : darkspell.assembly.Assembly
    monitor : darkspell.study.monitors.Shunt
        Every setting filled, as `darkspell.monitor.fitting.fitted_shunt` gives it.

    Returns
    -------
    darkspell.study.monitors.Shunt
    """
    error = _judge(assembly)
    slack = constant("monitor", "tuning_slack")
    best, least = monitor, error(monitor)
    for _ in range(ROUNDS):
        begun = best
        for name, values in candidates(assembly.study, best).items():
            tried = [best.model_copy(update={name: value}) for value in values]
            errors = [least if one == best else error(one) for one in tried]
            at = int(np.argmin(errors))
            if errors[at] < least - slack:
                best, least = tried[at], errors[at]
        if best == begun:
            break
    return best


def candidates(study, monitor):
    """Values to try of each setting, in rising order; dict by key."""
    volts = study.system.nominal_voltage_v / 12.0
    set_point = constant("bank", study.bank.chemistry, "absorption_v_cell") * study.cells
    below = constant("monitor", "tuning_below_v")
    usual = monitor.ah_efficiency_set_pct
    return {
        "ah_efficiency_set_pct": sorted(
            {usual, *(float(e) for e in constant("monitor", "tuning_efficiencies"))}
        ),
        "full_voltage_v": sorted({monitor.full_voltage_v, *(round(set_point - v * volts, 2) for v in below)}),
        "full_current_pct": sorted({monitor.full_current_pct, *constant("monitor", "tuning_currents")}),
        "full_dwell_min": sorted({monitor.full_dwell_min, *constant("monitor", "tuning_dwells")}),
    }


def _judge(assembly):
    """Function of a monitor: its error on the first batch of the study's years [points]."""
    study, some = assembly.study, slice(0, LANES)
    count = assembly.members[some].size
    fill = np.minimum(np.arange(LANES), count - 1)
    members, world = assembly.members[fill], assembly.world[fill]
    traces = assembly.traces(members, world)
    bank = assembly.bank(traces, members)
    asked = traces.all_essential + traces.deferrable
    seen = seen_current(bank, asked, traces.past_monitor, power_past(study, bank, traces, members))
    warn = study.monitors[study.monitor].warn_below_soc_pct / 100.0

    def error(monitor):
        read = read_one(
            study.monitor, monitor, study, assembly.chemistry, bank, traces.temp_bank, members, seen
        )
        return float(reading_errors(read.soc, bank.soc, warn, assembly.calendar).p95_pct[:count].mean())

    return error
