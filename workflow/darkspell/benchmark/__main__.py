"""Print what each stage costs: ``python -m darkspell.benchmark [study] [--members N]``.

Times are medians of repeated runs on one thread, in nanoseconds per member-hour (one synthetic year for
one hour); those on two threads are the time that passes over the member-hours of both. Ratios hold;
absolute times drift with the machine. Exit code 1 if a lane driver's machine code is not packed.
"""

import argparse
import sys
from concurrent.futures import ThreadPoolExecutor
from itertools import product
from time import perf_counter, thread_time

import numpy as np

from darkspell.bank import reference
from darkspell.bank import run_years as drive
from darkspell.bank.bank_results import run_block
from darkspell.bank.run_designs import TOTALS, run_designs
from darkspell.bank.run_years import FROM_FULL, NEVER, OUTPUTS, PER_AH, run_members, run_until
from darkspell.benchmark import everything, packed
from darkspell.chemistry.numbers import trimmed
from darkspell.climate import site_climate
from darkspell.core.batches import LANES
from darkspell.core.calendar import HOURS
from darkspell.design.grid import scales_of
from darkspell.loads.hourly_loads import load_block
from darkspell.monitor.all_monitors import error_statistics, readings
from darkspell.pipeline.stages import load_studies
from darkspell.simulation.run import simulate
from darkspell.simulation.system import build_system
from darkspell.statistics.autonomy import start_hours
from darkspell.weather.site_sky import sky_of

YEAR = HOURS + drive.WARM_UP
BLOCKS = 10  # of 64 designs in a call, as sizing makes them


def main(arguments=None):
    """Run the benchmark.

    Parameters
    ----------
    arguments : list of str, optional

    Returns
    -------
    int
        Exit code.
    """
    parser = argparse.ArgumentParser(prog="python -m darkspell.benchmark", description=__doc__)
    parser.add_argument("study", nargs="?", default="config/tarn_hut.yaml")
    parser.add_argument("--members", type=int, default=1000, help="for the whole chain (1000)")
    asked = parser.parse_args(arguments)
    entry = next(iter(load_studies([asked.study], asked.members).values()))
    system = build_system(entry.study, site_climate(entry.study, entry.path.parent), sky_of(entry.study))
    rows = stages(system)
    print(f"{'stage, one thread unless it says two':<58}{'ns per member-hour':>20}")
    for name, nanoseconds in rows:
        print(f"{name:<58}{nanoseconds:>20.2f}")
    by_name = dict(rows)
    ratio = by_name[NUMPY] / by_name[MEMBERS]
    print(f"\nThe NumPy hour costs {ratio:.1f} times the compiled one on the same members.")
    seconds = timed(lambda: simulate(system), 3, perf_counter)
    print(f"{asked.members} members, weather to statistics, all threads: {seconds:.2f} s")
    return report_packing()


MEMBERS = "bank, one design, lanes across members"
DESIGNS = "bank, sizing, lanes across designs (a pair)"
BOTH = "bank, sizing, two threads at once (a pair)"
NUMPY = "bank, NumPy reference over 1,024 members"


def stages(system):
    """Time of each stage on one batch of members.

    Parameters
    ----------
    system : darkspell.simulation.system.System

    Returns
    -------
    list of (str, float)
        Name, and ns per member-hour.
    """
    study, calendar = system.study, system.calendar
    members = np.arange(LANES)
    parameter_draw = members % study.engine.parameter_draws
    traces = system.traces(members, parameter_draw)
    scales, controls, c = system.per_ah_factors(), system.controls, system.chemistry
    given, short_c = traces.for_bank(), trimmed(c)
    bank = run_block(given, scales, controls, c)
    out = np.empty((len(OUTPUTS), HOURS, LANES), np.float32)
    lanes = sizing_lanes(system)
    totals, first = np.empty((len(TOTALS), lanes.shape[1]), np.float32), np.empty((36, LANES), np.int32)
    starts, ends = start_hours(calendar), (1440, np.float32(1e-4), NEVER)
    floors = tuple(map(np.float32, (0.01, 5.0, 0.97)))
    short, wide = HOURS // 12, 16
    many = [np.tile(array[:short], wide) for array in given]

    def seed_args():
        return members, parameter_draw, study.engine.seed

    def read_all():
        return readings(study, c, bank, traces, members)

    watched = everything.with_all_monitors(study)
    first_reading = read_all()[study.monitor][0]
    monitor = study.monitors[study.monitor]
    work = (
        ("weather, array and loads", lambda: system.traces(members, parameter_draw), HOURS),
        (
            "of which loads",
            lambda: load_block(system.appliances, calendar, *seed_args(), study.load_uncertainty_pct),
            HOURS,
        ),
        (MEMBERS, lambda: run_members(given, scales, controls, c, PER_AH, out), YEAR),
        (DESIGNS, lambda: run_designs(given, 0, lanes, controls, short_c, floors, totals), YEAR * BLOCKS),
        (BOTH, lambda: two_at_once(given, lanes, controls, short_c, floors), 2 * YEAR * BLOCKS),
        (NUMPY, lambda: reference.run_members(many, scales, controls, c, short), short * wide),
        (
            "autonomy, an hour of a walk",
            lambda: run_until(given, scales, controls, c, starts, FROM_FULL, ends, first),
            36 * 1440,
        ),
        (f"monitors, {len(study.monitors)} readings", read_all, HOURS),
        (
            "monitors, all three kinds (shunt, gauge, pack of two)",
            lambda: readings(watched, c, bank, traces, members),
            HOURS,
        ),
        ("monitor's errors", lambda: error_statistics(monitor, calendar, bank, first_reading), HOURS),
        *everything.rows(system),
    )
    return [(name, timed(call, *timing(name)) / hours / LANES * 1e9) for name, call, hours in work]


def timing(name):
    """Number of repetitions of a row, and its clock: processor time, or elapsed time with two threads.

    Parameters
    ----------
    name : str
    """
    return 3 if name == NUMPY else 7, perf_counter if "two threads" in name else thread_time


def sizing_lanes(system):
    """Factors of a grid of designs around the study's own, in the order of sizing.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    """
    study = system.study
    arrays = np.linspace(0.4, 2.0, BLOCKS) * study.array_wp
    banks = np.linspace(0.3, 2.0, LANES) * study.bank.capacity_ah
    return np.ascontiguousarray(scales_of(system, list(product(arrays, banks))).T)


def two_at_once(given, lanes, controls, c, floors):
    """Two members' designs on two threads.

    Parameters
    ----------
    given : object
        Years that the kernel reads, as `run_designs` takes them.
    lanes : float32 array [rows, designs]
        Designs by their factors.
    controls, c, floors : NamedTuple
        As of `run_designs`.
    """
    totals = [np.empty((len(TOTALS), lanes.shape[1]), np.float32) for _ in range(2)]
    with ThreadPoolExecutor(2) as pool:
        for member in range(2):
            pool.submit(run_designs, given, member, lanes, controls, c, floors, totals[member])


def timed(call, repeats, clock):
    """Median time of a call, after one call that may compile.

    Parameters
    ----------
    call : callable
    repeats : int
    clock : callable

    Returns
    -------
    float
        Seconds.
    """
    call()
    times = []
    for _ in range(repeats):
        begin = clock()
        call()
        times.append(clock() - begin)
    return float(np.median(times))


def report_packing():
    """Print how far the lane drivers are packed; 1 if one of them is not."""
    failed = 0
    for function in (run_members, run_designs, run_until):
        many, single = packed.counts(function)
        good = packed.is_packed(many, single)
        failed += not good
        word = "packed" if good else "NOT PACKED"
        print(f"{function.__name__}: {word}, {many} vector and {single} scalar float operations")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
