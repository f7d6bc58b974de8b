"""Source files that the result of a stage depends on, computed from the imports of its script."""

import ast
import json
import re
from functools import cache
from hashlib import sha256
from os.path import normpath, relpath
from pathlib import Path

from darkspell.core.atomic_files import write_text
from darkspell.core.constants import ROOMS
from darkspell.core.jit_cache import PACKAGE, cache_home
from darkspell.pipeline.location import workflow_root

NAME = PACKAGE.name
SCRIPTS = workflow_root() / "workflow" / "scripts"
TABLES = "core/constants"
TEXTS = (".j2", ".css", ".js", ".typ", ".mplstyle", ".po")
GRIDS = (".nc",)
# They read and check a study, word its faults and report progress. What they pass on is the study, whose values
# a stage's key holds.
MACHINERY = {
    "pipeline.script_context", "pipeline.stages", "pipeline.location", "pipeline.dependencies",
    "pipeline.progress_file", "pipeline.parent_watchdog", "study.loader", "study.errors", "study.typing_slips",
    "study.study_files", "study.yaml_reader", "study.key_tree", "study.renamed_keys", "study.sweeps",
    "study.whatif_changes",
}  # fmt: skip


def stage_hash(*scripts):
    """Hash of all source files that some scripts of the pipeline depend on.

    Parameters
    ----------
    *scripts : str
        File names in ``workflow/scripts``.

    Returns
    -------
    str
        12 hexadecimal digits.
    """
    return _hash(frozenset().union(*(source_files(SCRIPTS / script) for script in scripts)))


@cache
def _hash(files):
    digest = sha256()
    for path in sorted(files):
        digest.update(path.relative_to(PACKAGE.parent).as_posix().encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()[:12]


@cache
def source_files(script):
    """A script, every module of the package that it imports, and the tables and data files that these read.

    Imports inside functions count too. The study's own modules count always, since any module may use
    their properties. The constants that they read do not: the defaults made from them are in the study's hash.

    Parameters
    ----------
    script : pathlib.Path

    Returns
    -------
    frozenset of pathlib.Path
    """
    study = PACKAGE / "study" / "model.py"
    found, waiting = set(), [script, study]
    while waiting:
        path = waiting.pop()
        if path in found:
            continue
        found.add(path)
        files, tables = _paths(path)
        found |= tables
        waiting += files
    _keep()
    return frozenset(found)


@cache
def _paths(path):
    """Paths of what one file refers to, looked up once for all scripts: files to follow, and tables of constants."""
    files, names = references(path)
    own = path.is_relative_to(PACKAGE / "study")
    tables = frozenset() if own else frozenset(PACKAGE / TABLES / f"{name}.toml" for name in names)
    return [Path(normpath(PACKAGE / file)) for file in files], tables


def references(path):
    """What one file refers to, read once for each state of the file.

    Parameters
    ----------
    path : pathlib.Path
        A module, a script or a data file.

    Returns
    -------
    list of str
        Modules of the package that it imports with the packages above them, and data files that it names;
        relative to the package.
    list of str
        Names of the tables of constants that it reads.
    """
    if path.suffix in GRIDS:
        return [], []
    known, name, state = _known(), str(path), path.stat()
    stamp = [state.st_mtime_ns, state.st_size]
    if name not in known or known[name][0] != stamp:
        known[name] = [stamp, *map(sorted, _parsed(path.read_text(encoding="utf-8"), path.suffix == ".py"))]
        known["new"] = True
    return known[name][1:]


@cache
def _known():
    """References found by earlier processes, since parsing takes longer than all else at the start of a job."""
    try:
        return json.loads((_cache_file()).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}


@cache
def _cache_file():
    """Where references are kept; another file for another version of this module or other data files."""
    digest = sha256(Path(__file__).read_bytes() + " ".join(sorted(data_files())).encode()).hexdigest()[:12]
    return cache_home() / f"references-{digest}.json"


def _keep():
    """Store what was parsed, for the next process; a folder that refuses it is no reason to fail."""
    if _known().pop("new", False):
        try:
            write_text(_cache_file(), json.dumps(_known()))
        except OSError:
            return


def _parsed(text, python):
    """Modules and data files, and tables of constants, that a text refers to."""
    if not python:
        return {path for name, path in data_files().items() if name in text}, ()
    files, tables = set(), set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            files.update(*(_modules(alias.name) for alias in node.names))
        elif isinstance(node, ast.ImportFrom):
            names = (node.module, *(f"{node.module}.{alias.name}" for alias in node.names))
            files.update(*map(_modules, names))
        elif isinstance(node, ast.Call):
            tables |= _tables(node)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            files |= _named(node.value)
    return files, tables


def _named(text):
    """Files that a text in the code names: a data file, a module, or all modules of a package (``room.``)."""
    if text in data_files():
        return {data_files()[text]}
    if not re.fullmatch(rf"{NAME}(\.\w+)+\.?", text):
        return set()
    if not text.endswith("."):
        return set(_modules(text))
    folder = PACKAGE.joinpath(*text.split(".")[1:-1])
    return {path.relative_to(PACKAGE).as_posix() for path in folder.glob("*.py")}


@cache
def _modules(dotted):
    """Files of a module of the package and of the packages above it.

    The package's own ``__init__`` is left out: it names the public interface and would draw everything in.
    """
    top, *parts = dotted.split(".")
    if top != NAME or ".".join(parts[:2]) in MACHINERY:
        return frozenset()
    paths = [PACKAGE.joinpath(*parts[:depth], "__init__.py") for depth in range(1, len(parts) + 1)]
    if parts:
        paths.append(PACKAGE.joinpath(*parts).with_suffix(".py"))
    return frozenset(path.relative_to(PACKAGE).as_posix() for path in paths if path.is_file())


def _tables(call):
    """Tables of constants that a call reads: one by its name, or all."""
    name = getattr(call.func, "id", getattr(call.func, "attr", ""))
    if name == "sources":
        return set(ROOMS)
    first = call.args[0] if name in ("constant", "table") and call.args else None
    if not isinstance(first, ast.Constant):
        return set(ROOMS) if name == "constant" and first is not None else set()
    return {first.value} & set(ROOMS)


@cache
def data_files():
    """Templates, style files and grids of climate by name; their paths relative to the package."""
    paths = [path for path in PACKAGE.rglob("*") if path.suffix in TEXTS + GRIDS]
    paths += [path for path in (PACKAGE.parent / "data").glob("*") if path.suffix in GRIDS]
    return {path.name: relpath(path, PACKAGE) for path in paths}
