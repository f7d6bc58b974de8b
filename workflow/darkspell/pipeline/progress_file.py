"""Progress of a job: a small file next to its log, and a line now and then for the user."""

import sys
import time
from pathlib import Path

FIRST_S, EVERY_S, FILE_EVERY_S = 5.0, 10.0, 0.3


class Teller:
    """Takes the share done and tells it.

    Parameters
    ----------
    log : path-like
        The job's log; the share is written next to it, with the ending ``.share``.
    title : str
    clock : callable
        Seconds; for the tests.
    stream : file
        Where the lines go.
    """

    def __init__(self, log, title, clock=time.monotonic, stream=None):
        self.path, self.title, self.clock = share_file(log), title, clock
        self.stream = sys.stderr if stream is None else stream
        self.began = clock()
        self._written, self._said = self.began - FILE_EVERY_S, self.began + FIRST_S - EVERY_S

    def __call__(self, share):
        """Tell that a share of the work, 0 to 1, is done."""
        now = self.clock()
        if now - self._written >= FILE_EVERY_S:
            self._written = now
            self._write(share)
        if now - self._said >= EVERY_S and share < 1:
            self._said = now
            print(f"{self.title}: {progress_text(share, now - self.began)}", file=self.stream, flush=True)

    def _write(self, share):
        try:
            self.path.write_text(f"{share:.4f}\n", encoding="ascii")
        except OSError:  # to watch is no reason to fail
            return

    def close(self):
        """Take the file away."""
        self.path.unlink(missing_ok=True)


def share_file(log):
    """Path of the file next to a job's log that holds the share done.

    Parameters
    ----------
    log : path-like

    Returns
    -------
    pathlib.Path
    """
    return Path(log).with_suffix(".share")


def read_share(log):
    """Share of a job that is done.

    Parameters
    ----------
    log : path-like
        The job's log.

    Returns
    -------
    float or None
        0 to 1; None where the job reports nothing.
    """
    try:
        return min(max(float(share_file(log).read_text(encoding="ascii")), 0.0), 1.0)
    except (OSError, ValueError):
        return None


def progress_text(share, elapsed):
    """Share done and time left, in words.

    Parameters
    ----------
    share : float
        0 to 1.
    elapsed : float
        Since the work began [s].
    """
    if share <= 0:
        return "under way"
    return f"{100 * share:.0f} %, about {duration(elapsed * (1 - share) / share)} left"


def duration(seconds):
    """Time in words: seconds, minutes or hours.

    Parameters
    ----------
    seconds : float
    """
    if seconds < 90:
        return f"{max(round(seconds), 1)} s"
    minutes = round(seconds / 60)
    return f"{minutes} min" if minutes < 90 else f"{minutes / 60:.1f} h"
