"""Work shared out among forked processes, which inherit what they work on."""

import sys
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

_TASK = []  # the function under way, inherited and never sent: closures and open figures cannot be pickled


def in_processes(work, items, workers, started=None):
    """Results of a function for each item, in the order of the items.

    Parameters
    ----------
    work : callable
        Takes one item; what it returns, or raises, must be possible to pickle.
    items : sequence
    workers : int
        Processes at most. With one, or where forking is not safe (other systems than Linux), this process works.
    started : callable, optional
        Called first in each further process.

    Yields
    ------
    object
    """
    if min(workers, len(items)) < 2 or sys.platform != "linux":
        yield from map(work, items)
        return
    _TASK.append(work)
    try:
        with ProcessPoolExecutor(min(workers, len(items)), get_context("fork"), started) as pool:
            yield from pool.map(_call, items)
    finally:
        _TASK.pop()


def _call(item):
    return _TASK[-1](item)
