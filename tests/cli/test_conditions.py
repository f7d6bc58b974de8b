"""Places at the edge of the map, and computers that are not as they should be: what each is answered."""

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import yaml

import darkspell
from darkspell.cli.locks import study_locks
from darkspell.cli.main import main
from darkspell.core.atomic_files import write_numbers, write_table
from darkspell.core.errors import StudyError
from study.example import spoilt

NOWHERE = "/proc/none"  # no user, root included, may make a folder there
LAMP = {"watts": 10, "hours_per_day": 4}


def simulated(members=4, **changes):
    """Months without any sun, the time zone, and whether an interval is claimed; or the refusal."""
    study = spoilt({key.replace("__", "."): value for key, value in changes.items()})
    try:
        results = darkspell.simulate(study, members, workers=1)
    except StudyError as fault:
        return str(fault)
    for name, table in (("members", results.members), ("headlines", results.headlines[["value"]])):
        assert np.isfinite(table.select_dtypes("number").to_numpy()).all(), name
    sun = results.hourly(1)["sun"].groupby("time.month").max().squeeze()
    dark = sun["month"].to_numpy()[sun.to_numpy() == 0.0].tolist()
    bounds = results.headlines.loc["lolh", ["place_low", "place_high"]]
    return f"dark {dark}, zone {results.study.site.utc_offset_h:+g} h, interval {bool(bounds.notna().all())}"


# Months wholly within the polar night: the noon sun is below the horizon where the declination is below
# latitude - 90 degrees (geometry), at 78 degrees from late October to the middle of February.
PLACES = [
    ("polar night, north", {"site__latitude_deg": 78.0}, "dark [1, 11, 12], zone +1 h"),
    ("polar night, south", {"site__latitude_deg": -78.0, "arrays__roof__azimuth_deg": 0}, "dark [5, 6, 7]"),
    ("beyond the map", {"site__latitude_deg": 80.5}, "site.latitude_deg: 80.5 deg is not allowed"),
    ("polar night, atlas", {"site__latitude_deg": 78.0, "climate": {"source": "atlas"}}, "dark [1, 11, 12]"),
    ("date line, east", {"site__longitude_deg": 180.0}, "dark [], zone +12 h"),
    ("date line, west", {"site__longitude_deg": -180.0}, "dark [], zone -12 h"),
    ("date line, atlas", {"site__longitude_deg": -180.0, "climate": {"source": "atlas"}}, "dark [], zone -12 h"),
    ("equator", {"site__latitude_deg": 0.0, "site__longitude_deg": 0.0}, "dark [], zone +0 h"),
    ("equator, atlas", {"site__latitude_deg": 0.0, "climate": {"source": "atlas"}}, "dark []"),
    ("one year", {"members": 1}, "interval False"),
    ("many years", {"members": 64}, "interval True"),
    ("no load", {"loads": {}}, "loads: a mapping without entries is not allowed; give at least 1 entry"),
    ("no essential load", {"loads": {"lamp": LAMP | {"tier": "deferrable"}}}, "dark []"),
    ("nobody ever there", {"occupancy": {"absences": {"all": {"first": "01-01", "last": "12-31"}}}}, "dark []"),
    ("no array", {"arrays": {}}, "arrays: a mapping without entries is not allowed; give at least 1 entry"),
    ("an array of 0 Wp", {"arrays__roof__power_wp": 0}, "arrays.roof.power_wp: 0 Wp is not allowed"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "answer"), [row[1:] for row in PLACES], ids=[row[0] for row in PLACES])
def test_places_and_plants_at_the_edge(changes, answer):
    """All numbers finite, or one refusal."""
    assert answer in simulated(**changes)


def test_both_sides_of_the_date_line_have_the_same_year():
    """The same meridian: a day apart by the calendar, which moves the yearly sun by less than one per cent."""
    east, west = (
        darkspell.simulate(spoilt({"site.longitude_deg": at}), 4, 1).hourly(4)["sun"].mean()
        for at in (180.0, -180.0)
    )
    assert float(east) == pytest.approx(float(west), rel=0.01)


def own(limit, action):
    """What an action raises or prints in a process of its own, without rights of root, files of `limit` bytes."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
            if os.geteuid() == 0 and limit == resource.RLIM_INFINITY:
                os.setresuid(65534, 65534, 65534)
            answer = str(action())
        except BaseException as error:  # noqa: BLE001 all of it is the answer
            answer = f"{type(error).__name__}: {error}"
        os.write(writer, answer.encode())
        os._exit(0)
    os.close(writer)
    with os.fdopen(reader, encoding="utf-8") as answers:
        answer = answers.read()
    os.waitpid(child, 0)
    return answer


def locked(folder):
    """Take the lock of a study, as a run does first."""
    with study_locks(["hut"], folder):
        return "begun"


@pytest.fixture
def folder():
    """A folder that any user may enter."""
    with tempfile.TemporaryDirectory() as made:
        Path(made).chmod(0o755)
        yield Path(made)


FREE = resource.RLIM_INFINITY
TABLE = pd.DataFrame({"a": np.arange(9999.0)})
COMPUTERS = [
    # Condition, read-only parts of the folder, largest file, what is done, answer.
    ("read-only folder", ["."], FREE, locked, ".snakemake: cannot be written (Permission denied)"),
    ("read-only results", ["results"], FREE, locked, "results/hut: cannot be written (Permission denied)"),
    ("read-only figures", ["results/hut/figures"], FREE, locked, "results/hut/figures: cannot be written"),
    ("read-only table", ["results/hut"], FREE, lambda at: write_table(at / "results/hut/t.csv", TABLE),
     "StudyError: {}/results/hut/t.csv: cannot be written (Permission denied); run where you may write"),
    ("full disk", [], 9999, lambda at: write_table(at / "results/hut/t.csv", TABLE),
     "StudyError: {}/results/hut/t.csv: cannot be written (File too large); make room on the disk"),
    ("full disk, numpy's own words", [], 9999, lambda at: np_saved(at), "(File too large); make room on the disk"),
]  # fmt: skip


def np_saved(at):
    """Numbers; numpy says how much it wrote and not why."""
    write_numbers(at / "results/hut/n.npy", np.arange(99999.0))


@pytest.mark.parametrize(
    ("closed", "limit", "action", "answer"), [row[1:] for row in COMPUTERS], ids=[row[0] for row in COMPUTERS]
)
def test_computers_that_do_not_let_us_write(folder, closed, limit, action, answer):
    """One message with path and cure; the old table is kept and nothing half-made is left."""
    (folder / "results" / "hut" / "figures").mkdir(parents=True)
    (folder / ".snakemake").mkdir()
    old = folder / "results" / "hut" / "t.csv"
    old.write_text("old", encoding="utf-8")
    for path in (folder, *folder.rglob("*")):
        path.chmod(0o777 if path.is_dir() else 0o666)
    (folder / ".snakemake").rmdir() if closed == ["."] else None
    for part in closed:
        (folder / part).chmod(0o555)
        if part == "results":
            (folder / "results" / "hut").chmod(0o555)
    try:
        assert answer.format(folder) in own(limit, lambda: action(folder))
    finally:
        for path in (folder, *folder.rglob("*")):
            path.chmod(0o777) if path.is_dir() else None
    assert old.read_text(encoding="utf-8") == "old" and not list(folder.rglob(".half-made*"))


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_an_answer_that_cannot_be_printed(tmp_path):
    """Exit code 1 and one line."""
    assert main(["new", str(tmp_path / "hut")]) == 0
    command = [sys.executable, "-m", "darkspell.cli.main", "check", str(tmp_path / "hut.yaml")]
    with open("/dev/full", "w", encoding="utf-8") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True)
    assert done.returncode == 1 and done.stderr == "No space left on device\n"


def test_a_cache_that_cannot_be_written(tmp_path):
    """Kernels are kept next to the package instead, or among the temporary files."""
    code = "import os, darkspell; print(os.environ['NUMBA_CACHE_DIR']); from darkspell.core.jit import kernel"
    for asked, used in ((tmp_path / "mine", True), (NOWHERE, False)):
        env = os.environ | {"NUMBA_CACHE_DIR": str(asked), "HOME": NOWHERE, "XDG_CACHE_HOME": NOWHERE}
        done = subprocess.run(
            [sys.executable, "-c", code], env=env, capture_output=True, text=True, check=True
        )
        assert (done.stdout.strip() == str(asked)) is used and Path(done.stdout.strip()).parent.is_dir()


SNAKEFILE = """\
from darkspell.pipeline.stages import load_studies
STUDIES = load_studies(config["studies"], config.get("members"))
rule all:
    input: expand("results/{study}/proposal.html", study=STUDIES)
rule site:
    output: "results/{study}/site.txt"
    shell: "echo site > {output:q}"
rule proposal:
    input: "results/{study}/site.txt"
    output: "results/{study}/proposal.html"
    params: members=lambda w: STUDIES[w.study].study.engine.members
    script: "write.py"
"""
WRITE = """\
from darkspell.core.atomic_files import write_text
write_text(snakemake.output[0], f"{snakemake.params.members} years" + " " * 400_000)
"""
RUN = """\
import json, sys
from pathlib import Path
from darkspell.cli import run as room
room.ROOT = Path(sys.argv[1])
sys.exit(room.run([sys.argv[2]], cores=1, members=int(sys.argv[3])))
"""


def test_a_run_under_hostile_conditions(tmp_path):
    """Blanks, quotes and other scripts in folders, no home, no cache, a full disk, then a clock set back."""
    root, there = tmp_path / "root", tmp_path / "été 雪 (a) b's {c} $d"
    (there / "مجلد").mkdir(parents=True)
    root.mkdir()
    (root / "Snakefile").write_text(SNAKEFILE, encoding="utf-8")
    (root / "write.py").write_text(WRITE, encoding="utf-8")
    (there / "hut.yaml").write_text(yaml.safe_dump(spoilt({})), encoding="utf-8")
    env = os.environ | {"HOME": NOWHERE, "XDG_CACHE_HOME": NOWHERE}
    page = there / "مجلد" / "results" / "hut" / "proposal.html"

    def run(members, limit=FREE):
        words = [sys.executable, "-c", RUN, str(root), "../hut.yaml", str(members)]
        return subprocess.run(
            words, cwd=there / "مجلد", env=env, capture_output=True, text=True,
            preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit)),
        )  # fmt: skip

    full = run(7, limit=200_000)
    assert full.returncode == 1 and "Traceback" not in full.stderr
    assert "results/hut/proposal.html: cannot be written (File too large); make room" in full.stderr
    assert not page.exists() and not list(page.parent.glob(".half-made*"))

    done = run(7)
    assert done.returncode == 0, done.stderr
    assert page.read_text(encoding="utf-8").strip() == "7 years"

    ahead = time.time() + 2 * 86400
    for path in page.parent.rglob("*"):
        os.utime(path, (ahead, ahead))
    done = run(8)
    assert done.returncode == 0, done.stderr
    assert page.read_text(encoding="utf-8").strip() == "8 years"
    assert max(path.stat().st_mtime for path in page.parent.rglob("*")) <= time.time()
