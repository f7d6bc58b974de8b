"""What makes a result stale: the files that its script depends on, computed from a copy of the tree."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
KEYS = """
import json
from darkspell.pipeline.dependencies import SCRIPTS, stage_hash
print(json.dumps({path.stem: stage_hash(path.name) for path in sorted(SCRIPTS.glob("*.py"))}))
"""


@pytest.fixture(scope="module")
def copy(tmp_path_factory):
    """A copy of the tree, and the hashes of all stages in it."""
    folder = tmp_path_factory.mktemp("tree")
    shutil.copytree(
        ROOT / "workflow", folder / "workflow", ignore=shutil.ignore_patterns("__pycache__", "*.nc")
    )
    return folder, hashes(folder)


def hashes(folder):
    """Hash of each stage's sources in a copy of the tree."""
    env = os.environ | {"PYTHONPATH": str(folder / "workflow"), "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run([sys.executable, "-c", KEYS], env=env, cwd=folder, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def stale(copy, file, text="\n# edited\n"):
    """Stages whose hash an edit of one file changes."""
    folder, before = copy
    path = folder / "workflow" / "darkspell" / file
    old = path.read_bytes()
    try:
        path.write_bytes(old + text.encode())
        after = hashes(folder)
    finally:
        path.write_bytes(old)
    return {stage for stage in before if after[stage] != before[stage]}
