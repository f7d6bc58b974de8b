"""The mutators and the count of answers: the same seed gives the same mutants, and a bad answer is seen."""

import random
import time

import pytest

from darkspell.core.errors import StudyError
from dev.fuzz.__main__ import run
from dev.fuzz.outcomes import BAD, CLEAN, HANG, LEAK, LONG, REFUSED, TRACEBACK, outcome_of
from dev.fuzz.study_mutants import study_mutant
from dev.fuzz.targets import SMALL


def refuse(text):
    """An action that refuses."""
    raise StudyError(text)


def spin():
    """Never end."""
    while True:
        pass


@pytest.mark.parametrize(
    ("action", "outcome"),
    [
        (lambda: 0, CLEAN),
        (lambda: refuse("a.b: 3 W is not allowed"), REFUSED),
        (lambda: refuse("x\n" * 100), LONG),
        (lambda: refuse(""), LEAK),
        (lambda: 1 / 0, TRACEBACK),
        (spin, HANG),
        (lambda: print("nan Wh") or 0, LEAK),
    ],
)
def test_each_answer_is_told_from_the_others(action, outcome):
    """Clean, refused in one screen, and the bad ones."""
    assert outcome_of(action, 0.5)[0] == outcome


def test_a_mutant_may_wait_for_a_busy_machine_but_not_for_ever():
    """The bound is one of processor time; by the clock it is ten times as long."""
    assert outcome_of(lambda: time.sleep(0.3) or 0, 0.1)[0] == CLEAN
    assert outcome_of(lambda: time.sleep(5) or 0, 0.1)[0] == HANG


def test_a_seed_gives_the_same_mutants():
    """And another seed others."""
    first, again, other = (
        [study_mutant(random.Random(f"{seed}-{n}"), SMALL) for n in range(20)] for seed in (1, 1, 2)
    )
    assert first == again and first != other


@pytest.mark.parametrize("kind", ["studies", "weather", "logs"])
def test_a_few_mutants_are_answered_well(kind):
    """A fixed seed; `.ci/run` takes a new one each day."""
    tally, _ = run(kind, range(12), seed=20)
    assert sum(tally.counts.values()) == 12 and not tally.bad, tally.bad
    assert not set(BAD) & set(tally.counts)
