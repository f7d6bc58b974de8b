"""Print what choosing costs: ``python -m darkspell.benchmark.design [study] [--members N] [--side N]``.

Wall and processor seconds of a square grid of designs, of the frontier alone on the same grid, and of forty
what-ifs with their intervals. Each is run once after a small run that compiles.
"""

import argparse
import sys
from time import perf_counter, process_time

import numpy as np

from darkspell.climate import site_climate
from darkspell.design.frontier import find_frontier
from darkspell.design.grid import run_grid, scales_of
from darkspell.design.whatif_runner import run_whatifs
from darkspell.pipeline.stages import load_studies
from darkspell.simulation.system import build_system
from darkspell.weather.site_sky import sky_of


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
    parser = argparse.ArgumentParser(prog="python -m darkspell.benchmark.design", description=__doc__)
    parser.add_argument("study", nargs="?", default="config/tarn_hut.yaml")
    parser.add_argument("--members", type=int, default=1000)
    parser.add_argument("--side", type=int, default=50, help="array sizes, and bank sizes (50)")
    parser.add_argument("--threads", type=int, default=None)
    asked = parser.parse_args(arguments)
    entry = next(iter(load_studies([asked.study], asked.members).values()))
    site = site_climate(entry.study, entry.path.parent), sky_of(entry.study)
    system = build_system(entry.study, *site)
    for name, work in works(system, site, asked):
        wall, busy = timed(work)
        print(f"{name:<58}{wall:>8.1f} s{busy:>8.1f} s of processor", flush=True)
    return 0


def works(system, site, asked):
    """What is timed, after a small run of each that compiles; (name, callable).

    Parameters
    ----------
    system : darkspell.simulation.system.System
    site : tuple
        Climate and sky of the study.
    asked : argparse.Namespace
        ``side``, ``members``, ``threads``.
    """
    study, side, years = system.study, asked.side, f"{asked.members} years"
    arrays = np.linspace(0.4, 2.0, side) * study.array_wp
    banks = np.linspace(0.3, 2.0, side) * study.bank.capacity_ah
    designs = np.array([(a, b) for a in arrays for b in banks])
    scales = scales_of(system, designs).reshape(side, side, -1)
    few = system.with_members(slice(64))
    target, threads = study.target, asked.threads
    run_grid(few, designs[:64], threads)

    def frontier():
        found = find_frontier(system, scales, target.statistic, target.at_most, threads)
        share = found.runs / (side * side * asked.members)
        print(f"(the frontier ran {share:.1%} of the grid's years)")

    sets = {
        f"bank_{ah:.0f}": {"bank.capacity_ah": round(float(ah), 1)}
        for ah in np.linspace(0.5, 2.0, 40) * study.bank.capacity_ah
    }
    yield f"{side * side} designs x {years}, full bank", lambda: run_grid(system, designs, threads)
    yield f"the frontier of {side} arrays x {side} banks x {years}", frontier
    yield (
        f"40 what-ifs x {years}, with intervals",
        lambda: run_whatifs(system, lambda _: site, sets, threads),
    )


def timed(work):
    """Time of a call.

    Parameters
    ----------
    work : callable

    Returns
    -------
    wall, busy : float
        Elapsed time and processor time [s].
    """
    wall, busy = perf_counter(), process_time()
    work()
    return perf_counter() - wall, process_time() - busy


if __name__ == "__main__":
    sys.exit(main())
