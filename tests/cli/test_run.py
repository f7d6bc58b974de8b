"""Runs of a small pipeline of our own, so that these tests try the command and not the simulation."""

import io
import os
import signal
import subprocess
import sys
from contextlib import redirect_stdout
from pathlib import Path

import pytest

from darkspell.cli import run as room
from darkspell.cli.locks import study_locks
from darkspell.cli.main import main
from darkspell.core.errors import StudyError
from darkspell.core.table_reader import read_table

SNAKEFILE = """\
from darkspell.pipeline.stages import load_studies
STUDIES = load_studies(config["studies"], config.get("members"))
rule all:
    input: expand("results/{study}/proposal.html", study=STUDIES)
rule years:
    message: "{wildcards.study}: the years"
    output: "results/{study}/years.txt"
    params: members=lambda w: STUDIES[w.study].study.engine.members
    shell: "sleep $NAP; echo {params.members} > {output}"
rule proposal:
    message: "{wildcards.study}: the proposal"
    input: "results/{study}/years.txt"
    output: "results/{study}/proposal.html"
    script: "write.py"
"""
WRITE = """\
import os, time
from pathlib import Path
from darkspell.core.errors import StudyError
from darkspell.core.table_reader import read_table
if os.environ.get("BREAK") == snakemake.wildcards.study:
    raise StudyError("arrays.roof: does not hold; mend it")
time.sleep(float(os.environ.get("NAP_IN_SCRIPT", 0)))
Path(snakemake.output[0]).write_text(Path(snakemake.input[0]).read_text())
"""


@pytest.fixture
def checkout(tmp_path, monkeypatch):
    root = tmp_path / "root"
    root.mkdir()
    (root / "Snakefile").write_text(SNAKEFILE)
    (root / "write.py").write_text(WRITE)
    monkeypatch.setattr(room, "ROOT", root)
    monkeypatch.setenv("NAP", "0")
    monkeypatch.chdir(tmp_path)
    for name in ("hut", "boat"):
        assert main(["new", name]) == 0
    return tmp_path


def test_two_studies_one_of_which_fails_and_then_goes_on(checkout, monkeypatch):
    out, err = io.StringIO(), io.StringIO()
    monkeypatch.setenv("BREAK", "boat")
    assert room.run(["hut.yaml", "boat.yaml"], cores=2, members=7, out=out, err=err) == 1
    told = err.getvalue()
    assert "4 steps to go" in told and "hut: the proposal  (" in told
    assert "boat: the proposal: failed\n  arrays.roof: does not hold; mend it" in told
    assert "Traceback" not in told and out.getvalue() == ""
    assert Path("results/hut/proposal.html").read_text() == "7\n"
    assert not Path("results/boat/proposal.html").exists()

    monkeypatch.delenv("BREAK")
    err = io.StringIO()
    assert room.run(["hut.yaml", "boat.yaml"], cores=2, members=7, out=out, err=err) == 0
    assert "1 step to go" in err.getvalue()
    assert "results/boat/proposal.html" in out.getvalue()


def test_studies_whose_names_a_table_reads_as_something_else(checkout):
    """None, numbers, truth and infinity as names of files; the table of studies keeps them as they are."""
    names = ("none", "nan", "1", "01", "1e3", "true", "null", "inf", "_")
    for name in names:
        Path(f"{name}.yaml").write_text(Path("hut.yaml").read_text())
    assert room.run([f"{name}.yaml" for name in names], cores=2, out=io.StringIO(), err=io.StringIO()) == 0
    assert {path.name for path in Path("results").iterdir() if path.is_dir()} == set(names)
    assert set(read_table("results/studies.csv")["name"]) == set(names)


@pytest.mark.parametrize("nap", ["NAP", "NAP_IN_SCRIPT"])
def test_an_interrupted_run_leaves_nothing_that_stands_in_the_way(checkout, nap):
    code = (
        "import sys; from pathlib import Path; from darkspell.cli import run as room; "
        f"room.ROOT = Path({str(checkout / 'root')!r}); sys.exit(room.run(['hut.yaml'], cores=1))"
    )
    slow = {**os.environ, nap: "60"}
    process = subprocess.Popen([sys.executable, "-c", code], env=slow, stderr=subprocess.PIPE, text=True)
    assert "step" in process.stderr.readline()
    with pytest.raises(StudyError, match="is being run already"):
        room.run(["hut.yaml"], out=io.StringIO(), err=io.StringIO())
    process.send_signal(signal.SIGTERM)
    assert "goes on from there" in process.communicate(timeout=4 * room.PATIENCE_S)[1]  # it insists twice
    assert process.returncode == room.STOPPED
    out = io.StringIO()
    assert room.run(["hut.yaml"], cores=1, out=out, err=io.StringIO()) == 0
    assert "proposal.html" in out.getvalue()


def test_studies_are_judged_before_anything_runs(checkout):
    Path("boat.yaml").write_text(Path("boat.yaml").read_text().replace("watts: 5\n", "watts: -5\n"))
    with pytest.raises(StudyError, match=r"loads\.lights\.watts: -5 W"):
        room.run(["hut.yaml", "boat.yaml"])
    assert not Path(".snakemake").exists()


def test_a_text_that_snakemakes_reader_stumbles_over_is_run(checkout):
    # YAML 1.1 takes the bare words for a date that does not exist.
    text = (
        Path("hut.yaml")
        .read_text()
        .replace("title: Power for a small place of one's own", "title: 2026-02-31")
    )
    Path("hut.yaml").write_text(text)
    assert room.run(["hut.yaml"], cores=1, out=io.StringIO(), err=io.StringIO()) == 0


def test_studies_of_another_folder_leave_their_results_where_the_command_is_given(checkout, monkeypatch):
    """`run` and `options`, by a relative path, of a file that makes two studies."""
    Path("night.yaml").write_text(
        "extends: hut.yaml\ncross: {bank: {small: {bank.capacity_ah: 90}, large: {bank.capacity_ah: 300}}}\n"
    )
    (checkout / "away" / "from").mkdir(parents=True)
    monkeypatch.chdir(checkout / "away" / "from")
    names = ["night_small", "night_large"]
    for words, told in (("run", "Read next"), ("options", "results/options/proposal.html")):
        out = io.StringIO()
        with redirect_stdout(out):
            assert main([words, "../../night.yaml", "--members", "7"]) == 0
        assert told in out.getvalue()
        table = read_table("results/studies.csv")
        assert list(table["name"]) == names and list(table["bank.capacity_ah"]) == [90, 300]
        assert list(table["file"]) == [f"../../night.yaml::{name}" for name in names]
        assert all(Path(f"results/{name}/proposal.html").read_text() == "7\n" for name in names)
    assert not (checkout / "results").exists()


def test_two_files_of_one_name_are_refused(checkout):
    Path("other").mkdir()
    Path("other/hut.yaml").write_text(Path("hut.yaml").read_text())
    with pytest.raises(StudyError, match="overwrite"):
        room.run(["hut.yaml", "other/hut.yaml"])


def test_an_installation_without_its_snakefile_is_reported(checkout):
    (checkout / "root" / "Snakefile").unlink()
    with pytest.raises(StudyError, match="installation is incomplete"):
        room.run(["hut.yaml"])


def test_a_pipeline_that_does_not_start_is_told_in_a_few_lines(checkout):
    (checkout / "root" / "Snakefile").write_text("raise ValueError('the pipeline is at fault')\n")
    err = io.StringIO()
    assert room.run(["hut.yaml"], err=err) == 1
    assert "did not get under way" in err.getvalue() and "the pipeline is at fault" in err.getvalue()
    assert "Traceback" not in err.getvalue() and len(err.getvalue().splitlines()) < 12


def test_locks_are_by_study_and_die_with_their_holder(tmp_path):
    with study_locks(["a", "b"], tmp_path):
        with study_locks(["c"], tmp_path):
            pass
        with pytest.raises(StudyError, match="b: is being run already"), study_locks(["b"], tmp_path):
            pass
    with study_locks(["b"], tmp_path):
        pass
    stale = tmp_path / ".snakemake" / "locks"
    stale.mkdir()
    (stale / "0.output.lock").write_text("results/b/members.csv\n")
    with study_locks(["b"], tmp_path):  # no Snakemake lives in this folder
        pass


def test_a_file_in_the_place_of_the_results_is_named(tmp_path):
    (tmp_path / "results").mkdir()
    (tmp_path / "results" / "a").write_text("")
    with pytest.raises(StudyError, match="results/a: is a file"), study_locks(["a"], tmp_path):
        pass
