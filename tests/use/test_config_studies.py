"""Every study of `config/` as a user takes it up: copied, checked, tried, and held against a balance of our own.

The bird station has a test of its own (`test_generator.py`).
"""

import json
import shutil
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import darkspell
from darkspell.cli.main import main
from use.balance import hours_short

CONFIG = Path(__file__).parents[2] / "config"
NAMES = sorted(path.stem for path in CONFIG.glob("*.yaml") if path.stem != "bird_station")
MEMBERS = 8
LEAST, MOST = (
    0.80,
    0.97,
)  # energy out over energy in of a bank, lead-acid to lithium; common practice, no source
# Of what is taken from the sources. Lead-acid that is often full loses much of its charge to gas: Stevens & Corey
# (Sandia, 1996) measured less than half stored above 90 % of charge. The bounds themselves are our choice.
MOST_LOST = {"lfp": 0.08, "agm": 0.20, "flooded": 0.40}
VOLTS = {"lfp": 12.9, "agm": 12.3, "flooded": 12.3}  # in discharge, of 12 V; common practice, no source


@pytest.fixture(scope="module")
def used(tmp_path_factory):
    """From a study's name to its copy in another folder, its results and its hours; each simulated once."""
    folder = tmp_path_factory.mktemp("mine")

    @cache
    def done(name):
        for path in (*CONFIG.glob("*.yaml"), *CONFIG.glob("*.csv")):
            shutil.copy(path, folder)
        path = folder / f"{name}.yaml"
        results = darkspell.simulate(path, members=MEMBERS)
        return path, results, results.hourly(MEMBERS)

    return done


def given_and_taken(results, series):
    """What the sources could give and what is asked for in each hour [W], and the bank's usable energy [Wh]."""
    study, bank = results.study, results.study.bank
    offered = sum(series[name].to_numpy() for name in ("array", "array_spilled", "chargers", "generator"))
    volts = VOLTS[bank.chemistry] * study.system.nominal_voltage_v / 12
    load = series["load"].to_numpy() + study.self_consumption_w
    return offered, load, bank.capacity_ah * volts * bank.depth_limit_pct / 100


def test_all_studies_are_here():
    assert len(NAMES) == 7 and "health_post" in NAMES


@pytest.mark.parametrize("name", NAMES)
def test_a_copy_is_checked_and_tried_in_another_folder(name, used, capsys):
    """No fault, and the terminal's numbers are the library's."""
    path, results, _ = used(name)
    capsys.readouterr()
    assert main(["check", str(path)]) == 0
    assert "not an electrical design" in " ".join(capsys.readouterr().out.split())
    assert main(["try", str(path), "--members", str(MEMBERS), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)["headlines"]
    for key in ("lolh", "short_nights", "demand_kwh", "annual_max_depth_true"):
        assert answer[key]["value"] == pytest.approx(results.headlines.loc[key, "value"])


@pytest.mark.parametrize("name", NAMES)
def test_energy_is_conserved(name, used):
    """What is taken from the sources is served, or lost in bank and cables: more than none of it, and not too much.

    The bank's content at both ends of the year is allowed for.
    """
    _, results, series = used(name)
    study, total = (
        results.study,
        {key: series[key].sum("time").to_numpy() for key in series if key != "cause"},
    )
    taken = total["array"] + total["chargers"] + total["generator"]
    served = total["load"] - total["unserved"] + 8760 * study.self_consumption_w
    held = series["state_of_charge"].to_numpy()
    stored = (held[:, -1] - held[:, 0]) / 100 * given_and_taken(results, series)[2]
    lost = (taken - served - stored) / taken
    assert lost.min() > 0.0 and lost.max() < MOST_LOST[study.bank.chemistry]


@pytest.mark.parametrize("name", NAMES)
def test_losses_are_those_of_a_plain_store(name, used):
    """Within a factor of two of a store that loses 3 to 20 %, or 20 hours a year where either is small."""
    _, results, series = used(name)
    offered, load, store = given_and_taken(results, series)
    warm = series["temp_bank"].to_numpy() > (0 if results.study.bank.chemistry == "lfp" else -60)
    most, least = (hours_short(offered, load, store, share, warm).mean() for share in (LEAST, MOST))
    found = (series["unserved"].to_numpy() > 0.01).sum(axis=1).mean()
    assert 0.5 * least - 20 <= found <= 2.0 * most + 20
    assert np.all(series["unserved"] <= series["load"] + 0.2)
