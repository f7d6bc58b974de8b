"""A night of forty invented studies with two hundred what-ifs each: stopped in the middle, taken up again, measured.

python -m dev.night FOLDER [--members 64] [--stop 60]

Prints what was said of the time left against the time that it took, processor time, the peak of memory, and the rows
of the table in which the night ends.
"""

import argparse
import csv
import os
import re
import resource
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import psutil
import yaml

from darkspell.core.errors import StudyError

LOOK_S = 2.0
MEGABYTE = 1e6
BASE = {
    "document": {"title": "A night of studies (invented)", "client": "Nobody", "prepared_by": "Nobody",
                 "note": "An invented example."},
    "site": {"name": "Hill hut (invented)", "latitude_deg": 46.8, "longitude_deg": 10.4, "altitude_m": 1700},
    "climate": {"source": "atlas"},
    "system": {"nominal_voltage_v": 12},
    "arrays": {"roof": {"power_wp": 400, "tilt_deg": 55, "azimuth_deg": "south"}},
    "controller": {"kind": "mppt"},
    "bank": {"chemistry": "lfp", "capacity_ah": 160},
    "loads": {
        "lamps": {"watts": 15, "hours_per_day": 5, "tier": "essential", "window": ["17:00", "24:00"]},
        "radio": {"watts": 8, "hours_per_day": 24, "tier": "essential"},
        "telephones": {"watts": 10, "hours_per_day": 3, "tier": "deferrable"},
    },
    "target": {"statistic": "short_nights", "at_most": 1},
    "sizing": {
        "array_wp": {"from": 200, "to": 800, "steps": 7}, "bank_ah": {"from": 80, "to": 320, "steps": 7},
        "prices": {"array_per_wp": 1.2, "bank_per_ah": 6},
    },
}  # fmt: skip
SITES = {
    "hill": (46.8, 10.4, 1700), "coast": (54.4, 8.6, 5), "steppe": (47.1, 67.2, 400), "isle": (-43.6, 170.2, 300),
    "tropic": (6.2, 1.1, 60),
}  # fmt: skip
NIGHT = {
    "extends": "base.yaml",
    "cross": {
        "site": {
            name: {
                "site": {"name": name, "latitude_deg": lat, "longitude_deg": lon, "altitude_m": up},
                "arrays.roof": {"tilt_deg": round(abs(lat)) + 8, "azimuth_deg": "south" if lat > 0 else "north"},
            }
            for name, (lat, lon, up) in SITES.items()
        },
        "bank": {"lfp": {}, "agm": {"bank.chemistry": "agm"}},
        "use": {
            "thrifty": {"loads.radio.watts": 5}, "usual": {}, "busy": {"loads.radio.watts": 12},
            "fridge": {"loads.fridge": {"wh_per_day": 350, "hours_per_day": 8, "tier": "essential"}},
        },
    },
    "sweeps": {
        "sizes": {
            "arrays.roof.power_wp": [200, 250, 300, 350, 400, 450, 500, 600, 700, 800],
            "bank.capacity_ah": [80, 100, 120, 140, 160, 180, 200, 240, 280, 320],
        },
        "lamps": {
            "loads.lamps.watts": [5, 8, 10, 12, 15, 20, 25, 30, 35, 40],
            "bank.reconnect_soc_pct": [32, 35, 38, 40, 42, 45, 50, 55, 60, 65],
        },
    },
}  # fmt: skip


def main(words=None):
    """Write the studies, run them, stop, run them again, and print what was measured.

    Parameters
    ----------
    words : list of str, optional
    """
    parser = argparse.ArgumentParser("python -m dev.night", description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--members", type=int, default=64)
    parser.add_argument("--stop", type=float, default=60.0, help="seconds after which it is stopped once")
    asked = parser.parse_args(words)
    write_studies(asked.folder)
    command = [
        sys.executable,
        "-m",
        "darkspell.cli.main",
        "run",
        "night.yaml",
        "--members",
        str(asked.members),
    ]
    command += ["--until", "numbers"]
    for stop in (asked.stop, None):
        report(*run(command, asked.folder, stop))
    table = asked.folder / "results" / "studies.csv"
    if not table.is_file():
        raise StudyError(f"{table}: the night did not end in its table")
    with table.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    print(f"{table}: {len(rows)} studies, {len(rows[0])} columns; {table.with_suffix('.xlsx').is_file()=}")


def write_studies(folder):
    """Write ``base.yaml`` and ``night.yaml``, which makes forty studies of it.

    Parameters
    ----------
    folder : pathlib.Path
    """
    folder.mkdir(parents=True, exist_ok=True)
    for name, given in (("base", BASE), ("night", NIGHT)):
        (folder / f"{name}.yaml").write_text(yaml.safe_dump(given, sort_keys=False), encoding="utf-8")


def run(command, folder, stop):
    """Run a command; what it said with the time of each line, its exit code, seconds, processor time and memory.

    Parameters
    ----------
    command : list of str
    folder : pathlib.Path
    stop : float or None
        Seconds after which to interrupt it.

    Returns
    -------
    lines : list of (float, str)
    code : int
    seconds, processor : float
        [s].
    peak : float
        Of all processes together [MB], pages that they share counted once.
    """
    began, before = time.monotonic(), resource.getrusage(resource.RUSAGE_CHILDREN)
    process = subprocess.Popen(
        command, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    lines, peak = [], [0.0]
    reader = threading.Thread(target=_read, args=(process, lines, began))
    reader.start()
    threading.Thread(target=_watch, args=(process, peak), daemon=True).start()
    try:
        process.wait(stop)
    except subprocess.TimeoutExpired:
        os.kill(process.pid, signal.SIGTERM)
        process.wait()
    reader.join()
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    processor = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return lines, process.returncode, time.monotonic() - began, processor, peak[0]


def _read(process, lines, began):
    for line in process.stdout:
        lines.append((time.monotonic() - began, line.rstrip()))


def _watch(process, peak):
    while process.poll() is None:
        total = 0.0
        try:
            root = psutil.Process(process.pid)
            for one in (root, *root.children(recursive=True)):
                total += one.memory_full_info().pss / MEGABYTE
        except psutil.Error:
            pass
        peak[0] = max(peak[0], total)
        time.sleep(LOOK_S)


def report(lines, code, seconds, processor, peak):
    """Print what was measured of one run, and each time left against what it was.

    Parameters
    ----------
    lines, code, seconds, processor, peak
        As `run` returns them.
    """
    print(f"exit {code} after {seconds:.0f} s, {processor:.0f} s of processor, {peak:.0f} MB at most")
    for at, text in lines:
        said = re.search(r"all steps: about ([\d.]+) (s|min|h) left", text)
        if said:
            left = float(said[1]) * {"s": 1, "min": 60, "h": 3600}[said[2]]
            took = f", {seconds - at:5.0f} s were" if code == 0 else ""
            print(f"  after {at:4.0f} s: {left:5.0f} s said to be left{took}")
    print("\n".join(f"  | {text}" for _, text in lines[-4:]))


if __name__ == "__main__":
    sys.exit(main())
