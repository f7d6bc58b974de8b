"""A disk that fills up in the middle of a study."""

import os
import shutil
import subprocess
import sys

from dev.trials.interrupt import differences, plain_run, prepare

SMALL_K = (60, 700)  # full at the first table, and at the figures


def full_disk(scratch, members, reference):
    """Run on a disk that is too small, make room, run again; a line and what is wrong, for each size.

    Parameters
    ----------
    scratch : pathlib.Path
    members : int
    reference : pathlib.Path
        Folder of an undisturbed run.

    Yields
    ------
    line : str
    wrong : list of str
    """
    if os.name != "posix" or os.geteuid() != 0 or not shutil.which("mount"):
        yield "a full disk: not tried, that needs root and mount", []
        return
    for size in SMALL_K:
        folder = scratch / f"disk-{size}"
        prepare(folder, members, 0)
        small = folder / "results"
        small.mkdir()
        mounted = _mount(small, f"size={size}k")
        if not mounted:
            yield "a full disk: not tried, nothing can be mounted here", []
            return
        try:
            code, printed = plain_run(folder)
            wrong = [] if code else ["the run did not notice"]
            wrong += [] if "No space left" in printed else ["the cause is not told"]
            _mount(small, "remount,size=200m")
            code, _ = plain_run(folder)
            wrong += differences(folder, reference) if code == 0 else [f"re-run ended with {code}"]
        finally:
            subprocess.run(["umount", str(small)], check=False)
        yield f"a disk full at {size} kB, then room made", wrong


def _mount(place, options):
    command = ["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(place)]
    done = subprocess.run(command, stdout=sys.stderr, stderr=subprocess.DEVNULL, check=False)
    return done.returncode == 0
