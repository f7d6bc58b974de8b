"""What reading a long log costs: ``python -m dev.log_trial.speed`` makes one of ten million rows."""

import argparse
import resource
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np


def write_rows(path, rows):
    """Write an invented log with rows three seconds apart.

    Parameters
    ----------
    path : path-like
    rows : int
    """
    kinds = np.array(
        [f",{50 + i % 50}.{i % 10},-{i % 10}.{i % 100:02d},13.{i % 100:02d}\n" for i in range(1000)], "S18"
    )
    start = np.datetime64("2024-01-01T00:00:00")
    with open(path, "wb") as file:
        file.write(b"time,soc,current,voltage\n")
        for first in range(0, rows, 1_000_000):
            count = min(1_000_000, rows - first)
            out = np.empty(count, [("time", "S19"), ("rest", kinds.dtype)])
            out["time"] = np.datetime_as_string(
                start + 3 * np.arange(first, first + count).astype("m8[s]")
            ).astype("S19")
            out["rest"] = kinds[np.arange(count) % 1000]
            file.write(out.tobytes())


def main(words=None):
    """Print the time and memory that reading takes.

    Parameters
    ----------
    words : list of str, optional
    """
    from darkspell.core.calendar import Calendar
    from darkspell.log_analysis.hourly_means import hours_of
    from darkspell.log_analysis.reader import read_log
    from darkspell.study.log_format import Log

    parser = argparse.ArgumentParser("python -m dev.log_trial.speed", description=__doc__)
    parser.add_argument("--rows", type=int, default=10_000_000)
    asked = parser.parse_args(words)
    with TemporaryDirectory() as folder:
        path = Path(folder, "log.csv")
        write_rows(path, 1000)
        read_log(path, Log(), 0.0)  # compiles
        write_rows(path, asked.rows)
        size = path.stat().st_size / 1e6
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
        begun, wall = time.process_time(), time.perf_counter()
        rows = read_log(path, Log(), 0.0)
        read = time.process_time() - begun
        hours_of(rows, Calendar(7), 12, 280.0)
        spent, waited = time.process_time() - begun, time.perf_counter() - wall
    print(
        f"{asked.rows} rows, {size:.0f} MB: read in {read:.1f} s, with its hours in {spent:.1f} s of a processor"
    )
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    print(
        f"{waited:.1f} s by the clock; greatest memory of the process {most:.0f} MB, {before:.0f} MB before"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
