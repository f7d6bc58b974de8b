import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

from darkspell.cli.main import arguments, main
from darkspell.climate import site_climate
from darkspell.core.constants import CHEMISTRIES
from darkspell.study import load_study
from study.example import spoilt

CONFIG = Path(__file__).parents[2] / "config"


def command(*words, folder=None):
    words = [sys.executable, "-m", "darkspell.cli.main", *map(str, words)]
    return subprocess.run(words, cwd=folder, capture_output=True, text=True)


def test_help_reads_well():
    answer = command("--help")
    assert answer.returncode == 0
    for word in ("new", "check", "run", "config/README.md"):
        assert word in answer.stdout


def test_help_loads_nothing_heavy():
    code = "import sys; from darkspell.cli.main import parser; parser().format_help(); print(*sys.modules)"
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    heavy = {"numpy", "pydantic", "yaml", "pvlib", "numba", "pandas", "rich", "snakemake", "matplotlib"}
    assert not heavy & set(answer.stdout.split())


def test_check_answers():
    answer = command("check", CONFIG / "tarn_hut.yaml")
    assert answer.returncode == 0 and answer.stderr == ""
    assert "the month with the least sun for its loads" in answer.stdout and "\x1b" not in answer.stdout


@pytest.mark.parametrize(
    ("words", "code", "text"),
    [
        ([], 0, "find faults, and work the study out by hand"),
        (["frob"], 2, "invalid choice"),
        (["run", "x.yaml", "--cores", "0"], 2, "from 1 to 100000"),
        (["run", "x.yaml", "--members", "-3"], 2, "from 1 to 100000"),
        (["new", "x", "--chemistry", "lead"], 2, "flooded"),
        (["new", "x", "--latitude", "60N"], 2, "'60N' is no number; give decimal degrees, such as 60.2"),
        (["--version"], 0, "darkspell 0."),
    ],
)
def test_the_shell_is_told_what_is_wrong(words, code, text, capsys):
    with pytest.raises(SystemExit) as end:
        main(words)
    assert end.value.code == code
    told = capsys.readouterr()
    assert text in told.err + told.out


def test_changes_may_stand_before_and_after_the_options_of_try(capsys):
    asked = arguments(["try", "a.yaml", "bank.capacity_ah=300", "--members", "64", "loads.fridge.watts=30"])
    assert (asked.changes, asked.members) == (["bank.capacity_ah=300", "loads.fridge.watts=30"], 64)
    assert arguments(["try", "a.yaml", "--size", "bank.capacity_ah=300"]).changes == ["bank.capacity_ah=300"]
    for words in (
        ["try", "a.yaml", "--sizes=3"],
        ["run", "a.yaml", "--force", "x=1"],
        ["try", "a", "--size", "b"],
    ):
        with pytest.raises(SystemExit):
            arguments(words)
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize("words", [["check", "none.yaml"], ["run", "none.yaml"]])
def test_a_fault_goes_to_standard_error_without_a_traceback(words, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(words) == 1
    told = capsys.readouterr()
    assert told.out == "" and "none.yaml: no such file" in told.err and "Traceback" not in told.err


def test_faults_of_one_study_do_not_hide_another(tmp_path, capsys):
    bad = tmp_path / "bad.yaml"
    bad.write_text("site: 3")
    assert main(["check", str(bad), str(CONFIG / "tarn_hut.yaml")]) == 1
    told = capsys.readouterr()
    assert "Tarn hut" in told.out and "bad.yaml" in told.err


def test_a_fault_that_all_studies_of_a_file_share_is_said_once(tmp_path, capsys):
    """Four studies, two with a fault more than the others."""
    (tmp_path / "base.yaml").write_text(yaml.safe_dump(spoilt({"bank.capacity_ah": "big"})))
    lists = {
        "bank": {"agm": {}, "odd": {"bank.chemistry": "lead"}},
        "use": {"a": {}, "b": {"loads.lamp.watts": 6}},
    }
    (tmp_path / "night.yaml").write_text(yaml.safe_dump({"extends": "base.yaml", "cross": lists}))
    assert main(["check", str(tmp_path / "night.yaml")]) == 1
    said = capsys.readouterr().err
    assert said.count("bank.capacity_ah") == 2 and said.count("and 1 more of this file") == 2


@pytest.mark.parametrize("many", [1, 30])
def test_too_few_or_too_many_options_are_refused_before_anything_runs(many, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    lists = {"use": {f"n{n}": {"loads.lamp.watts": 1 + n} for n in range(many)}}
    (tmp_path / "some.yaml").write_text(yaml.safe_dump(spoilt({}) | {"cross": lists}))
    assert main(["options", "some.yaml"]) == 1
    assert "given: options are 2 to 26 studies" in capsys.readouterr().err
    assert not (tmp_path / "results").exists()


def test_check_for_machines(capsys):
    assert main(["check", "--json", str(CONFIG / "tarn_hut.yaml"), str(CONFIG / "ridge_relay.yaml")]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [one["study"] for one in told] == ["tarn_hut", "ridge_relay"]
    assert told[1]["design_month"] in ("June", "July")


def test_a_climate_that_cannot_be_read_is_told_with_its_file(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["new", "raft.yaml"]) == 0
    (tmp_path / "torn.epw").write_text("torn\n")
    text = (tmp_path / "raft.yaml").read_text()
    (tmp_path / "raft.yaml").write_text(
        text.replace("source: atlas ", "source: typical_year\n  file: torn.epw ", 1)
    )
    assert main(["check", "raft.yaml"]) == 1
    assert "raft.yaml: torn.epw: neither EPW" in capsys.readouterr().err


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_a_new_study_is_valid_and_commented(chemistry, tmp_path):
    path = tmp_path / "mine.yaml"
    assert (
        main(["new", str(path), "--chemistry", chemistry, "--latitude", "-41.5", "--longitude", "172.7"]) == 0
    )
    study = load_study(path)
    assert study.bank.chemistry == chemistry and study.site.longitude_deg == 172.7
    assert study.arrays["roof"].azimuth_deg == 0  # toward the equator
    assert path.read_text().count("#") > 20
    # The keys offered behind a # must be keys as well.
    shown = path.read_text().replace("  # record_low", "  record_low").replace("  # age_cap", "  age_cap")
    path.write_text(shown)
    assert -30 < load_study(path).site.record_low_temperature_c < 0


@pytest.mark.parametrize(("latitude", "longitude"), [(61.0, 9.0), (-41.5, 172.7), (5.0, 100.0)])
def test_the_comments_of_a_new_study_are_those_of_its_place(latitude, longitude, tmp_path, monkeypatch):
    """Asked for on a terminal; the twelve values are the atlas's, and summer is in its months."""
    answers = iter([str(latitude), str(longitude).replace(".", ",")])
    monkeypatch.setattr("sys.stdin.isatty", lambda: True)
    monkeypatch.setattr("builtins.input", lambda question: next(answers))
    path = tmp_path / "mine.yaml"
    assert main(["new", str(path)]) == 0
    text, study = path.read_text(), load_study(path)
    climate = site_climate(study)
    line = next(line for line in text.splitlines() if "# ghi_kwh_m2_day:" in line)
    values = yaml.safe_load(line.partition("ghi_kwh_m2_day:")[2].partition("#")[0])
    assert values == pytest.approx(climate.monthly_ghi(latitude), abs=0.051)
    assert ("months: [6, 7, 8]" in text) == (latitude > 0)
    assert ("# heater:" in text) == (climate.temp_air_mean.min() < 4)


def test_a_folder_or_a_near_name_in_place_of_a_study_is_said(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    Path("cabin.yaml").touch()
    for words, told in (
        (["check", "cabin.yml"], "cabin.yml: no such file; did you mean cabin.yaml?"),
        (["check", "van.yaml"], "van.yaml: no such file; check the path, or make one with: darkspell new"),
        (["check", "."], ".: is a folder; give the study file in it"),
        (["new", "."], ".: is a folder; name the file to write in it, such as mine.yaml"),
        (["new", ""], "is a folder"),
    ):
        assert main(words) == 1
        assert told in capsys.readouterr().err.replace("\n", "")


def test_a_place_that_nobody_gave_is_said(tmp_path, capsys):
    """Without a terminal the file is for 47 N 8 E; the options that set the place are named, only those missing."""
    assert main(["new", str(tmp_path / "a.yaml")]) == 0
    told = capsys.readouterr().err
    assert all(part in told for part in ("47 N", "8 E", "--latitude", "--longitude", "site.latitude_deg"))
    assert main(["new", str(tmp_path / "b.yaml"), "--latitude", "60"]) == 0
    assert "--latitude" not in (told := capsys.readouterr().err) and "--longitude" in told
    assert main(["new", str(tmp_path / "c.yaml"), "--latitude", "60", "--longitude", "5"]) == 0
    assert capsys.readouterr().err == ""


def test_degrees_may_have_a_decimal_comma_or_a_typographic_minus():
    asked = arguments(["new", "x", "--latitude=\u221233,5", "--longitude", "18.4"])
    assert (asked.latitude, asked.longitude) == (-33.5, 18.4)


@pytest.mark.parametrize("word", ["new", "run", "adopt", "options"])
def test_defaults_are_named_as_such(word, capsys):
    with pytest.raises(SystemExit):
        main([word, "--help"])
    told = " ".join(capsys.readouterr().out.split())
    brackets = [part.partition(")")[0] for part in told.split("(")[1:]]
    assert brackets and all(part.startswith("default") for part in brackets)


def test_prices_height_and_standing_draw_of_a_new_study_are_explained(tmp_path):
    path = tmp_path / "mine.yaml"
    assert main(["new", str(path), "--latitude", "60", "--longitude", "5"]) == 0
    lines = path.read_text().splitlines()
    for key in ("altitude_m:", "array_per_wp:", "bank_per_ah:", "fixed:", "self_consumption_w:"):
        line = next(line for line in lines if line.strip(" #").startswith(key))
        assert len(line.partition("  # ")[2]) > 15, line


def test_an_answer_that_is_no_number_writes_no_study(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr("sys.stdin.isatty", lambda: True)
    monkeypatch.setattr("builtins.input", lambda question: "north")
    assert main(["new", str(tmp_path / "mine.yaml")]) == 1
    assert "north: is no number" in capsys.readouterr().err and not list(tmp_path.iterdir())


def test_no_answer_writes_no_study(tmp_path, monkeypatch, capsys):
    """The end of the input, Ctrl-D, is one message."""

    def ended(question):
        raise EOFError

    monkeypatch.setattr("sys.stdin.isatty", lambda: True)
    monkeypatch.setattr("builtins.input", ended)
    assert main(["new", str(tmp_path / "mine.yaml")]) == 1
    assert "--latitude" in capsys.readouterr().err and not list(tmp_path.iterdir())


def test_a_new_study_overwrites_nothing_and_faulty_wishes_write_nothing(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    Path("mine.yaml").write_text("mine")
    assert main(["new", "mine"]) == 1
    assert "exists and is left alone" in capsys.readouterr().err
    assert Path("mine.yaml").read_text() == "mine"
    for words in (["new", "two", "--latitude", "95"], ["new", "a b"], ["new", "no/such/folder"]):
        assert main(words) == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["mine.yaml"]


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_names_commands_options_and_choices(shell, capsys):
    assert main(["completion", shell]) == 0
    text = capsys.readouterr().out
    for word in ("check", "options", "chemistry", "members", "numbers"):
        assert word in text, word


def test_the_shell_completes_what_the_parser_takes():
    """Bash itself is asked, where there is one."""
    if not shutil.which("bash"):
        pytest.skip("no bash")
    script = command("completion", "bash").stdout
    asks = f"{script}\nCOMP_WORDS=(darkspell run --un) COMP_CWORD=2; _darkspell; echo ${{COMPREPLY[@]}}"
    done = subprocess.run(["bash", "--norc", "-c", asks], capture_output=True, text=True)
    assert done.stdout.strip() == "--until", done.stderr
