"""Chargers beside the sun: their hours, their energy, and what of it is taken."""

import numpy as np
import pytest

from darkspell.chargers.expected_charge import chargers_from
from darkspell.chargers.hourly_power import charger_block
from darkspell.climate import site_climate
from darkspell.core.calendar import Calendar
from darkspell.core.errors import StudyError
from darkspell.report.tables.energy_sources import alternator_hours, sources_table
from darkspell.simulation.run import simulate
from darkspell.simulation.system import build_system
from darkspell.study import study_from
from darkspell.weather.site_sky import sky_of
from study.example import spoilt

CALENDAR = Calendar(7)
MEMBERS = np.arange(64)
ENGINE = {
    "kind": "alternator", "charger_a": 30, "label_a": 90, "hours_per_day": 2, "chance_of_use_pct": 30,
}  # fmt: skip


def block(charger, members=MEMBERS, folder=None):
    """Watts of one charger on a bank charged at 13 V."""
    study = study_from(spoilt({"chargers": {"one": charger}}), folder=folder)
    one = chargers_from(study, CALENDAR, 13.0)["one"]
    return charger_block(one, CALENDAR, members, members, 1)


def test_an_engine_runs_its_hours_on_its_days():
    """30 A x 13 V x 2 h x 30 % of 365 days (arithmetic), within four standard errors."""
    power = block(ENGINE)
    years = power.sum(axis=0, dtype=float)
    assert years.mean() == pytest.approx(390 * 2 * 0.3 * 365, abs=4 * years.std() / 8)
    assert power.max() <= 390.01 and power.reshape(365, 24, 64)[:, :8].max() == 0.0
    days = (power.reshape(365, 24, 64).sum(1) > 0).mean()
    assert days == pytest.approx(0.3, abs=4 * np.sqrt(0.3 * 0.7 / (365 * 64)))


def test_a_shore_line_charges_through_the_nights_of_its_stay():
    """Two nights in March, 18:00 to 08:00: 28 h at 10 A (arithmetic)."""
    power = block(
        {"kind": "shore", "charger_a": 10, "stays": {"port": {"first": "03-10", "last": "03-11"}}}, MEMBERS
    )
    np.testing.assert_allclose(power.sum(axis=0), 130 * 28, rtol=1e-5)
    first = 24 * CALENDAR.study_day(3, 10)
    assert power[first + 17].max() == 0.0 and power[first + 18].min() == pytest.approx(130.0)
    assert power[first + 31].min() == pytest.approx(130.0)  # until 08:00


def test_a_turbine_gives_each_member_one_year_of_its_file(tmp_path):
    """Two years of 10 and of 20 W, a peak on 1 January."""
    hours = np.repeat([10.0, 20.0], 8760)
    hours[[0, 8760]] = 99.0
    (tmp_path / "creek.csv").write_text("watts\n" + "\n".join(f"{w:g}" for w in hours))
    power = block({"kind": "turbine", "file": "creek.csv", "share_pct": 50}, folder=tmp_path)
    assert sorted(set(power[0])) == [5.0, 10.0]
    np.testing.assert_allclose(power[24 * CALENDAR.study_day(1, 1)], 49.5)
    # Four standard errors of 64 tosses
    assert (power[0] == 5.0).mean() == pytest.approx(0.5, abs=0.25)


def test_half_a_year_of_turbine_is_refused(tmp_path):
    """Whole years only."""
    (tmp_path / "creek.csv").write_text("watts\n" + "1\n" * 24 * 180)
    with pytest.raises(StudyError, match="chargers.one.file: .*180 days; give whole years"):
        block({"kind": "turbine", "file": "creek.csv"}, folder=tmp_path)


def test_a_charger_has_the_same_bits_in_any_batch():
    """Order and company of members do not matter."""
    np.testing.assert_array_equal(block(ENGINE)[:, [9, 3]], block(ENGINE, np.array([9, 3])))


@pytest.fixture(scope="module")
def worked():
    """A dull place with a small array, an engine and nights in port."""
    given = spoilt(
        {
            "climate.clearness_index": [0.3] * 12,
            "arrays.wall": {"power_wp": 100, "tilt_deg": 90, "azimuth_deg": 180},
            "chargers": {"engine": ENGINE, "port": {"kind": "shore", "charger_a": 15, "months": [1]}},
            "loads.lamp.hours_per_day": 4.5,
            "loads.bilge": {"watts": 3, "hours_per_day": 24, "tier": "uninterruptible"},
            "engine": {"members": 64, "seed": 1},
        }
    )
    study = study_from(given)
    parts = build_system(study, site_climate(study), sky_of(study))
    return parts, simulate(parts, workers=2)


def test_what_is_taken_is_no_more_than_what_is_offered(worked):
    """Month by month and member by member; the port offers in January only."""
    parts, result = worked
    for name in ("engine", "port"):
        offered, taken = (result.sources[f"{name}/{word}"] for word in ("offered", "taken"))
        assert (taken <= offered * (1 + 1e-5)).all() and taken.sum() > 0
    # The last night of January runs into February: 8 of 14 x 31 hours.
    port = result.sources["port/offered"]
    assert port[:, 2:].max() == 0.0
    np.testing.assert_allclose(port[:, 1] / port[:, :2].sum(axis=1), 8 / (14 * 31), rtol=1e-5)


def test_the_table_lists_every_source_with_its_month(worked):
    """Arrays add up to the study's; the engine's offered energy is its hours' (arithmetic, four errors)."""
    parts, result = worked
    table = sources_table(parts, result.months, result.sources)
    assert len(table) == 4 * 12 and list(table["source"].unique()) == ["roof", "wall", "engine", "port"]
    arrays = table[table["kind"] == "array"]["taken_kwh"].sum()
    assert arrays == pytest.approx(result.members["array_kwh"].mean(), rel=1e-4)
    assert (table["taken_kwh_low"] <= table["taken_kwh"]).all()
    roof, wall = (table[table["source"] == name]["offered_kwh"].sum() for name in ("roof", "wall"))
    assert 0.2 < wall / roof < 0.6  # half the power, upright
    hours = table.groupby("source")["hours"].sum()
    assert hours["port"] == pytest.approx(14 * 31, rel=1e-4)
    assert hours["engine"] == pytest.approx(2 * 0.3 * 365, rel=0.1)  # an error of 6 h on 219
    assert table[table["kind"] == "array"]["hours"].isna().all()
    engine = table[table["source"] == "engine"]
    assert ((engine["hours_low"] <= engine["hours"]) & (engine["hours"] <= engine["hours_high"])).all()
    values, unit = alternator_hours(parts, result.sources)["alternator_h"]
    assert values.mean() == pytest.approx(hours["engine"], rel=1e-4) and unit == "h/year"


def test_chargers_leave_the_draws_of_the_rest(worked):
    """Demand and weather of the members are those of the study without them."""
    parts, result = worked
    study = parts.study.with_changes({"chargers": None})
    alone = simulate(build_system(study, parts.climate, parts.sky), autonomy=False, workers=2)
    np.testing.assert_array_equal(alone.members["demand_kwh"], result.members["demand_kwh"])
    assert alone.members["eue_kwh"].mean() > result.members["eue_kwh"].mean()


def test_a_generator_is_among_the_sources():
    """Its hours times its power are no less than what is taken of it: it is held back near full."""
    given = spoilt(
        {
            "climate.clearness_index": [0.2] * 12,
            "arrays.roof.power_wp": 30,
            "generator": {"charge_w": 200, "start_soc_pct": 40, "stop_soc_pct": 80},
            "engine": {"members": 64, "seed": 1},
        }
    )
    study = study_from(given)
    parts = build_system(study, site_climate(study), sky_of(study))
    result = simulate(parts, workers=2)
    table = sources_table(parts, result.months, result.sources)
    rows = table[table["kind"] == "generator"]
    assert len(rows) == 12 and rows["taken_kwh"].sum() > 10
    assert (rows["taken_kwh"] <= rows["hours"] * 0.2 * (1 + 1e-5)).all()
