"""The bird station of `config/`: a generator for the dark months, against a store of energy with the same rules."""

from pathlib import Path

import numpy as np
import pytest

import darkspell
from use.balance import hours_short

CONFIG = Path(__file__).parents[2] / "config"
MEMBERS = 16
EFFICIENCY = 0.87  # energy out over energy in of lead-acid: common practice, no source
VOLTS = 24.6  # in discharge; common practice, no source


@pytest.fixture(scope="module")
def results():
    return darkspell.simulate(CONFIG / "bird_station.yaml", members=MEMBERS)


@pytest.fixture(scope="module")
def hours(results):
    """Power of the array and of the loads in each hour [W], and the bank's energy [Wh]."""
    series, study = results.hourly(MEMBERS), results.study
    offered = (series["array"] + series["array_spilled"]).to_numpy()
    return offered, series["load"].to_numpy() + study.self_consumption_w, study.bank.capacity_ah * VOLTS


def generator_hours(offered, load, store_wh, generator):
    """Hours and energy [Wh] of a generator that a plain store starts and stops, in its hours of the day."""
    first, length = generator.window_hours[0], generator.window_hours[1] - generator.window_hours[0]
    held, on = np.full(len(load), store_wh), np.zeros(len(load), bool)
    ran, given = np.zeros(len(load)), np.zeros(len(load))
    for hour, net in enumerate((offered - load).T):
        on = (held <= generator.start_soc_pct / 100 * store_wh) | (
            on & (held < generator.stop_soc_pct / 100 * store_wh)
        )
        running = on & ((hour % 24 - first) % 24 < length)
        ran, given = ran + running, given + running * generator.charge_w
        net = net + running * generator.charge_w
        held = np.clip(held + np.where(net > 0, EFFICIENCY * net, net), 0, store_wh)
    return ran, given


def test_the_generator_runs_as_long_as_a_balance_asks_for(results, hours):
    """Hours and energy within 20 % of a plain store's."""
    ran, given = generator_hours(*hours, results.study.generator)
    members = results.members
    assert ran.mean() > 50
    assert members["generator_h"].mean() == pytest.approx(ran.mean(), rel=0.2)
    assert members["generator_kwh"].mean() == pytest.approx(given.mean() / 1000, rel=0.2)


def test_its_fuel_follows_its_hours_and_energy(results):
    """Litres = 0.08415 a kilowatt of rated power and hour, and 0.246 a kilowatt-hour (Skarstein & Uhlen 1989)."""
    members, generator = results.members, results.study.generator
    rated_kw = 1.25 * generator.charge_w / 1000  # the key's default
    litres = 0.08415 * rated_kw * members["generator_h"] + 0.246 * members["generator_kwh"]
    np.testing.assert_allclose(members["fuel_l"], litres, rtol=1e-3)
    assert (members["generator_kwh"] <= generator.charge_w / 1000 * members["generator_h"] * 1.0001).all()


def test_it_serves_what_sun_and_bank_do_not(results, hours):
    """With it nothing essential is lost; without it the dark months are lost, as a plain store says."""
    assert results.members["lolh"].max() == 0.0
    without = darkspell.simulate(results.study.with_changes({"generator": None}), members=MEMBERS)
    lost = without.members["lolh"].mean()
    offered, load, store = hours
    usable = store * results.study.bank.depth_limit_pct / 100
    assert lost > 200
    # the station sheds its notebook before it loses power, which the plain store does not
    notebook = 45 * 4 / 24
    bounds = [hours_short(offered, asked, usable, EFFICIENCY).mean() for asked in (load - notebook, load)]
    assert 0.7 * bounds[0] < lost < 1.3 * bounds[1]
    assert without.months.query("statistic == 'lolh' and month in [5, 6, 7, 8]")["mean"].max() < 0.01 * lost
