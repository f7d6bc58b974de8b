"""The benchmark of the documents on a study that has no results."""

from pathlib import Path

from darkspell.benchmark.documents import main

STUDY = Path(__file__).parents[2] / "config" / "tarn_hut.yaml"


def test_a_study_without_results_is_one_message(tmp_path, capsys):
    assert main([str(STUDY), "--results", str(tmp_path)]) == 1
    said = capsys.readouterr().err
    assert "run the study first" in said and len(said.splitlines()) == 1
