"""One run a study at a time: a lock that dies with the run, so that a killed one leaves nothing stale.

``darkspell run`` holds the locks itself and hands them to its Snakemake; a plain Snakemake takes them as
it reads the Snakefile. Snakemake's own locks stay behind when it is killed, and so do the files that it was making:
those of a dead run are removed.
"""

import os
import shutil
import time
from base64 import urlsafe_b64decode
from contextlib import ExitStack, contextmanager
from errno import EACCES
from pathlib import Path

from darkspell.core.atomic_files import clear_half_made
from darkspell.core.errors import StudyError

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
    darkspell.core.errors.StudyError
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
    _make_writable(folder / "results" / name)
    clear_half_made(folder / "results" / name)
    _date_back(folder / "results" / name)
    return file.fileno()


def _make_writable(results):
    """Make a study's folder of results, or say why that cannot be."""
    try:
        results.mkdir(parents=True, exist_ok=True)
        for place in (results, *(path for path in results.rglob("*") if path.is_dir())):
            if not os.access(place, os.W_OK):
                raise PermissionError(EACCES, os.strerror(EACCES), str(place))
    except FileExistsError:
        raise StudyError(f"{results}: is a file where the results should go; move it away") from None
    except OSError as error:
        raise StudyError(
            f"{error.filename or results}: cannot be written ({error.strerror}); run where you may write"
        ) from None


def _date_back(results):
    """Give files from the future the present time, their order kept.

    Where the clock was set back, Snakemake would refuse what it makes now as older than what it makes it of.
    """
    now = time.time_ns()
    late = {path: path.lstat().st_mtime_ns for path in results.rglob("*")}
    late = {path: at for path, at in late.items() if at > now}
    rank = {at: n for n, at in enumerate(sorted(set(late.values()), reverse=True))}
    for path, at in late.items():
        os.utime(path, ns=(now, now - 1000 * rank[at]), follow_symlinks=False)


_HELD = ExitStack()  # until this process ends


def guard(names, folder):
    """Hold the locks of a plain Snakemake's studies until it ends, and clear those of a dead one.

    Parameters
    ----------
    names : iterable of str
    folder : path-like
        Where Snakemake works.

    Raises
    ------
    darkspell.core.errors.StudyError
        If one of the studies is being run already.
    """
    _HELD.enter_context(study_locks(names, folder))
    if not _snakemake_lives(folder):
        _clear(Path(folder))


def _clear(folder):
    """Remove what a dead run left: its locks, and the files that it was making."""
    for stale in (folder / ".snakemake" / "locks").glob("*.lock"):
        stale.unlink(missing_ok=True)
    markers = folder / ".snakemake" / "incomplete"
    for marker in [path for path in markers.rglob("*") if path.is_file()]:
        made = _marked(marker.relative_to(markers).parts)
        if made and made.parts[0] == "results" and ".." not in made.parts:
            place = folder / made
            shutil.rmtree(place) if place.is_dir() else place.unlink(missing_ok=True)
            marker.unlink(missing_ok=True)


def _marked(parts):
    """File that a marker of Snakemake refers to; None if it is no marker."""
    try:
        return Path(urlsafe_b64decode("".join(part.removeprefix("@") for part in parts)).decode())
    except ValueError:
        return None


def _snakemake_lives(folder):
    """Whether another Snakemake is in charge of this folder; its jobs alone hold nothing."""
    import psutil

    folder = str(Path(folder).resolve())
    own = {os.getpid(), *(parent.pid for parent in psutil.Process().parents())}
    for process in psutil.process_iter(["cmdline", "cwd"]):
        words = process.info["cmdline"] or []
        if process.pid in own or process.info["cwd"] != folder or "--mode" in words:
            continue
        if any(Path(word).name == "snakemake" for word in words):
            return True
    return False
