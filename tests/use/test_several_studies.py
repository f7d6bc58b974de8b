"""A file that makes several studies, run through the pipeline from another folder, interrupted and gone on with."""

import os
import subprocess
import sys
import time
from pathlib import Path

import openpyxl
import pytest
import xarray as xr
import yaml

from darkspell.core.table_reader import read_table
from darkspell.report.tables.registry import TABLES
from study.example import STUDY

WORKFLOW = Path(__file__).parents[2] / "workflow"
NIGHT = """\
extends: base.yaml
cross: {place: {south: {site: {latitude_deg: 40, name: South}}}, bank: {agm: {}, lfp: {bank.chemistry: lfp}}}
sweeps: {sizes: {bank.capacity_ah: [80, 160], loads.lamp.watts: [5, 10]}}
"""
NAMES = ["night_south_agm", "night_south_lfp"]
COMMAND = [
    sys.executable,
    "-m",
    "darkspell.cli.main",
    "run",
    "../studies/night.yaml",
    "--members",
    "8",
    "--cores",
    "2",
]


def start(folder):
    env = {**os.environ, "PYTHONPATH": str(WORKFLOW)}
    command = [*COMMAND, "--until", "numbers"]
    return subprocess.Popen(
        command, cwd=folder, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


@pytest.fixture(scope="module")
def finished(tmp_path_factory):
    """The folder of the results, and what the last run printed."""
    root = tmp_path_factory.mktemp("night")
    (root / "studies").mkdir()
    (root / "studies" / "base.yaml").write_text(yaml.safe_dump(STUDY))
    (root / "studies" / "night.yaml").write_text(NIGHT)
    folder = root / "elsewhere"
    folder.mkdir()
    first = start(folder)
    while first.poll() is None and not list(folder.glob("results/*/members.csv")):
        time.sleep(0.2)
    first.terminate()
    said = first.communicate(timeout=60)[1]
    assert first.returncode == 130 and "goes on from there" in said
    done = [path.parent / "work" / "sites.npz" for path in folder.glob("results/*/members.csv")]
    kept = {path: path.stat().st_mtime_ns for path in done}
    out, err = (second := start(folder)).communicate(timeout=500)
    assert second.returncode == 0, err
    assert kept and all(path.stat().st_mtime_ns == before for path, before in kept.items())
    return folder, out


def test_the_night_ends_in_one_table(finished):
    folder, out = finished
    table = read_table(folder / "results" / "studies.csv")
    assert list(table["name"]) == NAMES
    assert list(table["bank.chemistry"]) == ["agm", "lfp"] and "cross.place" not in table  # alike in both
    assert not [column for column in table if column.startswith("site.")]
    assert {"lolh_low", "lolh_high"} < set(
        table
    )  # empty here: eight years of one parameter draw have no interval
    assert table[["lolh", "chance_pct", "cost"]].notna().all(axis=None)
    assert (table["chance_pct"].between(0, 100)).all()
    printed = out.splitlines()
    head = next(number for number, line in enumerate(printed) if line.startswith("study "))
    assert [line.split()[0] for line in printed[head + 1 : head + 3]] == NAMES
    sheet = openpyxl.load_workbook(folder / "results" / "studies.xlsx")["studies"]
    assert [sheet.cell(row, 1).value for row in (4, 5)] == NAMES
    assert not (folder.parent / "studies" / "results").exists()


def test_each_study_has_its_steps_and_its_hours(finished):
    for name in NAMES:
        results = finished[0] / "results" / name
        table = read_table(results / "sweeps.csv")
        keys = {"bank.capacity_ah", "loads.lamp.watts"}
        assert set(table.columns) - keys == {one.key for one in TABLES["sweeps"].columns} - {"<key>"}
        one = table[table["statistic"] == "max_depth_true_pct"].set_index(
            ["bank.capacity_ah", "loads.lamp.watts"]
        )
        assert dict(one["cost"][:, 5]) == {
            80: 200 + 3 * 80,
            160: 200 + 3 * 160,
        }  # 1 a watt and 3 an ampere-hour
        assert one["probability_met"].between(0, 1).all()
        assert len(one) == 4 and one["whatif_value"][160, 5] <= one["whatif_value"][80, 10]
        with xr.open_dataset(results / "hourly.nc") as hourly:
            assert hourly.sizes["time"] == 8760 and list(hourly["role"].values) == ["typical", "worst"]
