"""One design with everything on: a study's own, and what it lacks of chargers, controls and monitors."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np

from darkspell.core.batches import LANES
from darkspell.core.calendar import HOURS
from darkspell.monitor.all_monitors import readings
from darkspell.simulation.system import build_system

THREADS, BATCHES = 2, 4
BANK = "everything on: bank and all monitors, two threads"
WHOLE = "everything on: weather to monitors, two threads"


def everything_on(study):
    """The study with a generator, an engine, float, reconnection by voltage, a heater and a monitor of each kind.

    What it has already stays as it is.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    darkspell.study.Study
    """
    nominal, capacity = study.system.nominal_voltage_v, study.bank.capacity_ah
    lacking = {}
    if study.generator is None:
        lacking["generator"] = {"charge_w": 0.1 * capacity * nominal}
    if study.bank.absorption_h is None:
        lacking["bank.absorption_h"] = 2.0
    if study.bank.reconnect_voltage_v is None:
        lacking["bank.reconnect_voltage_v"] = 1.12 * nominal
    if study.bank.heater is None:
        lacking["bank.heater"] = {"power_w": 30.0}
    if not study.chargers:
        engine = {"kind": "alternator", "charger_a": 0.1 * capacity, "label_a": 0.4 * capacity}
        lacking["chargers.engine"] = engine | {"hours_per_day": 1.0, "chance_of_use_pct": 20.0}
    return with_all_monitors(study.with_changes(lacking))


def with_all_monitors(study):
    """The study with a monitor of each kind: shunt, gauge, electronics of two batteries.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    darkspell.study.Study
    """
    kinds = {monitor.kind for monitor in study.monitors.values()}
    return study.with_changes(
        {f"monitors.one_{kind}": {"kind": kind} for kind in ("shunt", "gauge", "pack") if kind not in kinds}
    )


def rows(system):
    """What is timed; list of (name, callable, hours that it runs `LANES` members).

    Parameters
    ----------
    system : darkspell.simulation.system.System
        Of the plain study.
    """
    full = build_system(everything_on(system.study), system.climate, system.sky)
    blocks = [np.arange(LANES) + LANES * n for n in range(BATCHES)]
    ready = [
        full.traces(members, members % full.study.engine.parameter_draws) for members in blocks[:THREADS]
    ]

    def read(members, traces):
        return readings(full.study, full.chemistry, full.bank(traces), traces, members)

    def whole(members, _traces):
        return read(members, full.traces(members, members % full.study.engine.parameter_draws))

    def on_threads(work):
        with ThreadPoolExecutor(THREADS) as pool:
            list(pool.map(lambda n: work(blocks[n], ready[n % THREADS]), range(BATCHES)))

    return [
        (name, lambda work=work: on_threads(work), BATCHES * HOURS)
        for name, work in ((BANK, read), (WHOLE, whole))
    ]
