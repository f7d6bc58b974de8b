"""The best settings of a counter on the study's own years: small errors, and no more missed warnings.

The label's capacity and what the chemistry suggests are where the search begins; a value takes their place only if
the years show that it is better. One batch of members is read again by each value tried.
"""

import numpy as np

from darkspell.core.batches import LANES
from darkspell.core.constants import constant
from darkspell.monitor.all_monitors import power_past, read_one, seen_current
from darkspell.monitor.reading_errors import reading_errors
from darkspell.study.monitor_defaults import usual_settings

ROUNDS = 2


def tuned(system, monitor):
    """A shunt with the capacity, the efficiency and the criteria of full that suit the study's years.

    What a setting costs is the error that is passed for 5 hours of 100 [points] and `missed_warning_weight` for each
    hour of missed warning a year, averaged over the years. A setting keeps what it has unless another value saves
    more than `tuning_slack` and misses no more warnings.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    monitor : darkspell.study.monitors.Shunt
        Every setting filled, as `darkspell.monitor.settings_comparison.fitted_shunt` gives it.

    Returns
    -------
    darkspell.study.monitors.Shunt
    """
    judge = _judge(system)
    slack = constant("monitor", "tuning_slack")
    best, (least, comfort) = monitor, judge(monitor)
    for _ in range(ROUNDS):
        begun = best
        for name, values in candidates(system.study, best).items():
            tried = [best.model_copy(update={name: value}) for value in values]
            found = [(least, comfort) if one == best else judge(one) for one in tried]
            costs = [cost if hours <= comfort else np.inf for cost, hours in found]
            at = int(np.argmin(costs))
            if costs[at] < least - slack:
                best, (least, comfort) = tried[at], found[at]
        if best == begun:
            break
    return best


def candidates(study, monitor):
    """Values to try of each setting, in rising order.

    Parameters
    ----------
    study : darkspell.study.Study
    monitor : darkspell.study Shunt

    Returns
    -------
    dict by key
    """
    volts = study.system.nominal_voltage_v / 12.0
    set_point = study.absorption_v
    below = constant("monitor", "tuning_below_v")
    usual = monitor.ah_efficiency_set_pct
    return {
        "capacity_set_ah": sorted({monitor.capacity_set_ah, *capacities(study).values()}),
        "ah_efficiency_set_pct": sorted(
            {usual, *(float(e) for e in constant("monitor", "tuning_efficiencies"))}
        ),
        "full_voltage_v": sorted({monitor.full_voltage_v, *(round(set_point - v * volts, 2) for v in below)}),
        "full_current_pct": sorted({monitor.full_current_pct, *constant("monitor", "tuning_currents")}),
        "full_dwell_min": sorted({monitor.full_dwell_min, *constant("monitor", "tuning_dwells")}),
    }


def capacities(study):
    """What a counter's capacity may be set to [Ah]: the label's, and the present one at the slow rate.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    dict
    """
    own = study.monitors[study.monitor]
    return {
        name: usual_settings(
            own.model_copy(update={"set_up": name}), study.bank, study.system.nominal_voltage_v
        )["capacity_set_ah"]
        for name in ("label", "fitted")
    }


def _judge(system):
    """Function of a monitor: cost [points] and missed warnings [h/year] on the first batch of the study's years."""
    study, some = system.study, slice(0, LANES)
    count = system.members[some].size
    fill = np.minimum(np.arange(LANES), count - 1)
    members, parameter_draw = system.members[fill], system.parameter_draw[fill]
    traces = system.traces(members, parameter_draw)
    bank = system.bank(traces)
    asked = traces.all_essential + traces.deferrable
    seen = seen_current(bank, asked, traces.past_monitor, power_past(study, bank, traces, members))
    warn = study.monitors[study.monitor].warn_below_soc_pct / 100.0

    weight = constant("monitor", "missed_warning_weight")

    def judge(monitor):
        read = read_one(
            study.monitor, monitor, study, system.chemistry, bank, traces.temp_bank, members, seen
        )
        errors = reading_errors(read.soc, bank.soc, warn, system.calendar)
        error, comfort = (float(part[:count].mean()) for part in (errors.p95_pct, errors.missed_warning_h))
        return error + weight * comfort, comfort

    return judge
