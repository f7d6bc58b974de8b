"""One run of a small study, interrupted in one of several ways, and the comparison afterwards."""

import os
import re
import shutil
import signal
import subprocess
import sys
import time
from hashlib import sha256
from pathlib import Path

ROOT = Path(__file__).parents[3]
WAYS = ("job", "snakemake", "both", "ctrl-c", "command", "second run")
BOUND_S = 600.0
COMPARED = (".csv", ".json", ".nc")
SNAKEMAKES = ".snakemake_timestamp"  # its own mark in a finished folder


def prepare(folder, members, edited, fresh=False):
    """Write the small study into a folder.

    Parameters
    ----------
    folder : pathlib.Path
    members : int
    edited : bool
        Give it another bank.
    fresh : bool
        Empty the folder first.
    """
    if fresh:
        shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True, exist_ok=True)
    text = (ROOT / "config" / "tarn_hut.yaml").read_text(encoding="utf-8")
    text = re.sub(r"members: \d+", f"members: {members}", text)
    text = re.sub(r"steps: \d+", "steps: 3", text)
    if edited:
        text, count = re.subn(r"^  capacity_ah: \d+", "  capacity_ah: 310", text, count=1, flags=re.M)
        assert count, "the study names no bank to change"
    (folder / "hut.yaml").write_text(text, encoding="utf-8")


def plain_command():
    """Words of a plain Snakemake run, the years cut in two."""
    snakefile = str(ROOT / "Snakefile")
    words = ["-m", "snakemake", "--nocolor", "--cores", "2", "-s", snakefile, "--configfile", "hut.yaml"]
    return [sys.executable, *words, "--config", "parts=2"]


def plain_run(folder):
    """Run the study of a folder.

    Parameters
    ----------
    folder : pathlib.Path

    Returns
    -------
    code : int
        Exit code.
    printed : str
    """
    done = subprocess.run(plain_command(), cwd=folder, capture_output=True, text=True, timeout=BOUND_S)
    return done.returncode, done.stdout + done.stderr


def interrupted(folder, way, moment, chance, by_command=False):
    """Start a run, wait, interrupt it; what was done, in words.

    Parameters
    ----------
    folder : pathlib.Path
    way : str
        One of `WAYS`.
    moment : float
        Seconds from the start.
    chance : random.Random
    by_command : bool
        Interrupt `darkspell run` in place of a plain Snakemake.
    """
    command = plain_command()
    if by_command or way == "command":
        command = [sys.executable, "-m", "darkspell.cli.main", "run", "hut.yaml"]
    process = subprocess.Popen(
        command, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
    )
    time.sleep(moment)
    told = f"{way} at {moment:.1f} s"
    if process.poll() is not None:
        return f"{told} (it had ended)"
    if way == "job":
        told += _kill_a_job(process, chance)
        process.wait(BOUND_S)
    elif way == "snakemake":
        _snakemake_of(process).kill()
        process.wait(BOUND_S)
    elif way == "ctrl-c":
        os.killpg(process.pid, signal.SIGINT)
        process.wait(BOUND_S)
    elif way == "second run":
        code, _ = plain_run(folder)
        told += f" (ended with {code})"
        process.wait(BOUND_S)
    else:
        _kill_tree(process)
    return told


def _snakemake_of(process):
    """The Snakemake of a run, or the process that will start it."""
    import psutil

    for started in psutil.Process(process.pid).children():
        try:
            if "snakemake" in started.cmdline():
                return started
        except psutil.Error:  # it has just ended
            continue
    return process


def _kill_a_job(process, chance):
    import psutil

    jobs = psutil.Process(process.pid).children(recursive=True)
    if not jobs:
        return " (none was running)"
    job = chance.choice(jobs)
    try:
        job.kill()
    except psutil.NoSuchProcess:
        return " (it had just ended)"
    return ""


def _kill_tree(process):
    import psutil

    for one in [psutil.Process(process.pid), *psutil.Process(process.pid).children(recursive=True)]:
        try:
            one.kill()
        except psutil.NoSuchProcess:
            continue
    process.wait()


def differences(folder, reference):
    """Differences from the reference: files missing, unequal, half-made or still marked.

    Parameters
    ----------
    folder, reference : pathlib.Path

    Returns
    -------
    list of str
    """
    one, other = hashes(folder / "results"), hashes(reference / "results")
    wrong = [f"{name} differs" for name in sorted(set(one) | set(other)) if one.get(name) != other.get(name)]
    wrong += [f"{path.name} is left" for path in (folder / "results").rglob(".*") if path.name != SNAKEMAKES]
    for name in ("proposal.html", "figures/figures.json"):
        if not (folder / "results" / "hut" / name).is_file():
            wrong.append(f"{name} is missing")
    return wrong


def hashes(results):
    """Hash of every table, summary and array.

    Parameters
    ----------
    results : pathlib.Path

    Returns
    -------
    dict of str
        By path.
    """
    return {
        str(path.relative_to(results)): sha256(path.read_bytes()).hexdigest()
        for path in results.rglob("*")
        if path.suffix in COMPARED
    }
