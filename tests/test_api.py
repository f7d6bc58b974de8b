"""The public functions, against an energy balance of their own series and against each other."""

import subprocess
import sys
import tomllib
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import darkspell
from darkspell.cli.main import main
from darkspell.core.errors import StudyError
from study.example import STUDY

MEMBERS = 24


@pytest.fixture(scope="module")
def study():
    return darkspell.read_study(STUDY)


@pytest.fixture(scope="module")
def results(study):
    return darkspell.simulate(study, members=MEMBERS)


def test_importing_the_package_loads_no_heavy_library():
    """It stays fast: pandas, numba, pvlib and the simulation are loaded at the first use."""
    code = (
        "import sys, darkspell; assert 'simulate' in darkspell.__all__; "
        "print([name for name in ('numba', 'pandas', 'pvlib', 'pydantic', 'xarray') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
    with pytest.raises(AttributeError, match="no attribute 'simulat'"):
        _ = darkspell.simulat


def test_tables_agree_with_each_other(results):
    members, headlines = results.members, results.headlines
    assert len(members) == MEMBERS and results.study.engine.members == MEMBERS
    assert headlines.loc["lolh", "value"] == pytest.approx(members["lolh"].mean(), rel=1e-4)
    assert headlines.loc["lolp", "value"] == pytest.approx(members["lolh"].mean() / 8760, rel=1e-4)
    months = results.months.query("statistic == 'demand_kwh'")
    assert months["mean"].sum() == pytest.approx(members["demand_kwh"].mean(), rel=1e-4)
    assert results.events["length_h"].sum() == pytest.approx(members["lolh"].sum())
    assert results.autonomy["probability"].between(0.0, 1.0).all()


def test_hourly_series_are_those_that_the_tables_were_made_from(results):
    series = results.hourly(3)
    assert dict(series.sizes) == {"member": 3, "time": 8760}
    soc = series["state_of_charge"].transpose("time", "member").to_numpy()
    np.testing.assert_allclose(soc, 100 * results.simulation.shown_true[:, :3], rtol=1e-6)
    kwh = series["load"].sum("time").to_numpy() / 1000
    np.testing.assert_allclose(kwh, results.members["demand_kwh"][:3], rtol=1e-4)
    unserved = series["unserved"].sum("time").to_numpy() / 1000
    np.testing.assert_allclose(unserved, results.members["eue_kwh"][:3], rtol=1e-4, atol=1e-6)
    for code, name in enumerate(series["cause"].attrs["flag_meanings"].split()):
        if code:
            hours = (series["cause"] == code).sum("time").to_numpy()
            counted = results.members[f"unserved_{name}_h"][:3].to_numpy()
            # The members' hours of waiting are also under the cause that began the loss.
            assert (hours == counted if name == "reconnection" else hours <= counted).all()
    other = results.hourly([2])
    np.testing.assert_array_equal(other["current"][0], series["current"][2])


def test_hourly_series_are_labelled_by_time_and_unit(results):
    """CF conventions 1.11: every variable has units, time has a standard name and ascends."""
    series = results.hourly(1)
    time = pd.DatetimeIndex(series["time"])
    assert time[0].month == results.study.site.start_month and time[0].hour == 0
    assert (np.diff(time) == np.timedelta64(1, "h")).all() and not (
        (time.month == 2) & (time.day == 29)
    ).any()
    assert series["time"].attrs["standard_name"] == "time"
    assert all(series[name].attrs["units"] for name in series.data_vars)
    night = series["array"].where(series["time"].dt.hour == 0, drop=True)
    assert float(night.max()) == 0.0
    for wrong in (0, [MEMBERS], 65):
        with pytest.raises(StudyError, match="hourly"):
            results.hourly(wrong)


def test_energy_at_the_bank_balances(results):
    """Conservation of energy: what array gives less what loads take enters the bank or feeds the devices.

    Charge that only entered and never left again is lost: a bank's charge efficiency is at most one.
    """
    series = results.hourly(4)
    served = series["load"] - series["unserved"]
    into = (series["array"] - served).sum("time").to_numpy()
    stored = (series["current"] * series["voltage"]).sum("time").to_numpy()
    own = results.study.self_consumption_w * 8760
    assert own > 0.0
    np.testing.assert_allclose(into - stored, own, atol=0.01 * float(served.sum("time").min()))
    charge = series["current"].sum("time").to_numpy()
    change = (series["state_of_charge"][:, -1] - series["state_of_charge"][:, 0]).to_numpy() / 100
    assert (charge >= (change - 0.02) * results.study.bank.capacity_ah).all()


def test_a_what_if_is_the_difference_of_two_studies(study, results):
    changes = {"bank.capacity_ah": 2.0 * study.bank.capacity_ah}
    table = darkspell.what_if(study, changes, members=MEMBERS).set_index("statistic")
    other = darkspell.simulate(study.with_changes(changes), members=MEMBERS)
    for name in ("lolh", "eue_kwh", "max_depth_true_pct"):
        difference = other.members[name].mean() - results.members[name].mean()
        means = table.loc[name, "whatif_mean"] - table.loc[name, "study_mean"]
        assert means == pytest.approx(difference, rel=1e-4, abs=1e-6)
    assert table.loc["max_depth_true_pct", "difference"] < 0.0
    several = darkspell.what_if(study, {"larger": changes, "same": {}}, members=MEMBERS)
    assert set(several["whatif"]) == {"larger", "same"}
    assert (several.query("whatif == 'same'")["difference"] == 0.0).all()


def test_sizes_fall_with_larger_banks(study):
    table = darkspell.size(study, members=MEMBERS)
    assert len(table) == len(study.sizing.array_wp) * len(study.sizing.bank_ah)
    assert table["chosen"].sum() <= 1 and (table["cost"] > 0.0).all()
    largest = table["array_wp"] == table["array_wp"].max()
    assert table[largest].sort_values("bank_ah")["lolh"].is_monotonic_decreasing


def test_a_study_without_a_record_cannot_be_replayed(study):
    with pytest.raises(StudyError, match="no measured years"):
        darkspell.replay(study)


def test_trying_a_faulty_change_gives_one_message(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["new", "hut.yaml"]) == 0
    for word, message in (
        ("bank.capacity", "bank.capacity: is no change"),
        ("bank.capacity_ah=", "is no change"),
        ("bank.capacityah=3", "bank.capacityah"),
        ("bank.capacity_ah=lots", "bank.capacity_ah"),
        ("document.title=x", "document.title"),
        ("bank.capacity_ah=[", "no valid YAML"),
    ):
        capsys.readouterr()
        assert main(["try", "hut.yaml", word]) == 1
        out, err = capsys.readouterr()
        assert out == "" and message in err and "Traceback" not in err
    assert main(["try", "absent.yaml"]) == 1
    assert not (tmp_path / "results").exists()


def test_the_readmes_words_work_after_a_plain_import():
    """``import darkspell`` alone gives functions and plots, and loads neither before it is asked for."""
    code = "import sys, darkspell; assert 'pandas' not in sys.modules; darkspell.plot.state_of_charge, darkspell.size"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    with pytest.raises(AttributeError):
        _ = darkspell.nothing


def test_the_package_says_the_version_that_is_installed():
    """One number in pyproject.toml, in ``darkspell --version`` and in provenance.json."""
    project = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text(encoding="utf-8"))
    assert darkspell.__version__ == project["project"]["version"]
