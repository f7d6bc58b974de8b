"""The table of several studies, from made-up tables of results."""

import csv
import json
from pathlib import Path

import openpyxl
import pytest

from darkspell.cli.studies_table import studies_rows, studies_text, write_studies
from darkspell.pipeline.stages import Entry
from darkspell.study import study_from
from darkspell.study.differences import differences, short_names
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
    summary |= {"probability_met": {"value": 0.649}, "main_cause": {"value": 0.8, "cause": "too_cold"}}
    (tmp_path / "results" / "small" / "summary.json").write_text(json.dumps(summary))
    members = "member,short_nights\n0,0\n1,1\n2,1.5\n3,9\n"
    (tmp_path / "results" / "small" / "members.csv").write_text(members)
    return entries


def test_differences_are_the_keys_that_are_not_alike(entries):
    found = differences({name: entry.study for name, entry in entries.items()})
    assert found["small"]["bank.capacity_ah"] == 100 and found["large"]["bank.capacity_ah"] == 300
    assert found["quiet"]["loads.lamp.watts"] == 10 and found["quiet"]["loads.radio.watts"] == "absent"
    assert not any("title" in key or "tilt" in key for one in found.values() for key in one)
    assert differences({"alone": entries["small"].study}) == {"alone": {}}
    assert short_names(["bank.capacity_ah", "loads.lamp.watts", "loads.radio.watts"]) == [
        "capacity_ah", "loads.lamp.watts", "loads.radio.watts",
    ]  # fmt: skip


def test_a_row_holds_headlines_price_chance_and_cause(entries, tmp_path):
    rows = {row["name"]: row for row in studies_rows(entries, tmp_path)}
    small, large = rows["small"], rows["large"]
    assert (small["lolh"], small["lolh_low"], small["lolh_high"]) == (12.0, 3.0, 40.0)
    assert small["cost"] == 200 * 1 + 100 * 3 and large["cost"] == 200 * 1 + 300 * 3
    assert small["target_met_pct"] == 50.0  # two years of four have at most one short night
    assert (small["chance_pct"], small["cause"], small["cause_share_pct"]) == (64.9, "too_cold", 80.0)
    assert all(large[key] is None for key in ("lolh", "target_met_pct", "chance_pct", "cause"))


def test_the_table_is_written_and_printed(entries, tmp_path):
    rows = studies_rows(entries, tmp_path)
    path = write_studies(rows, tmp_path, entries["small"].study.document)
    assert path == Path("results/studies.csv")
    with (tmp_path / path).open(encoding="utf-8", newline="") as file:
        read = list(csv.DictReader(file))
    assert [row["name"] for row in read] == list(entries) and read[1]["lolh"] == ""
    assert [row["bank.capacity_ah"] for row in read] == ["100", "300", "100"]
    lines = studies_text(rows).splitlines()
    assert len(lines) == 5 and "12 (3 to 40)" in lines[1]
    assert "64 %" in lines[1] and "too cold" in lines[1]  # never rounded up to a chance not reached
    assert lines[0].split()[:2] == ["study", "capacity_ah"]


def test_the_workbook_has_the_same_rows_with_units(entries, tmp_path):
    rows = studies_rows(entries, tmp_path)
    path = write_studies(rows, tmp_path, entries["small"].study.document).with_suffix(".xlsx")
    sheet = openpyxl.load_workbook(tmp_path / path)["studies"]
    names = [cell.value for cell in sheet[3]]
    units = dict(zip(names, (cell.value for cell in sheet[2]), strict=True))
    assert units["lolh"] == units["lolh_high"] == "h/year" and units["chance_pct"] == "%"
    assert units["cost"] == entries["small"].study.document.currency
    values = {name: [sheet.cell(row, at).value for row in (4, 5, 6)] for at, name in enumerate(names, 1)}
    assert values["name"] == list(entries) and values["bank.capacity_ah"] == [100, 300, 100]
    assert values["lolh"] == [12, None, None]


def test_six_and_twenty_studies_are_legible(tmp_path):
    """A key that differs is a column; the terminal shows four of them."""
    studies = {}
    for number in range(26):
        changes = {"bank.capacity_ah": 100 + number, "loads.lamp.watts": 5 + number, "site.latitude_deg": 40 + number,
                   "arrays.roof.tilt_deg": 30 + number, "arrays.roof.power_wp": 100 + number}  # fmt: skip
        name = f"night_{number}"
        studies[name] = Entry(Path("night.yaml"), study_from(spoilt(changes), name))
    rows = studies_rows(studies, tmp_path)
    lines = studies_text(rows).splitlines()
    assert len(lines) == 28 and "not shown: 1" in lines[-1]
    assert rows[3]["file"] == "night.yaml::night_3"
    assert max(map(len, lines)) <= 160
