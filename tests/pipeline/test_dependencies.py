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


YEARS = {
    "ageing", "catalogue_designs", "costs", "disconnects", "grid", "measured_years", "members", "members_part",
    "remedies", "saving", "sensitivity", "unattended", "whatifs",
}  # fmt: skip
PAGES = {"figures", "options", "proposal", "sweeps", "validation"}  # they use single functions of rooms below
WITH_MONITORS = YEARS - {"ageing", "costs", "unattended"}


@pytest.mark.parametrize(
    ("file", "stages"),
    [
        ("report/tables/hourly_dataset.py", {"members"}),
        ("bank/run_designs.py", {"catalogue_designs", "grid"}),
        ("monitor/voltage_gauge.py", WITH_MONITORS),
        ("weather/site_sky.py", {"catalogue_designs", "remedies", "sensitivity", "site"}),
        ("report/document/page.css", {"options", "proposal"}),
        ("report/document/panel.html.j2", {"options", "proposal"}),
        ("core/constants/hand_check.toml", {"figures", "options", "proposal", "provenance"}),
        ("design/remedies.py", {"remedies"}),
        ("study/errors.py", set()),
        ("pipeline/progress_file.py", set()),
        ("cli/check.py", set()),
    ],
)
def test_an_edit_makes_exactly_these_stages_stale(copy, file, stages):
    """Sets written down from what each script does, not from the code that computes them."""
    assert (
        stale(copy, file) - {"validation"} == stages
    )  # the page of the validation uses parts of the document


@pytest.mark.parametrize(
    "file", ["simulation/system.py", "bank/vector_step.py", "simulation/input_series.py"]
)
def test_an_edit_of_the_years_leaves_site_prices_and_record_valid(copy, file):
    """Whatever simulates years is stale; pages may be."""
    changed = stale(copy, file)
    assert changed >= YEARS and changed - YEARS <= PAGES


@pytest.mark.parametrize("file", ["report/proposal/chapters/snow.py", "report/figures/months.py"])
def test_an_edit_of_a_page_simulates_nothing_again(copy, file):
    """Chapters and figures."""
    changed = stale(copy, file)
    assert "proposal" in changed and changed <= PAGES


def test_a_new_file_is_seen_once_it_is_imported(copy):
    """The closure follows imports inside functions, and imports of modules that were not there before."""
    folder, before = copy
    path = folder / "workflow" / "darkspell" / "design" / "remedies.py"
    new = path.with_name("brand_new.py")
    old = path.read_bytes()
    try:
        path.write_bytes(
            old + b"\n\ndef late():\n    from darkspell.design import brand_new\n\n    return brand_new\n"
        )
        new.write_text("A = 1\n")
        first = hashes(folder)
        new.write_text("A = 22\n")
        second = hashes(folder)
    finally:
        path.write_bytes(old)
        new.unlink(missing_ok=True)
    assert {stage for stage in before if first[stage] != second[stage]} == {"remedies"}
