"""Peak memory of a whole study run, all its processes together.

python -m darkspell.benchmark.memory [study] [--members 100000]
"""

import argparse
import sys
import tempfile
import time
from pathlib import Path
from subprocess import DEVNULL, STDOUT, Popen

ROOT = Path(__file__).parents[3]
LOOK_S = 0.05
NAMED = 4  # of the largest jobs
MEGABYTE = 1e6


def main(words=None):
    """Run a study in an empty folder and print its peak memory.

    Parameters
    ----------
    words : list of str, optional
    """
    parser = argparse.ArgumentParser(
        "python -m darkspell.benchmark.memory", description=__doc__.splitlines()[0]
    )
    parser.add_argument("study", nargs="?", default=str(ROOT / "config" / "tarn_hut.yaml"))
    parser.add_argument("--members", type=int, help="synthetic years, in place of the study's number")
    asked = parser.parse_args(words)
    command = [sys.executable, "-m", "snakemake", "--cores", "2", "-s", str(ROOT / "Snakefile")]
    command += ["--configfile", str(Path(asked.study).resolve())]
    command += ["--config", f"members={asked.members}"] if asked.members else []
    with tempfile.TemporaryDirectory(prefix="darkspell-memory-") as folder:
        began = time.monotonic()
        process = Popen(command, cwd=folder, stdout=DEVNULL, stderr=STDOUT)
        together, peaks = watch(process)
    seconds = time.monotonic() - began
    print(f"peak of all processes together {together / MEGABYTE:.0f} MB")
    for name, size in sorted(peaks.items(), key=lambda pair: -pair[1])[:NAMED]:
        print(f"  {name}: {size / MEGABYTE:.0f} MB")
    print(f"the run ended with code {process.returncode} after {seconds:.0f} s")
    return process.returncode


def watch(process):
    """Greatest resident memory of a process tree, together and by job, until it ends [bytes].

    Parameters
    ----------
    process : subprocess.Popen

    Returns
    -------
    together : int
    peaks : dict of int
        By the name of the job's script.

    Notes
    -----
    Pages that processes share are counted once (proportional set size, where the system tells it).
    """
    import psutil

    root, together, peaks = psutil.Process(process.pid), 0, {}
    while process.poll() is None:
        total = 0
        for one in [root, *_children(root)]:
            size, name = _size(one), _name(one)
            total += size
            peaks[name] = max(peaks.get(name, 0), size)
        together = max(together, total)
        time.sleep(LOOK_S)
    return together, peaks


def _children(root):
    import psutil

    try:
        return root.children(recursive=True)
    except psutil.NoSuchProcess:
        return []


def _name(process):
    """Name of the script that a job runs, or of the program."""
    import psutil

    try:
        scripts = [word for word in process.cmdline() if word.endswith(".py")]
        return scripts[-1].split(".")[-2] if scripts else process.name()
    except (psutil.Error, IndexError):
        return "ended"


def _size(process):
    import psutil

    try:
        full = process.memory_full_info()
        return getattr(full, "pss", full.rss)
    except psutil.Error:
        return 0


if __name__ == "__main__":
    sys.exit(main())
