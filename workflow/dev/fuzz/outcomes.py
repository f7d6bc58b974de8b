"""Run one mutant and say how it was answered."""

import io
import re
import signal
import sys
import traceback
import warnings
from collections import Counter
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, field

from darkspell.core.errors import StudyError

SCREEN = (40, 6000)  # lines, characters
CLEAN, REFUSED, LONG, TRACEBACK, HANG, LEAK = "clean", "refused", "too long", "traceback", "hang", "leak"
NO_NUMBER = re.compile(r"(?<![\w.])(nan|inf|None)\s+(W|Wh|Wp|kWh|Ah|A|V|%|days|degC|h)\b")
BAD = (LONG, TRACEBACK, HANG, LEAK)
WAIT = 10  # times the allowed seconds of processor, by the clock: on a busy machine a mutant may get a tenth of one


class _TooSlow(BaseException):
    """Raised by a timer; no ``except Exception`` stops it."""


@dataclass
class Tally:
    """Counts of outcomes, and what to look at.

    Parameters
    ----------
    counts : collections.Counter
        By outcome.
    bad : list of (str, str, str)
        Name of the mutant, outcome, and what was seen.
    """

    counts: Counter = field(default_factory=Counter)
    bad: list = field(default_factory=list)

    def add(self, name, outcome, seen):
        """Count one mutant.

        Parameters
        ----------
        name, outcome : str
        seen : str
            What was printed.
        """
        self.counts[outcome] += 1
        if outcome in BAD:
            self.bad.append((name, outcome, seen))


def outcome_of(action, seconds):
    """How a call ends.

    Parameters
    ----------
    action : callable
        Returns an exit code; prints, or raises `darkspell.core.errors.StudyError`.
    seconds : float
        Of processor, after which it counts as a hang; or `WAIT` times as many by the clock.

    Returns
    -------
    str
        One of the outcomes above.
    str
        The message, or the last lines of the traceback.
    """
    out, err = io.StringIO(), io.StringIO()

    def late(*_):
        raise _TooSlow

    before = [signal.signal(number, late) for number in (signal.SIGPROF, signal.SIGALRM)]
    signal.setitimer(signal.ITIMER_PROF, seconds)
    signal.setitimer(signal.ITIMER_REAL, WAIT * seconds)
    try:
        with redirect_stdout(out), redirect_stderr(err), warnings.catch_warnings():
            warnings.simplefilter("always")
            code = action()
    except StudyError as fault:
        return _judged(1, str(fault), "")
    except _TooSlow:
        return HANG, f"more than {seconds:g} s of processor, or {WAIT * seconds:g} s by the clock: {_where()}"
    except SystemExit as end:
        return _judged(1, f"{err.getvalue()}{end}", "")
    except BaseException as error:  # noqa: BLE001 that is what is looked for
        if isinstance(error, KeyboardInterrupt):
            raise
        return TRACEBACK, f"{_where()}: {type(error).__name__}: {str(error)[:300]}"
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        for number, handler in zip((signal.SIGPROF, signal.SIGALRM), before, strict=True):
            signal.signal(number, handler)
    return _judged(code, err.getvalue(), out.getvalue())


def _where():
    frames = traceback.extract_tb(sys.exc_info()[2])
    own = [frame for frame in frames if "darkspell" in frame.filename] or frames
    return " < ".join(
        f"{frame.filename.rpartition('darkspell/')[2]}:{frame.lineno}" for frame in own[-1:-4:-1]
    )


def _judged(code, message, printed):
    if "Warning:" in message or "Traceback" in message:
        return LEAK, message[:600]
    if code and not message.strip():
        return LEAK, "an exit code without a message"
    if len(message.splitlines()) > SCREEN[0] or len(message) > SCREEN[1]:
        return LONG, f"{len(message.splitlines())} lines, {len(message)} characters: {message[:200]}"
    if code:
        return REFUSED, message
    bad = NO_NUMBER.search(printed)
    return (LEAK, f"prints {bad[0]}") if bad else (CLEAN, message)
