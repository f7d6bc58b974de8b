"""Members in batches of one width, on a pool of threads; results in the order of the members."""

import os
from concurrent.futures import ThreadPoolExecutor
from functools import cache

import numpy as np

from darkspell.core.calendar import HOURS

LANES = 64  # members computed side by side


def batches(members, parameter_draw):
    """Cut members into batches of `LANES`; the last is padded with its last member.

    Parameters
    ----------
    members : int array [members]
    parameter_draw : int array [members]

    Yields
    ------
    members, parameter_draw : int arrays [LANES]
    count : int
        How many of them are real.
    """
    for start in range(0, members.size, LANES):
        part = slice(start, min(start + LANES, members.size))
        count = part.stop - part.start
        fill = np.minimum(np.arange(LANES), count - 1)
        yield members[part][fill], parameter_draw[part][fill], count


def over_batches(work, system, workers=None, tell=None):
    """Call ``work(members, parameter draw, count)`` for every batch of a system.

    Parameters
    ----------
    work : callable
    system : darkspell.simulation.system.System
    workers : int, optional
        Threads; all processors if not given.
    tell : callable, optional
        Called with the share done, 0 to 1, after each batch.

    Returns
    -------
    list
        Results in the order of the members, in whichever order they were computed.
    """
    parts = list(batches(system.members, system.parameter_draw))
    results = []
    with ThreadPoolExecutor(workers or os.cpu_count()) as pool:
        try:
            for result in pool.map(lambda part: work(*part), parts):
                results.append(result)
                if tell:
                    tell(len(results) / len(parts))
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise
    return results


@cache
def no_power(lanes):
    """Shared zeros in the shape of an input series; never write to them.

    Parameters
    ----------
    lanes : int

    Returns
    -------
    float32 array [8760, lanes]
    """
    return np.zeros((HOURS, lanes), np.float32)
