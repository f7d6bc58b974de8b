"""The wheel, installed in an environment of its own and used away from the checkout."""

import json
import os
import subprocess
import sys
import sysconfig
import zipfile
from pathlib import Path

import pytest
import yaml

from darkspell.pipeline.location import workflow_root

ROOT = Path(__file__).parents[2]
FOLDERS = {"workflow/rules": "*.smk", "workflow/scripts": "*.py", "workflow/darkspell": "**/*"}
SMALL = {
    "sizing": {
        "array_wp": [200, 400],
        "bank_ah": [100, 200],
        "prices": {"array_per_wp": 1.2, "bank_per_ah": 4},
    },
    "engine": {"members": 16, "parameter_draws": 8},
    "whatifs": {"larger_bank": {"bank.capacity_ah": 400}},
}


def called(words, folder, **more):
    """Run a command without the checkout on its path, with more in its environment; its standard output."""
    environment = {
        key: value for key, value in os.environ.items() if key not in ("PYTHONPATH", "VIRTUAL_ENV")
    } | more
    done = subprocess.run(words, cwd=folder, env=environment, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    pytest.importorskip("hatchling")
    folder = tmp_path_factory.mktemp("wheel")
    words = ["-m", "pip", "wheel", "-q", "--no-deps", "--no-build-isolation", "-w", str(folder), str(ROOT)]
    called([sys.executable, *words], folder)
    return next(folder.glob("darkspell-*.whl"))


@pytest.fixture(scope="module")
def installed(wheel, tmp_path_factory):
    """Folder of commands of an environment that holds the wheel and sees the libraries of this one."""
    folder = tmp_path_factory.mktemp("environment")
    called([sys.executable, "-m", "venv", "--without-pip", str(folder)], folder)
    commands = folder / ("Scripts" if os.name == "nt" else "bin")
    python = str(commands / "python")
    called(
        [sys.executable, "-m", "pip", "--python", python, "install", "-q", "--no-deps", str(wheel)], folder
    )
    words = [python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"]
    libraries = Path(called(words, folder).strip())
    (libraries / "libraries.pth").write_text(sysconfig.get_path("purelib") + "\n")
    return commands


def test_every_file_that_a_run_needs_is_in_the_wheel(wheel):
    names = set(zipfile.ZipFile(wheel).namelist())
    grids = {f"darkspell/data/{path.name}" for path in (ROOT / "workflow" / "data").glob("*.nc")}
    assert grids and grids | {"darkspell/pipeline/files/Snakefile"} <= names
    for folder, pattern in FOLDERS.items():
        inside = "darkspell" if folder.endswith("darkspell") else f"darkspell/pipeline/files/{folder}"
        files = [path for path in (ROOT / folder).glob(pattern) if path.is_file() and path.suffix != ".pyc"]
        files = [path for path in files if "__pycache__" not in path.parts]
        assert files and {f"{inside}/{path.relative_to(ROOT / folder).as_posix()}" for path in files} <= names
    assert not [name for name in names if "/tests/" in name or "__pycache__" in name]


def test_a_study_runs_away_from_the_checkout(installed, tmp_path):
    where = called([installed / "python", "-c", "import darkspell; print(darkspell.__file__)"], tmp_path)
    package = Path(where.strip()).parent
    assert not package.is_relative_to(ROOT)
    called([installed / "darkspell", "new", "cabin.yaml"], tmp_path)
    study = tmp_path / "cabin.yaml"
    study.write_text(yaml.safe_dump(yaml.safe_load(study.read_text(encoding="utf-8")) | SMALL))
    called([installed / "darkspell", "check", "cabin.yaml"], tmp_path)
    assert json.loads(called([installed / "darkspell", "schema"], tmp_path))["title"] == "darkspell study"
    told = called([installed / "darkspell", "run", "cabin.yaml", "--cores", "1"], tmp_path)
    assert "proposal.html" in told
    results = tmp_path / "results" / "cabin"
    assert json.loads((results / "summary.json").read_text())["lolh"]["n"] == 16
    assert {"proposal.html", "proposal.pdf", "proposal.docx", "tables.xlsx"} <= {
        path.name for path in results.iterdir()
    }
    again = called([installed / "darkspell", "run", "cabin.yaml", "--cores", "1"], tmp_path)
    assert "Nothing has changed" in again


def test_the_snakefile_is_found_in_the_package_or_in_the_checkout(tmp_path):
    package = tmp_path / "workflow" / "darkspell"
    inside = package / "pipeline" / "files"
    inside.mkdir(parents=True)
    assert workflow_root(package) == tmp_path
    (inside / "Snakefile").touch()
    assert workflow_root(package) == inside
    assert (workflow_root() / "Snakefile").is_file()
