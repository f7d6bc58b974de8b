"""The rooms of the package: each imports only from rooms below it."""

import ast
from pathlib import Path

import pytest

import darkspell

PACKAGE = Path(darkspell.__file__).parent
# From the bottom to the top; a room may import from those before it.
ORDER = (
    "core", "statistics", "chemistry", "study", "climate", "weather", "pv", "loads", "chargers", "bank", "monitor",
    "simulation", "design", "hand_check", "report", "log_analysis", "validation", "pipeline", "api", "plot", "cli",
    "benchmark", "dev",
)  # fmt: skip
SINGLE = {"api", "plot"}  # modules in place of folders


def arrows(path, folder):
    """Rooms that a file imports from, as (own room, other room, line); imports inside functions count."""
    parts = path.relative_to(folder).parts
    own = "dev" if folder.name == "dev" else parts[0].removesuffix(".py")
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert not node.level, f"{path}: a relative import"
            names = [f"{node.module}.{alias.name}" for alias in node.names]
        for name in names:
            top, *rest = name.split(".")
            if top == "dev":
                yield own, "dev", node.lineno
            elif top == "darkspell" and rest and ((PACKAGE / rest[0]).is_dir() or rest[0] in SINGLE):
                yield own, rest[0], node.lineno


def modules(folder):
    """All modules of a folder, its own `__init__` apart, which loads the public functions on demand."""
    paths = sorted(folder.rglob("*.py"))
    return [
        path for path in paths if folder.name == "dev" or path.name != "__init__.py" or path.parent != folder
    ]


def test_every_folder_is_a_room():
    """A new folder takes its place in the order."""
    folders = {path.name for path in PACKAGE.iterdir() if path.is_dir() and (path / "__init__.py").exists()}
    assert folders == set(ORDER) - {"dev"} - SINGLE


@pytest.mark.parametrize("folder", [PACKAGE, PACKAGE.parent / "dev"], ids=lambda folder: folder.name)
def test_imports_go_downwards(folder):
    """No room imports from one above it, so no circle can arise."""
    upward = [
        f"{path.relative_to(folder.parent)}:{line} {own} -> {other}"
        for path in modules(folder)
        for own, other, line in arrows(path, folder)
        if ORDER.index(other) > ORDER.index(own)
    ]
    assert not upward, "\n".join(upward)


def test_an_upward_import_is_seen(tmp_path):
    """The test above can fail, also on an import inside a function."""
    path = tmp_path / "darkspell" / "core" / "wrong.py"
    path.parent.mkdir(parents=True)
    path.write_text("def f():\n    from darkspell.report.results import read_results\n", encoding="utf-8")
    assert list(arrows(path, tmp_path / "darkspell")) == [("core", "report", 2)]
