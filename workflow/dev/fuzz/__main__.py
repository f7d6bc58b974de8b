"""Try seeded mutants: ``python -m dev.fuzz --count 300 --seed 1`` (exit code 1 if one is answered badly)."""

import argparse
import random
import sys
import tempfile
from collections import Counter
from pathlib import Path
from time import perf_counter

from dev.fuzz.outcomes import Tally, outcome_of
from dev.fuzz.targets import TARGETS


def main(words=None):
    """Run mutants of each kind and print the counts.

    Parameters
    ----------
    words : list of str, optional
        Arguments; those of the process if not given.

    Returns
    -------
    int
        0 if every mutant ended clean or with a message of one screen, else 1.
    """
    asked = _parser().parse_args(words)
    worst = 0
    for kind in asked.kinds:
        tally, seconds = run(
            kind, range(asked.first, asked.first + asked.count), asked.seed, asked.seconds, asked.keep
        )
        counts = ", ".join(f"{count} {outcome}" for outcome, count in sorted(tally.counts.items()))
        print(f"{kind}: {asked.count} mutants of seed {asked.seed}: {counts} ({seconds:.0f} s)")
        _print_bad(tally, asked.shown)
        worst = max(worst, bool(tally.bad))
    return int(worst)


def run(kind, numbers, seed, seconds=10.0, keep=None):
    """Try mutants of one kind.

    Parameters
    ----------
    kind : {"studies", "weather", "logs"}
    numbers : iterable of int
        Of the mutants; each is drawn from seed, kind and number alone.
    seed : int
    seconds : float
        Of processor, after which a mutant counts as a hang.
    keep : path-like, optional
        Folder for the files of mutants that were answered badly.

    Returns
    -------
    Tally
    float
        Seconds taken.
    """
    tally, start = Tally(), perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        for number in numbers:
            own = Path(folder, str(number))
            own.mkdir()
            action, done = TARGETS[kind](random.Random(f"{seed}-{kind}-{number}"), own)
            outcome, seen = outcome_of(action, seconds)
            tally.add(f"{kind} {number} ({', '.join(done)})", outcome, seen)
            for path in own.rglob("*"):
                if tally.bad and tally.bad[-1][0].startswith(f"{kind} {number} ") and keep and path.is_file():
                    Path(keep).mkdir(parents=True, exist_ok=True)
                    Path(keep, f"{kind}-{number}-{path.name}").write_bytes(path.read_bytes())
                if path.is_file():
                    path.unlink()
    return tally, perf_counter() - start


def _print_bad(tally, shown):
    """The first mutants of each kind of bad answer."""
    seen = Counter()
    for name, outcome, text in tally.bad:
        group = (outcome, text[:100])
        seen[group] += 1
        if seen[group] == 1 and len(seen) <= shown:
            print(f"  {outcome}: {name}\n    {text[:400]}")
    if len(seen) > shown:
        print(f"  and {len(seen) - shown} more groups")


def _parser():
    parser = argparse.ArgumentParser("python -m dev.fuzz", description=__doc__)
    parser.add_argument("--count", type=int, default=300, help="mutants of each kind (300)")
    parser.add_argument("--seed", type=int, default=1, help="any whole number (1)")
    parser.add_argument("--first", type=int, default=0, help="number of the first mutant (0)")
    parser.add_argument("--kinds", nargs="+", choices=TARGETS, default=list(TARGETS))
    parser.add_argument(
        "--seconds", type=float, default=10.0, help="of processor, after which a mutant hangs (10)"
    )
    parser.add_argument("--keep", help="folder for the files of badly answered mutants")
    parser.add_argument("--shown", type=int, default=20, help="groups of bad answers to print (20)")
    return parser


if __name__ == "__main__":
    sys.exit(main())
