"""Gauge distributions from the tables, batteries that disagree, what is wired past, and the tables made of it."""

from types import SimpleNamespace

import numpy as np
import pytest

from darkspell.chemistry.numbers import chemistry_numbers
from darkspell.core.calendar import Calendar
from darkspell.core.constants import CHEMISTRIES, constant
from darkspell.monitor.internal_bms import pack_block
from darkspell.monitor.reading_errors import classes_since_full, joint_counts, reading_errors
from darkspell.monitor.settings import ShuntSettings
from darkspell.monitor.shunt import seen_current, shunt_block
from darkspell.monitor.voltage_gauge import gauge_block
from darkspell.report.tables.expected_year import expected_year
from darkspell.report.tables.monitors import error_percentiles_table, percentiles, since_names
from darkspell.study.monitor_defaults import counting_efficiency_pct
from darkspell.study.monitors import Pack

F = np.float32
CALENDAR = Calendar(7)
SHARES = (0.05, 0.25, 0.5, 0.75, 0.95)


def table_of(chemistry):
    """Rested table of a 12 V bank: state of charge and volts."""
    cells = constant("bank", chemistry, "cells_per_12v")
    return np.array(constant("bank", chemistry, "ocv_soc")), np.array(
        constant("bank", chemistry, "ocv_v_cell")
    ) * cells


@pytest.mark.parametrize("load_c", [0.0, 0.05])
@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_error_distributions_follow_from_the_tables(chemistry, load_c):
    """At rest and under load of 20 h, with a voltmeter that errs by 20 mV: numpy's interpolation is the judge."""
    rng = np.random.default_rng(4)
    soc, volts = table_of(chemistry)
    true = rng.uniform(0.2, 1.0, (8760, 4))
    cells = constant("bank", chemistry, "cells_per_12v")
    ohm_h = constant("bank", chemistry, "resistance_mohm_ah_cell") * 1e-3 * cells
    bias = np.array([-0.02, 0.0, 0.01, 0.02])
    terminal = np.interp(true, soc, volts) - ohm_h * load_c
    expected = np.interp(terminal + bias, volts, soc) - true
    read = gauge_block(terminal.astype(F), chemistry, 12.0, bias=bias.astype(F)) - true
    # Single precision of a voltage times the table's flattest step, as in test_gauge: under .1 points
    for share in SHARES:
        assert np.quantile(read, share) == pytest.approx(np.quantile(expected, share), abs=1e-3)
    if load_c:
        assert np.median(read) < 0.0


def test_a_corrected_gauge_takes_the_load_out_again():
    c = chemistry_numbers("flooded", 12.0)
    amps = np.full((8760, 2), -5.0, F)
    ohms = float(c.resistance) / 100.0
    soc, volts = table_of("flooded")
    terminal = np.full((8760, 2), np.interp(0.6, soc, volts) - 5.0 * ohms, F)
    warm = np.full((8760, 2), 25.0, F)
    plain = gauge_block(terminal, "flooded", 12.0)
    corrected = gauge_block(terminal, "flooded", 12.0, correction=(amps, warm, ohms, 0.0, 0.0, 0.0))
    assert plain[0, 0] < 0.55 and corrected[0, 0] == pytest.approx(0.6, abs=1e-3)


def test_a_gauge_that_waits_shows_what_it_read_at_rest():
    volts = np.where(np.arange(8760) % 2 == 0, 12.25, 11.5)[:, None].repeat(2, 1).astype(F)
    amps = np.where(np.arange(8760) % 2 == 0, 0.0, -20.0)[:, None].repeat(2, 1).astype(F)
    # Tables in wide use: 12.25 V at rest is 50 %
    np.testing.assert_allclose(gauge_block(volts, "flooded", 12.0, wait=(amps, 0.5)), 0.5, atol=0.01)


def idle_bank(lanes=64, soc=0.6, amps=0.0):
    rows = {name: np.zeros((8760, lanes), F) for name in ("offer", "accept")}
    rows |= {"current": np.full((8760, lanes), amps, F), "soc": np.full((8760, lanes), soc, F)}
    return SimpleNamespace(**rows, capacity=100.0)


def battery(**given):
    given = {
        "kind": "pack",
        "batteries": 1,
        "offset_ma": 0,
        "gain_error_pct": 0,
        "dead_band_ma": 0,
    } | given
    usual = {
        "capacity_error_pct": 0,
        "share_spread_pct": 0,
        "full_voltage_v": 14,
        "ah_efficiency_set_pct": 100,
    }
    return Pack(**(usual | given))


def packs(bank, monitor, **settings):
    lanes = bank.soc.shape[1]
    given = {"efficiency": 1.0, "full_voltage": 14.0, "full_current": 10.0} | settings
    settings = ShuntSettings("inside", 100.0, **given)
    temps = np.full((8760, lanes), 25.0, F)
    c = chemistry_numbers("lfp", 12.0)
    return pack_block(bank, temps, c, settings, monitor, np.arange(lanes), 1)


def test_electronics_are_blind_to_small_currents():
    # 20 mA taken for ten days are 4.8 Ah of 100 (arithmetic)
    bank = idle_bank(amps=-0.02)
    blind = packs(bank, battery(), least_counted=0.15).reading
    seeing = packs(bank, battery()).reading
    assert blind[-1, 0] == pytest.approx(blind[0, 0])
    assert seeing[0, 0] - seeing[24 * 10, 0] == pytest.approx(0.048, rel=0.01)


def test_batteries_in_parallel_disagree_and_their_mean_does_less():
    bank = idle_bank(amps=-0.004)
    one = packs(bank, battery(offset_ma=2), offset_sd=0.002).reading
    four = packs(bank, battery(batteries=4, offset_ma=2), offset_sd=0.002)
    lowest = packs(bank, battery(batteries=4, offset_ma=2, shown="lowest"), offset_sd=0.002)
    # Standard deviation of a mean of four: half of one's. 64 draws know it to a tenth, 1 / sqrt(128)
    at = 24 * 30
    assert (four.reading[at].std() / one[at].std()) == pytest.approx(0.5, rel=0.35)
    assert (lowest.reading <= four.reading + 1e-6).all()
    assert four.apart_hours.max() > 0 and packs(bank, battery()).apart_hours.max() == 0


def test_what_charges_past_the_shunt_is_not_counted():
    bank = SimpleNamespace(
        current=np.full((8760, 2), 4.0, F),
        voltage=np.full((8760, 2), 12.5, F),
        unserved_essential=np.zeros((8760, 2), F),
        unserved_deferrable=np.zeros((8760, 2), F),
    )
    none, charger = np.zeros((8760, 2), F), np.full((8760, 2), 50.0, F)
    # 50 W at 12.5 V are the 4 A (arithmetic)
    np.testing.assert_allclose(seen_current(bank, none, none, charger), 0.0, atol=1e-6)


@pytest.mark.parametrize(("exponent", "amps"), [(1.2, 20.0), (1.4, 10.0)])
def test_an_exponent_set_counts_fast_discharge_for_more(exponent, amps):
    bank = idle_bank(2, amps=-amps)
    settings = ShuntSettings("panel", 100.0, 1.0, 99.0, 2.0, rate_exponent=exponent)
    errors = tuple(np.zeros(2, F) for _ in range(3))
    temps, c = np.full((8760, 2), 25.0, F), chemistry_numbers("flooded", 12.0)
    read = shunt_block(bank, temps, c, settings, np.arange(2), 1, errors=errors, warm_up_hours=0).reading
    # Peukert, 20 h current of 100 Ah: I (I / 5 A)^(k - 1) ampere-hours an hour; the fit's .17 % four times
    counted = amps * (amps / 5.0) ** (exponent - 1.0) / 100.0
    assert float(read[0, 0] - read[1, 0]) == pytest.approx(counted, rel=0.007)


def test_a_temperature_of_its_own_moves_the_zero():
    bank, c = idle_bank(2), chemistry_numbers("flooded", 12.0)
    errors = np.zeros(2, F), np.zeros(2, F), np.full(2, 0.001, F)
    temps = np.full((8760, 2), 15.0, F)
    settings = ShuntSettings("panel", 100.0, 1.0, 14.4, 2.0)
    read = shunt_block(bank, temps, c, settings, [0, 1], 1, errors=errors, warm_up_hours=0).reading
    # Closed form: 1 mA/K x 10 K below 25 C is -10 mA, -.24 %/day on 100 Ah
    assert 100 * (read[24 * 30, 0] - read[0, 0]) == pytest.approx(-7.2, rel=0.01)


def test_drift_by_month_and_since_full_against_numpy():
    rng = np.random.default_rng(2)
    soc = np.repeat(rng.choice([0.5, 1.0], 365, p=[0.85, 0.15]), 24)[:, None].repeat(3, 1).astype(F)
    error = rng.normal(0.01, 0.05, soc.shape) * (1 + np.arange(8760)[:, None] / 8760)
    read = np.clip(soc + error, 0, 1).astype(F)
    since, joint = classes_since_full(soc, 0.99), joint_counts()
    reading_errors(read, soc, 0.3, CALENDAR, since, joint, count=2)
    table = error_percentiles_table({"panel": joint.astype(np.int64)}, CALENDAR).set_index(["by", "group"])
    off = 100 * (read.astype(float) - soc)[:, :2]
    january = CALENDAR.month_of_hour == 0
    # numpy is the reference; counts in steps of a quarter of a point
    assert table.loc[("month", "January"), "p90"] == pytest.approx(np.quantile(off[january], 0.9), abs=0.15)
    hours = np.zeros(8760, int)
    for hour in range(8760):
        hours[hour] = 0 if soc[hour, 0] >= 0.99 else (hours[hour - 1] if hour else 0) + 1
    third = (hours >= 48) & (hours < 96)
    assert table.loc[("days_since_full", "2-3"), "hours"] == 2 * third.sum()
    assert table.loc[("days_since_full", "2-3"), "p50"] == pytest.approx(np.median(off[third]), abs=0.15)
    assert since_names() == ["0", "1", "2-3", "4-6", "7-13", "14-29", "30+"]
    assert np.isnan(percentiles(np.zeros(801))).all()


def test_depth_and_charge_of_the_expected_year_add_up():
    rng = np.random.default_rng(1)
    dawn = rng.uniform(40, 100, (50, 12))
    names = ("max_depth_true_pct", "max_depth_reported_pct", "longest_full_charge_interval_days")
    members = {name: rng.uniform(20, 60, 50) for name in names}
    members |= {"longest_full_charge_interval_reported_days": rng.uniform(5, 9, 50)}
    members |= {"full_charges": np.full(50, 73.0), "full_charges_reported": np.zeros(50)}
    members |= {"discharge_throughput_ah": np.full(50, 3650.0), "discharge_counted_ah": np.full(50, 7300.0)}
    months = {"dawn_soc_true_pct": dawn, "dawn_soc_reported_pct": dawn - 5}
    table = expected_year(members, months, CALENDAR, 100.0, 200.0)
    rows = table.set_index(["quantity", "month", "source"])
    # Depth + charge = 100: a tenth quantile of one is a ninth decile of the other
    assert rows.loc[("at dawn", 3, "bank"), "p10"] == pytest.approx(
        100 - np.quantile(dawn[:, 2], 0.9), rel=1e-4
    )
    # 365 days over 73 full charges; 3650 Ah over 365 days, over 100 Ah; 7300 over 200 set (arithmetic)
    assert rows.loc[("usual time from one full charge to the next", 0, "bank"), "p50"] == 5.0
    assert rows.loc[("charge taken out on a mean day", 0, "bank"), "p50"] == 10.0
    assert rows.loc[("equivalent full cycles", 0, "bank"), "p50"] == 36.5
    assert rows.loc[("equivalent full cycles", 0, "monitor"), "p50"] == 36.5
    assert set(table["group"]) == {"depth", "recovery", "use"}


def test_the_default_efficiency_is_that_of_charging_below_full():
    # Stevens & Corey: above 95 % at low charge; a whole cycle of a flooded bank gives 88 % (common practice)
    found = counting_efficiency_pct(SimpleNamespace(chemistry="flooded"))
    assert 88.0 < found < 98.0
    assert counting_efficiency_pct(SimpleNamespace(chemistry="lfp")) >= 99.0
