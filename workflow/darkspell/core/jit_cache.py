"""Where compiled kernels are kept: a folder named by the hash of the package's own sources.

Numba's cache looks at the file of the cached function alone; a kernel that inlines a function or a
constant of another module would go on running the old one. A new hash means a new folder.
"""

import os
import tempfile
from functools import cache
from hashlib import sha256
from pathlib import Path
from shutil import rmtree
from time import time

PACKAGE = Path(__file__).parents[1]
KEPT_SECONDS = 3 * 86400.0
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


def kernel_hash():
    """Hash of the sources that a compiled kernel may have taken something from."""
    rooms = (path.name for path in PACKAGE.iterdir() if path.is_dir() or path.suffix == ".py")
    return source_hash(*sorted(set(rooms) - {"__pycache__", *WITHOUT_KERNELS}))


def cache_home():
    """Folder for this user's caches: next to the package, or among the temporary files.

    Returns
    -------
    pathlib.Path
    """
    home = PACKAGE / "__pycache__"
    try:
        home.mkdir(exist_ok=True)
        if os.access(home, os.W_OK):
            return home
    except OSError:
        pass
    return Path(tempfile.gettempdir()) / f"darkspell-{os.getuid() if hasattr(os, 'getuid') else 'user'}"


def use_keyed_cache():
    """Point numba at the cache folder of these sources, unless the user has pointed it to a folder of hers."""
    if _usable(os.environ.get("NUMBA_CACHE_DIR")):
        return
    home = cache_home()
    os.environ["NUMBA_CACHE_DIR"] = str(home / f"numba-{kernel_hash()}")
    _drop_old(home)


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


def _drop_old(home):
    for folder in home.glob("numba-*"):
        try:
            if time() - folder.stat().st_mtime > KEPT_SECONDS:
                rmtree(folder, ignore_errors=True)
        except OSError:  # another process was quicker
            continue
