"""The second simulator's other family: does it keep charge, set points, the climate and the plan?"""

import numpy as np
import pytest

from dev.log_trial.drawn_studies import drawn_study
from dev.log_trial.plain import plain_system
from dev.second_simulator.fifth_family import (
    drawn_fifth_bank,
    drawn_fifth_charger,
    fifth_household,
    fifth_weather,
    run_fifth,
)
from dev.second_simulator.log import simulated_log
from dev.second_simulator.other_bank import drawn_other_bank, drawn_other_charger, run_other
from dev.second_simulator.other_loads import other_household
from dev.second_simulator.other_sky import other_weather

DAYS = 40


@pytest.fixture(scope="module")
def plain():
    """Plain numbers of three drawn systems."""
    out = []
    for number in range(3):
        study, system = drawn_study(number, 3)
        out.append(plain_system(study, system.climate))
    return out


def test_a_study_is_drawn_the_same_each_time():
    assert drawn_study(1, 3)[0].model_dump() == drawn_study(1, 3)[0].model_dump()
    assert drawn_study(1, 3)[0].bank.capacity_ah != drawn_study(2, 3)[0].bank.capacity_ah


@pytest.mark.parametrize("number", [0, 1, 2])
def test_the_bank_keeps_its_charge_and_the_charger_its_voltage(plain, number):
    system, rng = plain[number], np.random.default_rng(number)
    bank, charger = drawn_other_bank(system, 1.0, rng), drawn_other_charger(system, rng)
    minutes = 1440 * DAYS
    sun = np.maximum(np.sin(2.0 * np.pi * (np.arange(minutes) / 1440.0 - 0.25)), 0.0)
    load = np.full(minutes, 0.005 * bank.capacity * system.voltage)
    power = 6.0 * load * sun
    out = run_other(bank, charger, power, load, 0.0 * load, np.full(minutes, 25.0), 0.6)
    assert out.voltage.max() <= charger.absorption + 0.05
    stored = np.where(out.current > 0.0, out.current * (1.0 if bank.lead else bank.efficiency), out.current)
    missing = stored.sum() / 60.0 - (out.soc[-1] - 0.6) * bank.capacity
    # Self-discharge and, with lead-acid, gas take the rest; a lithium bank loses nothing else.
    assert missing > -1e-6 * bank.capacity
    into = np.maximum(out.current, 0.0).sum() / 60.0
    assert missing < (0.3 if bank.lead else 0.03) * into + bank.leak * bank.capacity * DAYS / 30.0


def test_the_other_sky_keeps_the_climate(plain):
    """Over six years the mean clearness is that of the climate, within its own spread from year to year."""
    system, ratio = plain[0], []
    for seed in range(6):
        sky = other_weather(system, np.datetime64("2023-06-01"), 30, np.random.default_rng(seed))
        flat = sky["extra"] * np.maximum(np.cos(np.radians(sky["zenith"])), 0.0)
        ratio.append(sky["ghi"].sum() / flat.sum() / system.clearness[5])
    assert np.mean(ratio) == pytest.approx(1.0, abs=3.0 * 0.05 / np.sqrt(6))
    assert np.std(ratio) < 0.15


def test_the_other_loads_keep_the_plan(plain):
    for number, system in enumerate(plain):
        rng = np.random.default_rng(number)
        parts = other_household(system, np.datetime64("2023-03-01"), 200, 1.0, 0.0, np.full(200, 15.0), rng)
        asked = (parts[0] + parts[1]).sum() / 60.0
        assert asked / parts[3].sum() == pytest.approx(1.0, abs=0.15)


@pytest.mark.parametrize("number", [0, 1, 2])
def test_the_fifth_bank_keeps_its_charge_and_the_charger_its_voltage(plain, number):
    system, rng = plain[number], np.random.default_rng(number)
    bank, charger = drawn_fifth_bank(system, 1.0, rng), drawn_fifth_charger(system, rng)
    sun = np.maximum(np.sin(2.0 * np.pi * (np.arange(1440 * DAYS) / 1440.0 - 0.25)), 0.0)
    load = np.full(sun.size, 0.005 * bank.capacity * system.voltage)
    out = run_fifth(bank, charger, 6.0 * load * sun, load, 0.0 * load, np.full(sun.size, 25.0), 0.6)
    assert out.voltage.max() <= charger.absorption + 0.05
    stored = np.where(out.current > 0.0, out.current * (1.0 if bank.lead else bank.efficiency), out.current)
    missing = stored.sum() / 60.0 - (out.soc[-1] - 0.6) * bank.capacity
    into, leak = np.maximum(out.current, 0.0).sum() / 60.0, 5e-5 * bank.capacity * DAYS * 24
    assert (
        -0.06 * bank.capacity < missing < (0.4 if bank.lead else 0.03) * into + leak
    )  # 5 % beyond full is cut off


@pytest.mark.parametrize("number", [0, 1, 2])
def test_an_empty_fifth_bank_gives_no_charge_from_nothing(plain, number):
    """Without sun the load takes no more than the bank holds."""
    system, rng = plain[number], np.random.default_rng(number)
    bank, charger = drawn_fifth_bank(system, 1.0, rng), drawn_fifth_charger(system, rng)
    load = np.full(1440 * DAYS, 0.01 * bank.capacity * system.voltage)
    out = run_fifth(bank, charger, 0.0 * load, load, 0.0 * load, np.full(load.size, 25.0), 0.6)
    assert -out.current.sum() / 60.0 < 0.62 * bank.capacity and out.served[-1] == 0.0


def test_the_fifth_sky_and_loads_keep_climate_and_plan(plain):
    system, ratio = plain[0], []
    for seed in range(6):
        sky = fifth_weather(system, np.datetime64("2023-06-01"), 30, np.random.default_rng(seed))
        flat = sky["extra"] * np.maximum(np.cos(np.radians(sky["zenith"])), 0.0)
        ratio.append(sky["ghi"].sum() / flat.sum() / system.clearness[5])
    assert np.mean(ratio) == pytest.approx(1.0, abs=0.1)
    for number, one in enumerate(plain):
        rng = np.random.default_rng(number)
        parts = fifth_household(one, np.datetime64("2023-03-01"), 200, 1.0, 0.0, np.full(200, 15.0), rng)
        assert (parts[0] + parts[1]).sum() / 60.0 / parts[3].sum() == pytest.approx(1.0, abs=0.15)


@pytest.mark.parametrize("family", ["other", "third", "fifth"])
def test_a_log_of_each_family_has_what_a_monitor_shows(plain, family):
    for number, system in enumerate(plain):
        log = simulated_log(system, "none", number, 30, 10, family=family)
        volts = log.samples.voltage / system.voltage
        assert 0.75 < volts.min() < volts.max() < 1.3
        assert log.samples.current.min() < 0.0 < log.samples.current.max()
        assert 0.0 <= log.lowest <= 1.0 and 0.0 < log.served_share <= 1.0 + 1e-9
        assert log.irradiance.size == 30 * 24 and log.irradiance.min() >= 0.0
