"""Interrupt a study at random moments, run it again plainly, and hold the results against an undisturbed run.

    python -m dev.trials [--times 50] [--seed 1] [--members 96] [--command]

Each trial starts a run in an empty folder, waits a random while and then kills -9 one of its jobs, its
Snakemake, or all of it, presses Ctrl-C, or starts a second run at the same time; half of the trials change the
study before the plain re-run. Two more fill the disk (these need root). Exit code 1 if any trial fails.
"""

import argparse
import random
import sys
import tempfile
import time
from pathlib import Path

from dev.trials.disk import full_disk
from dev.trials.interrupt import WAYS, differences, interrupted, plain_run, prepare


def main(words=None):
    """Run the trials and print a line for each.

    Parameters
    ----------
    words : list of str, optional
    """
    parser = argparse.ArgumentParser("python -m dev.trials", description=__doc__.splitlines()[0])
    parser.add_argument("--times", type=int, default=50, help="interruptions (50)")
    parser.add_argument("--seed", type=int, default=1, help="of the random moments (1)")
    parser.add_argument("--members", type=int, default=96, help="synthetic years of the small study (96)")
    parser.add_argument(
        "--command", action="store_true", help="interrupt `darkspell run`, not a plain snakemake"
    )
    asked = parser.parse_args(words)
    chance, bad = random.Random(asked.seed), 0
    with tempfile.TemporaryDirectory(prefix="darkspell-trials-") as scratch:
        references = [_reference(Path(scratch, f"reference-{n}"), asked.members, n) for n in (0, 1)]
        print(f"an undisturbed run takes {references[0][1]:.1f} s", flush=True)
        for number in range(asked.times):
            way, edited = WAYS[number % len(WAYS)], number // len(WAYS) % 2
            folder = Path(scratch, f"trial-{number}")
            prepare(folder, asked.members, 0)
            moment = chance.uniform(0.0, 1.05 * references[0][1])
            told = interrupted(folder, way, moment, chance, asked.command)
            prepare(folder, asked.members, edited)
            code, _ = plain_run(folder)
            wrong = differences(folder, references[edited][0]) if code == 0 else [f"re-run ended with {code}"]
            bad += bool(wrong)
            changed = ", study changed" if edited else ""
            print(f"{number + 1:>3}  {told}{changed}: {'; '.join(wrong) or 'same bits'}", flush=True)
        for line, wrong in full_disk(Path(scratch), asked.members, references[0][0]):
            bad += bool(wrong)
            print(f"     {line}: {'; '.join(wrong) or 'same bits'}", flush=True)
    print(f"{bad} of the trials went wrong" if bad else "every trial ended in the bits of an undisturbed run")
    return 1 if bad else 0


def _reference(folder, members, edited):
    prepare(folder, members, edited)
    plain_run(folder)  # kernels compiled
    prepare(folder, members, edited, fresh=True)
    began = time.monotonic()
    code, printed = plain_run(folder)
    if code:
        sys.exit(f"the undisturbed run failed:\n{printed[-2000:]}")
    return folder, time.monotonic() - began


if __name__ == "__main__":
    sys.exit(main())
