"""The code as the linters want it, and the README's commands as CI runs them."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.mark.parametrize(
    "words",
    [
        ("ruff", "check", "."),
        ("ruff", "format", "--check", "."),
        ("snakefmt", "--check", "Snakefile", "workflow/rules"),
    ],
)
def test_linters(words):
    """ruff and snakefmt have nothing to say."""
    done = subprocess.run([sys.executable, "-m", *words], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr


def test_ci_runs_the_readmes_own_command():
    """Word for word."""
    command = next(
        line for line in (ROOT / "README.md").read_text().splitlines() if line.endswith("&& pytest")
    )
    assert command.strip() in (ROOT / ".ci" / "run").read_text().splitlines()
