"""Where compiled kernels are kept: a folder named by the hash of the package's own sources.

Numba's cache looks at the file of the cached function alone; a kernel that inlines a function or a
constant of another module would go on running the old one. A new hash means a new folder.
The folder is in the user's cache: every checkout and installation of the same sources uses its kernels.
"""

import os
import sys
import tempfile
from functools import cache
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path
from shutil import rmtree
from time import time

PACKAGE = Path(__file__).parents[1]
KEPT_SECONDS = 14 * 86400.0  # after the last use; 10 MB each
VARIABLE, OURS = "NUMBA_CACHE_DIR", "DARKSPELL_KERNELS"
LIBRARIES = ("numba", "llvmlite", "numpy")
# Without kernels, and above the rooms that have them or only read by Python: nothing of them is compiled in.
WITHOUT_KERNELS = (
    "study", "climate", "design", "hand_check", "report", "log_analysis", "validation", "pipeline", "cli", "api.py",
)  # fmt: skip


@cache
def source_hash(*rooms):
    """Short hash of the package's sources, or of some of its rooms (modules or folders by name).

    Parameters
    ----------
    *rooms : str
        Such as ``"bank"``, ``"simulation/input_series.py"``; none means the whole package.

    Returns
    -------
    str
        12 hexadecimal digits.
    """
    digest = sha256()
    for room in rooms or (".",):
        place = PACKAGE / room
        files = sorted(place.rglob("*")) if place.is_dir() else [place]
        for path in files:
            if path.suffix in (".py", ".toml", ".j2", ".css", ".js", ".typ", ".mplstyle"):
                digest.update(path.relative_to(PACKAGE).as_posix().encode())
                digest.update(path.read_bytes())
    return digest.hexdigest()[:12]


@cache
def kernel_hash():
    """Hash of the sources that a compiled kernel may have taken something from."""
    rooms = (path.name for path in PACKAGE.iterdir() if path.is_dir() or path.suffix == ".py")
    return source_hash(*sorted(set(rooms) - {"__pycache__", *WITHOUT_KERNELS}))


@cache
def file_hash(path):
    """Hash of one file.

    Parameters
    ----------
    path : pathlib.Path
    """
    return sha256(path.read_bytes()).hexdigest()


def cache_home():
    """Folder for what is kept of these sources: next to the package, or among the temporary files.

    Returns
    -------
    pathlib.Path
    """
    home = PACKAGE / "__pycache__"
    return home if _usable(home) else _temporary()


def kernel_home():
    """Folder for kernels of all versions: in this user's cache, else as `cache_home`.

    Returns
    -------
    pathlib.Path
    """
    try:
        home = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "darkspell"
    except RuntimeError:  # a user without a home
        return cache_home()
    return home if home.is_absolute() and _usable(home) else cache_home()


def _temporary():
    return Path(tempfile.gettempdir()) / f"darkspell-{os.getuid() if hasattr(os, 'getuid') else 'user'}"


def use_keyed_cache():
    """Point numba at the cache folder of these sources, unless the user has pointed it to a folder of hers."""
    given = os.environ.get(VARIABLE)
    if given != os.environ.get(OURS) and _usable(given):
        return
    home = kernel_home()
    folder = home / f"numba-{kernel_hash()}-{_versions()}"
    os.environ[VARIABLE] = os.environ[OURS] = str(folder)
    _drop_old(home, folder)


def _versions():
    """Short hash of the versions that kernels depend on; several environments share a user's cache."""
    found = [sys.version, *map(version, LIBRARIES)]
    return sha256(" ".join(found).encode()).hexdigest()[:6]


def _usable(folder):
    """Whether a folder can be made and written; numba ends with an error where it cannot."""
    if not folder:
        return False
    try:
        Path(folder).mkdir(parents=True, exist_ok=True)
        tempfile.TemporaryFile(dir=folder).close()
    except OSError:
        return False
    return True


def _drop_old(home, used):
    """Remove folders that have not been used for long, and mark one as used."""
    try:
        used.mkdir(parents=True, exist_ok=True)
        os.utime(used)
    except OSError:
        return
    for folder in home.glob("numba-*"):
        try:
            if time() - folder.stat().st_mtime > KEPT_SECONDS:
                rmtree(folder, ignore_errors=True)
        except OSError:  # another process was quicker
            continue
