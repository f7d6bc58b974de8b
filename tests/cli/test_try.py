"""`darkspell try`: headlines, a change, sizes, JSON and watching, against the public functions."""

import json

import pytest
import yaml

import darkspell
from darkspell.cli import try_study as room
from darkspell.cli.main import main
from darkspell.core.errors import StudyError
from darkspell.statistics.registry import COMPARED_KEYS, HEADLINES, STATISTICS
from study.example import STUDY, spoilt

MEMBERS = 24
BANK = STUDY["bank"]["capacity_ah"]


@pytest.fixture
def file(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "cabin.yaml"
    path.write_text(yaml.safe_dump(spoilt({"sizing.array_wp": [150, 300], "sizing.bank_ah": [100, 200]})))
    return path


def answer(capsys, *words):
    capsys.readouterr()
    assert main(["try", "cabin.yaml", *words, "--members", str(MEMBERS)]) == 0
    return capsys.readouterr().out


def test_numbers_for_machines_are_those_of_the_library(file, capsys):
    """Headlines, changed headlines and differences; the changed study meets the draws of the first."""
    found = json.loads(answer(capsys, f"bank.capacity_ah={2 * BANK}", "--json", "--size"))
    study = darkspell.read_study(file)
    plain = darkspell.simulate(study, members=MEMBERS).headlines
    other = darkspell.simulate(study.with_changes({"bank.capacity_ah": 2 * BANK}), members=MEMBERS).headlines
    for key in ("lolh", "annual_max_depth_true", "autonomy_dark_days"):
        assert found["headlines"][key]["value"] == pytest.approx(plain.loc[key, "value"], rel=1e-6), key
        assert found["changed_headlines"][key]["value"] == pytest.approx(other.loc[key, "value"], rel=1e-6), (
            key
        )
    deepest = next(row for row in found["differences"] if row["statistic"] == "max_depth_true_pct")
    assert deepest["difference"] < 0.0 and deepest["low"] <= deepest["difference"] <= deepest["high"]
    assert [(row["array_wp"], row["bank_ah"]) for row in found["sizes"]] == [
        (150.0, 100.0), (150.0, 200.0), (300.0, 100.0), (300.0, 200.0),
    ]  # fmt: skip
    assert not (file.parent / "results").exists()


def test_statistics_and_differences_are_said_in_words(file, capsys):
    """The words are the registry's; a difference is not called the new value less the old."""
    told = answer(capsys, f"bank.capacity_ah={2 * BANK}")
    meanings = told.partition("What they are:")[2]
    for key in (*room.SHOWN, *COMPARED_KEYS):
        assert f"\n  {key} " in meanings, key
    assert HEADLINES["lolp"].words in meanings and STATISTICS["max_depth_true_pct"].words in meanings
    assert "not be the new value less the old" in told and "No year differs" not in told
    assert "No year differs" in answer(capsys, f"bank.capacity_ah={BANK}")
    assert HEADLINES["lolp"].words in answer(capsys)


def test_values_are_read_as_in_a_study_file():
    """18:30 is a time, not a number to base 60; yes is a word; null and lists are themselves."""
    found = room.changes_of(["a.window=[18:30, 23:00]", "b=yes", "c=null", "d=3.5", "e=010"])
    assert found == {"a.window": ["18:30", "23:00"], "b": "yes", "c": None, "d": 3.5, "e": 10}
    with pytest.raises(StudyError, match="no valid YAML"):
        room.changes_of(["a=[1"])


def test_a_change_with_a_mark_between_thousands_is_warned_of(file, capsys):
    assert main(["try", "cabin.yaml", "bank.capacity_ah=1.200", "--members", "8"]) == 0
    told = capsys.readouterr().err
    assert told == "bank.capacity_ah: 1.200 is read as 1.2 Ah; write 1200 if 1200 is meant, or 1.2\n"


@pytest.mark.parametrize("changes", [{}, None, [], {"thrifty": {}}])
def test_a_what_if_that_changes_nothing_is_refused(changes):
    with pytest.raises(StudyError, match="nothing is changed; give a dotted key"):
        darkspell.what_if(darkspell.read_study(STUDY), changes, members=MEMBERS)


def test_a_searched_grid_agrees_with_the_whole_one(file, monkeypatch):
    """The cheapest design on target is the same, whether all designs are run or those near the border."""
    from darkspell import api

    sizes = {
        "sizing.array_wp": {"from": 100, "to": 500, "steps": 5},
        "sizing.bank_ah": [50, 100, 200, 400, 800],
    }
    study = darkspell.read_study(spoilt(sizes))
    whole = darkspell.size(study, members=MEMBERS).query("chosen")
    monkeypatch.setattr(api, "SEARCHED_ABOVE", 1)
    part = darkspell.size(study, members=MEMBERS, search=True).query("chosen")
    assert len(whole) == 1
    for name in ("array_wp", "bank_ah", "lolh", "cost"):
        assert part[name].tolist() == pytest.approx(whole[name].tolist(), rel=1e-5), name


def test_sizes_are_printed_with_price_and_chance(file, capsys):
    text = answer(capsys, "--size")
    table = text[text.index("array, Wp") :].splitlines()
    assert 2 <= len(table) <= 5 and all(line.split()[0] in ("150", "300") for line in table[1:])
    assert "h/year" in text and "95 % interval, this site" in text


def test_watching_answers_again_when_the_file_is_saved(file, monkeypatch, capsys):
    """A valid edit, a faulty one and the end by Ctrl-C; `sleep` is where the user edits."""
    edits = [{"bank.capacity_ah": 3 * BANK}, {"bank.capacity_ah": "much"}, None]

    def edit(seconds):
        change = edits.pop(0)
        if change is None:
            raise KeyboardInterrupt
        file.write_text(yaml.safe_dump(spoilt(change)))

    monkeypatch.setattr(room.time, "sleep", edit)
    assert main(["try", "cabin.yaml", "--watch", "--members", "8"]) == 130
    out, err = capsys.readouterr()
    assert out.count("simulated years") == 2 and err.count("Waiting until") == 3
    assert "bank.capacity_ah: " in err and "1 to 100,000 Ah" in err and "Traceback" not in err
    first, second = (part.splitlines() for part in out.split("cabin: 8 simulated years")[1:])
    assert first[3:] != second[3:]
