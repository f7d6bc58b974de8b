"""A cut-out that hangs on a reading: one that is right, one that is off by a known amount, and what is counted."""

from types import SimpleNamespace

import numpy as np
import pytest

from darkspell.climate import site_climate
from darkspell.core.errors import StudyError
from darkspell.simulation.disconnect_on_reading import (
    COUNTS,
    UNSETTLED,
    WRONG,
    connected_by,
    disconnecting,
    disconnects_table,
    judged,
    reading_of,
    run_disconnects,
    true_charge,
)
from darkspell.simulation.run import simulate
from darkspell.simulation.system import build_system
from darkspell.study import study_from
from darkspell.study.monitors import Disconnect
from darkspell.weather.site_sky import sky_of
from study.example import spoilt

F = np.float32
LANES = np.arange(64)
SMALL = {
    "engine": {"members": 64, "seed": 1},
    "arrays.roof.power_wp": 70,
    "bank": {"chemistry": "lfp", "capacity_ah": 100, "location": "indoors", "indoor_min_c": 20, "indoor_max_c": 25},
}  # fmt: skip


def built(changes=()):
    """Parts of the example study, small enough to run low."""
    study = study_from(spoilt(SMALL | dict(changes)))
    return build_system(study, site_climate(study), sky_of(study))


@pytest.fixture(scope="module")
def small():
    """A system that runs low in winter, with a cut-out on its shunt."""
    return built(
        {"monitors": {"panel": {"kind": "shunt", "disconnect": {"below_soc_pct": 50, "above_soc_pct": 62.5}}}}
    )


def year(parts, rule, read):
    """Bank of 64 members under a cut-out, and its counts."""
    made = disconnecting(rule, read)(parts, LANES, LANES)
    return made.bank, {name: made.feedback[name] for name in (*COUNTS, *WRONG, UNSETTLED)}


def test_a_shifted_reading_is_the_truth_at_a_shifted_level(small):
    """Closed form: what reads an eighth low cuts at 37.5 % what a right one cuts at 50 %; the same bits."""
    right, counts = year(small, Disconnect(below_soc_pct=50, above_soc_pct=62.5), true_charge)
    low, early = year(
        small, Disconnect(below_soc_pct=37.5, above_soc_pct=50), lambda p, b, t, m: b.soc - F(0.125)
    )
    np.testing.assert_array_equal(low.soc, right.soc)
    np.testing.assert_array_equal(low.unserved_essential, right.unserved_essential)
    assert np.sum(counts["disconnects"]) > 50 and np.sum(counts[UNSETTLED]) == np.sum(early[UNSETTLED]) == 0
    assert not any(
        np.any(counts[name]) for name in ("early_disconnects", "early_lost_kwh", "late_disconnects", "late_h")
    )
    # Every cut-out comes an eighth of the charge too soon; what is lost is never more than that, at 13.6 V at most
    assert np.array_equal(early["early_disconnects"], early["disconnects"]) and not np.any(early["late_h"])
    most = 0.125 * right.capacity * right.capacity_factor * 13.6 / 1000 * np.array(early["disconnects"])
    assert (np.array(early["early_lost_kwh"]) <= most + 1e-9).all() and np.sum(early["early_lost_kwh"]) > 0
    high, late = year(
        small, Disconnect(below_soc_pct=62.5, above_soc_pct=75), lambda p, b, t, m: b.soc + F(0.125)
    )
    np.testing.assert_array_equal(high.soc, right.soc)
    assert np.sum(late["late_h"]) > 0 and not np.any(late["early_disconnects"])


def test_withheld_energy_is_unserved_and_every_watt_hour_has_a_place(small):
    """While disconnected nothing is served, while connected nothing is withheld."""
    rule = Disconnect(below_soc_pct=60)
    traces = small.traces(LANES, LANES)
    bank, _ = year(small, rule, true_charge)
    on = connected_by(bank.soc, rule)
    assert not on.all()
    np.testing.assert_allclose(bank.unserved_essential[~on], traces.essential[~on], rtol=1e-6)
    np.testing.assert_allclose(bank.unserved_deferrable[~on], traces.deferrable[~on], rtol=1e-6)
    assert (bank.unserved_essential <= traces.essential * (1 + 1e-5) + 1e-4).all()
    shed = year(small, Disconnect(below_soc_pct=60, loads="deferrable"), true_charge)[0]
    assert shed.unserved_essential.sum() < bank.unserved_essential.sum()


def test_a_shunt_set_to_too_little_cuts_out_early_by_so_much():
    """A perfect instrument that believes 80 of 100 Ah: 50 % read is 60 % of what the bank holds (arithmetic).

    What charging loses beside the efficiency set, and the hour between reading and cut-out, are a point or two.
    """
    exact = {
        "kind": "shunt", "offset_ma": 0, "offset_ma_per_k": 0, "gain_error_pct": 0, "ah_efficiency_set_pct": 99.5,
    }  # fmt: skip
    full = built()
    parts = built({"monitors": {"panel": exact | {"capacity_set_ah": round(0.8 * full.capacity, 3)}}})
    rule = Disconnect(below_soc_pct=50)
    bank, counts = year(parts, rule, reading_of("panel"))
    reading = reading_of("panel")(parts, bank, parts.traces(LANES, LANES), LANES)
    off = ~connected_by(reading, rule)
    starts = off & ~np.roll(off, 1, axis=0)
    held = np.roll(bank.soc, 1, axis=0)[starts]
    assert held.size > 50 and np.median(held) == pytest.approx(0.6, abs=0.02)
    assert np.sum(counts["early_disconnects"]) > 0.9 * np.sum(counts["disconnects"])


def test_connected_by_levels():
    """Below 30 it opens, at 45 it closes, between it stays; an hour later, and round the year's end."""
    soc = np.full((8760, 1), 0.9)
    soc[[10, 11, 12], 0] = 0.29, 0.44, 0.45
    soc[8759, 0] = 0.2
    soc[0, 0] = 0.3
    off = np.flatnonzero(~connected_by(soc, Disconnect(below_soc_pct=30))[:, 0])
    assert off.tolist() == [0, 1, 11, 12]
    assert connected_by(np.full((8760, 1), 0.4), Disconnect(below_soc_pct=30)).all()


def test_what_is_early_and_late_by_hand():
    """One cut-out at 60 % with the level at 50, one that never comes with the bank at 40 (arithmetic)."""
    soc = np.full((8760, 1), 0.9, F)
    soc[9:15, 0] = 0.6
    soc[99:103, 0] = 0.4
    connected = np.ones((8760, 1), bool)
    connected[10:15] = False
    bank = SimpleNamespace(soc=soc, voltage=np.full((8760, 1), 12.0, F), capacity=100.0, capacity_factor=1.0)
    rule, asked = Disconnect(below_soc_pct=50), np.full((8760, 1), 10.0)
    found = judged(connected, bank, asked, rule, planning=0.5)
    # .1 x 100 Ah x 12 V are 120 Wh, but only 5 h of 10 W are withheld
    assert (found["disconnects"], found["early_disconnects"], found["disconnected_h"]) == (1, 1, 5)
    assert found["early_lost_kwh"] == pytest.approx(0.05)
    assert found["late_disconnects"] == 1 and found["late_h"] == 4
    assert found["late_beyond_planning_pct"] == pytest.approx(10.0, abs=1e-4)
    longer = judged(connected, bank, 100 * asked, rule, planning=0.5)
    assert longer["early_lost_kwh"] == pytest.approx(0.12, rel=1e-5)


def test_the_table_and_the_years_without_are_as_before(small):
    """A cut-out that never acts leaves the same bits; the table holds each statistic once, with its interval."""
    base = simulate(small, autonomy=False, workers=2)
    never = disconnecting(Disconnect(below_soc_pct=0.001), true_charge)
    same = simulate(small, autonomy=False, workers=2, year=never)
    for name, values in base.members.items():
        np.testing.assert_array_equal(same.members[name], values)
    runs = run_disconnects(small, workers=2)
    table = disconnects_table(base.members, runs, small.parameter_draw, 1)
    assert not table.duplicated(["monitor", "statistic"]).any()
    rows = table.set_index("statistic")
    assert rows.loc["lolh", "by_truth"] > rows.loc["lolh", "without"]
    assert rows.loc["max_depth_true_pct", "by_truth"] < rows.loc["max_depth_true_pct", "without"]
    told = rows.drop(UNSETTLED)
    assert ((told["low"] <= told["difference"]) & (told["difference"] <= told["high"])).all()
    assert (rows.loc[list(WRONG), "low"] >= 0).all() and rows.loc[UNSETTLED, "by_reading"] == 0


def test_a_gauge_cuts_out_by_the_voltage_that_its_own_cut_outs_lift():
    """It reads low under load: too early; the walk settles though the voltage rises once loads are off."""
    volts = {
        "kind": "gauge",
        "voltmeter_error_mv": 0,
        "disconnect": {"below_soc_pct": 50, "above_soc_pct": 65},
    }
    parts = built(
        {
            "bank": {"chemistry": "flooded", "capacity_ah": 110},
            "monitors": {"volts": volts | {}, "own": {"kind": "shunt"}},
        }
    )
    assert parts.study.disconnects == ["volts"]
    bank, counts = year(parts, parts.study.monitors["volts"].disconnect, reading_of("volts"))
    reading = reading_of("volts")(parts, bank, parts.traces(LANES, LANES), LANES)
    off = ~connected_by(reading, parts.study.monitors["volts"].disconnect)
    starts = off & ~np.roll(off, 1, axis=0)
    assert np.sum(counts["disconnects"]) == starts.sum() > 50 and np.sum(counts[UNSETTLED]) == 0
    before = np.roll(bank.voltage, 1, axis=0)[starts]
    assert (bank.voltage[starts] > before).mean() > 0.9
    assert np.sum(counts["early_disconnects"]) > 0.5 * np.sum(counts["disconnects"])


def test_levels_keep_their_order():
    with pytest.raises(StudyError, match="is below below_soc_pct"):
        study_from(
            spoilt(
                {"monitors.s": {"kind": "shunt", "disconnect": {"below_soc_pct": 30, "above_soc_pct": 20}}}
            )
        )
