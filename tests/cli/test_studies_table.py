"""The table of several studies, from made-up tables of results."""

import csv
import json
from pathlib import Path

import pytest

from darkspell.cli.studies_table import differences, studies_rows, studies_text, write_studies
from darkspell.pipeline.stages import Entry
from darkspell.study import study_from
from study.example import spoilt


@pytest.fixture
def entries(tmp_path):
    changes = {
        "small": {},
        "large": {"bank.capacity_ah": 300, "loads.lamp.watts": 5, "document.title": "Another"},
        "quiet": {"loads.radio": None},
    }
    entries = {}
    for name, one in changes.items():
        entries[name] = Entry(Path(f"{name}.yaml"), study_from(spoilt(one), name))
        (tmp_path / "results" / name).mkdir(parents=True)
    summary = {"lolh": {"value": 12.0, "place_low": 3.0, "place_high": 40.0, "unit": "h/year"}}
    (tmp_path / "results" / "small" / "summary.json").write_text(json.dumps(summary))
    members = "member,short_nights\n0,0\n1,1\n2,1.5\n3,9\n"
    (tmp_path / "results" / "small" / "members.csv").write_text(members)
    return entries


def test_differences_are_the_keys_that_are_not_alike(entries):
    found = differences({name: entry.study for name, entry in entries.items()})
    assert "bank.capacity_ah=100" in found["small"] and "bank.capacity_ah=300" in found["large"]
    assert "loads.lamp.watts=10" in found["quiet"] and "loads.radio.watts=absent" in found["quiet"]
    assert not any("title" in text or "tilt" in text for text in found.values())
    assert differences({"alone": entries["small"].study}) == {"alone": ""}


def test_a_row_holds_headlines_price_and_target(entries, tmp_path):
    rows = {row["name"]: row for row in studies_rows(entries, tmp_path)}
    assert (rows["small"]["lolh"], rows["small"]["lolh_low"], rows["small"]["lolh_high"]) == (12.0, 3.0, 40.0)
    assert rows["small"]["cost"] == 200 * 1 + 100 * 3 and rows["large"]["cost"] == 200 * 1 + 300 * 3
    assert rows["small"]["target_met_pct"] == 50.0  # two years of four have at most one short night
    assert rows["large"]["lolh"] is None and rows["large"]["target_met_pct"] is None


def test_the_table_is_written_and_printed(entries, tmp_path):
    rows = studies_rows(entries, tmp_path)
    path = write_studies(rows, tmp_path)
    assert path == Path("results/studies.csv")
    with (tmp_path / path).open(encoding="utf-8", newline="") as file:
        read = list(csv.DictReader(file))
    assert [row["name"] for row in read] == list(entries) and read[1]["lolh"] == ""
    text = studies_text(rows).splitlines()
    assert len(text) == 4 and "12 (3 to 40)" in text[1] and "50 % of years" in text[1]
