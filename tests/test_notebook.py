"""The notebook of the public functions runs from its first cell to its last, and shows what a run shows."""

from pathlib import Path

import nbformat
import pytest
from nbconvert.preprocessors import ExecutePreprocessor

from dev.api_reference import PATH, reference

ROOT = Path(__file__).parents[1]
NOTEBOOK = ROOT / "config" / "first_study.ipynb"
PUBLIC = ("read_study", "simulate", "size", "what_if", "replay")


@pytest.fixture(scope="module")
def stored():
    return nbformat.read(NOTEBOOK, as_version=4)


def kinds(notebook):
    """Kinds of output of each cell, such as a table or a picture."""
    return [
        [sorted(output.get("data", {"text/plain": None})) for output in cell.get("outputs", [])]
        for cell in notebook.cells
    ]


def test_it_runs_and_shows_what_is_stored(stored, monkeypatch):
    """A cell that fails raises. Numbers are left out of the comparison: they follow the model."""
    monkeypatch.setenv("PYTHONPATH", str(ROOT / "workflow"))
    fresh = nbformat.read(NOTEBOOK, as_version=4)
    for cell in fresh.cells:
        cell.pop("outputs", None) if cell.cell_type != "code" else cell.update(outputs=[])
    runner = ExecutePreprocessor(timeout=500, kernel_name="python3")
    runner.preprocess(fresh, {"metadata": {"path": str(NOTEBOOK.parent)}})
    assert kinds(fresh) == kinds(stored)
    assert sum("image/png" in kind for cell in kinds(fresh) for kind in cell) == 5


def test_it_uses_every_public_function_and_has_no_path_or_warning(stored):
    code = "\n".join(cell.source for cell in stored.cells if cell.cell_type == "code")
    assert all(f"darkspell.{name}(" in code for name in PUBLIC)
    text = NOTEBOOK.read_text(encoding="utf-8")
    assert "stderr" not in text and str(Path.home()) + "/" not in text and "/tmp/" not in text
    assert "local electrical code" in stored.cells[0].source.replace("\n", " ")


def test_the_reference_of_the_functions_is_that_of_their_docstrings():
    """Written anew by ``python -m dev.api_reference``."""
    assert PATH.read_text(encoding="utf-8") == reference()
