"""One run a study at a time: a lock that dies with the run, so that a killed one leaves nothing stale.

Snakemake's own locks stay behind when it is killed, and hold a whole folder. They are not used; a plain
Snakemake that is at work on the same study is seen by them and by its process.
"""

from contextlib import ExitStack, contextmanager
from pathlib import Path

from darkspell.errors import StudyError

try:
    import fcntl
except ImportError:  # no such locks on this system: two runs of one study are then the user's to avoid
    fcntl = None


@contextmanager
def study_locks(names, folder):
    """Hold the locks of some studies.

    Parameters
    ----------
    names : iterable of str
    folder : pathlib.Path
        Where the results go.

    Yields
    ------
    list of int
        File descriptors; handed to the run, they hold the locks as long as it lives.

    Raises
    ------
    darkspell.errors.StudyError
        If one of the studies is being run already.
    """
    with ExitStack() as stack:
        yield [_lock(name, Path(folder), stack) for name in sorted(names)] if fcntl else []


def _lock(name, folder, stack):
    place = folder / ".snakemake"
    try:
        place.mkdir(exist_ok=True)
        file = stack.enter_context((place / f"darkspell-{name}.lock").open("a"))
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        raise StudyError(
            f"{name}: is being run already in this folder; wait for that run, or stop it"
        ) from None
    except OSError as error:
        raise StudyError(f"{place}: cannot be written ({error.strerror}); run where you may write") from None
    if _locked_by_snakemake(name, place / "locks") and _snakemake_lives(folder):
        raise StudyError(f"{name}: Snakemake is at work on it in this folder; wait for it, or stop it")
    return file.fileno()


def _locked_by_snakemake(name, locks):
    """Whether a lock of Snakemake's, live or stale, names this study's results."""
    try:
        return any(f"results/{name}/" in lock.read_text(errors="replace") for lock in locks.glob("*.lock"))
    except OSError:
        return False


def _snakemake_lives(folder):
    import psutil

    folder = str(Path(folder).resolve())
    for process in psutil.process_iter(["cmdline", "cwd"]):
        words = process.info["cmdline"] or []
        if process.info["cwd"] == folder and any("snakemake" in word for word in words):
            return True
    return False
