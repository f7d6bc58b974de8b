"""A job ends when the Snakemake, or the job server, that started it is gone.

A killed Snakemake leaves its jobs running; one that finished later would lay the results of an old study
over those of a new one.
"""

import os
import threading
import time
from pathlib import Path

LOOK_S = 0.25
NAMES = ("snakemake", "darkspell.pipeline.job_server")


def die_with_the_run(look=LOOK_S):
    """Watch the Snakemake processes above this one, in a thread, and end at once when one of them dies.

    Parameters
    ----------
    look : float
        Seconds between two looks.
    """
    above = snakemakes_above()
    if above:
        threading.Thread(target=_watch, args=(above, look), daemon=True).start()


def snakemakes_above():
    """Snakemake or job server among the ancestors of this process (list of `psutil.Process`)."""
    import psutil

    found = []
    for process in psutil.Process().parents():
        try:
            if any(Path(word).name in NAMES for word in process.cmdline()):
                found.append(process)
        except psutil.Error:
            continue
    return found


def _watch(above, look):
    import psutil

    while all(process.is_running() and process.status() != psutil.STATUS_ZOMBIE for process in above):
        time.sleep(look)
    os._exit(1)
