"""Tables and headlines of a made-up ensemble: shapes, order, units, and figures worked by hand."""

import json

import numpy as np
import pytest

from darkspell.core.calendar import Calendar
from darkspell.core.rounding import jsonable, significant
from darkspell.report.proposal.chapters.autonomy import days_held
from darkspell.report.tables.main import (
    MEMBER_COLUMNS,
    MONTH_STATISTICS,
    autonomy_table,
    members_table,
    months_table,
)
from darkspell.statistics.bounded_means import event_size
from darkspell.statistics.intervals import BOOTSTRAP, EXACT, mean_interval
from darkspell.statistics.summary import FIELDS, ORDER, summary

MEMBERS = 300
WORLD = np.arange(MEMBERS) % 30
CALENDAR = Calendar(7)


@pytest.fixture
def members():
    rng = np.random.default_rng(1)
    made = {name: rng.gamma(2.0, 3.0, MEMBERS) for name in MEMBER_COLUMNS}
    made["demand_kwh"] = rng.normal(400, 10, MEMBERS)
    made["short_nights"] = np.zeros(MEMBERS)
    made["reading_error_mean_pct"] = rng.normal(0, 1, MEMBERS)
    return made


@pytest.fixture
def autonomy():
    hours = np.full((36, MEMBERS), 1440)
    hours[33:36] = np.arange(MEMBERS) % 10 * 24 + 24
    return {"with_sun": hours, "dark": np.full((36, MEMBERS), 60)}


@pytest.fixture
def months():
    rng = np.random.default_rng(2)
    made = {name: rng.gamma(2.0, 3.0, (MEMBERS, 12)) for name in MONTH_STATISTICS}
    made["max_depth_reported_pct"] = np.full((MEMBERS, 12), np.nan)
    made["short_nights"] = np.zeros((MEMBERS, 12))
    made["clearness"][:, 11] = 0.2
    return made


def test_members_table(members):
    table = members_table(members, WORLD)
    assert list(table.columns) == ["member", "parameter_draw", *MEMBER_COLUMNS]
    assert table["short_nights"].dtype == np.int64
    np.testing.assert_allclose(table["demand_kwh"], members["demand_kwh"], rtol=5e-6)
    with pytest.raises(KeyError, match="events"):
        members_table({name: members[name] for name in MEMBER_COLUMNS if name != "events"}, WORLD)


def test_months_table_is_tidy_and_in_study_order(months):
    table = months_table(months, WORLD, CALENDAR)
    assert list(table.columns) == [
        "month", "statistic", "unit", "value", "mean", "place_low", "place_high", "simulation_low", "simulation_high",
        "p10", "p50", "p90", "n",
    ]  # fmt: skip
    assert table["month"].drop_duplicates().tolist() == [7, 8, 9, 10, 11, 12, 1, 2, 3, 4, 5, 6]
    assert len(table) == 12 * len(MONTH_STATISTICS)
    row = table.set_index(["statistic", "month"]).loc
    assert row["clearness", 12]["mean"] == row["clearness", 12]["p90"] == 0.2
    march = months["array_kwh"][:, 2]
    assert row["array_kwh", 3]["p50"] == pytest.approx(np.median(march), rel=1e-5)
    assert row["array_kwh", 3]["simulation_low"] < march.mean() < row["array_kwh", 3]["simulation_high"]
    assert row["short_nights", 1]["simulation_low"] == 0 < row["short_nights", 1]["simulation_high"] < 0.03
    assert row["max_depth_reported_pct", 1]["n"] == 0
    assert np.isnan(row["max_depth_reported_pct", 1]["mean"])


def test_autonomy_table(autonomy):
    table = autonomy_table(autonomy, WORLD)
    assert list(table.columns) == [
        *(
            "start_month",
            "kind",
            "days",
            "probability",
            "low",
            "high",
            "simulation_low",
            "simulation_high",
            "n",
        )
    ]
    assert len(table) == 2 * 12 * 60
    row = table.set_index(["kind", "start_month", "days"]).loc
    assert row["with_sun", 12, 5]["probability"] == pytest.approx(0.6)
    assert row["with_sun", 6, 60]["probability"] == 1
    assert row["dark", 1, 2]["probability"] == 1
    assert row["dark", 1, 3]["probability"] == 0
    assert (table["low"] <= table["probability"]).all()
    assert (table["probability"] <= table["high"]).all()


def test_summary_has_every_headline_with_both_intervals(members, autonomy):
    found = json.loads(json.dumps(summary(members, autonomy, WORLD), allow_nan=False))
    assert tuple(found) == ORDER
    for headline in found.values():
        assert tuple(headline) == FIELDS
        assert headline["simulation_low"] <= headline["value"] <= headline["simulation_high"]
        assert headline["place_low"] <= headline["value"] <= headline["place_high"]
        assert headline["year_low"] <= headline["year_high"]
        assert headline["n"] == MEMBERS


def test_causes_add_up_to_the_best_guess_of_all_hours(members, autonomy):
    """The best guess is below the mean of lognormal draws; the parts follow it and keep their shares of the mean."""
    rng = np.random.default_rng(4)
    level = np.exp(1.5 * rng.standard_normal(30))[WORLD]
    parts = {"unserved_empty_h": rng.poisson(5 * level), "unserved_voltage_h": rng.poisson(2 * level)}
    members = members | {"lolh": sum(parts.values()).astype(float)}
    found = summary(members, autonomy, WORLD, asked={key: (part, "h/year") for key, part in parts.items()})
    whole = found["lolh"]
    assert whole["value"] < 0.7 * whole["mean"]
    for name in ("value", "mean"):
        assert sum(found[key][name] for key in parts) == pytest.approx(whole[name], rel=1e-4)
    assert found["unserved_empty_h"]["value"] / whole["value"] == pytest.approx(
        parts["unserved_empty_h"].sum() / members["lolh"].sum(), rel=1e-4
    )


def test_the_share_of_years_with_dark_nights_counts_all_years_alike(members, autonomy):
    """Rare losses of very unlike sites: the chance of a coming year is the mean, above the best guess of nights."""
    rng = np.random.default_rng(5)
    nights = rng.poisson(0.05 * np.exp(2.0 * rng.standard_normal(30))[WORLD])
    found = summary(members | {"short_nights": nights.astype(float)}, autonomy, WORLD)
    years, counts = found["years_with_short_nights"], found["short_nights"]
    assert years["value"] == years["mean"] == pytest.approx((nights > 0).mean())
    assert years["value"] > counts["value"] and years["value"] <= counts["mean"]
    for kind in ("place", "simulation"):
        assert years[f"{kind}_low"] <= years["value"] <= years[f"{kind}_high"]


def test_days_of_the_weakest_month_have_the_interval_of_the_autonomy_table(members, autonomy):
    """Whole days of the headline are those of the table, 9 times in 10, and so are both ends at this site."""
    rng = np.random.default_rng(6)
    lasting = np.clip(rng.normal(9, 2, 30)[WORLD] + rng.normal(0, 2, (3, MEMBERS)), 1, 60)
    hours = autonomy["with_sun"].copy()
    hours[33:36] = np.round(24 * lasting)
    made = {"with_sun": hours, "dark": autonomy["dark"]}
    table = autonomy_table(made, WORLD)
    rows = table[(table["kind"] == "with_sun") & (table["start_month"] == 12)]
    entry = summary(members, made, WORLD)["autonomy_worst_month_days"]
    for name, column in (("value", "probability"), ("place_low", "low"), ("place_high", "high")):
        assert int(entry[name]) == days_held(rows["days"].to_numpy(), rows[column].to_numpy(), 0.9)


def test_what_only_some_studies_have_comes_last(members, autonomy):
    """A generator that never ran in 300 years may yet run: the bound is above nought; none asked for, none told."""
    asked = {"generator_h": (np.zeros(MEMBERS), "h/year"), "fuel_l": (np.full(MEMBERS, 2.5), "l/year")}
    found = summary(members, autonomy, WORLD, asked=asked)
    assert tuple(found) == (*ORDER, *asked)
    assert found["generator_h"]["value"] == 0.0 < found["generator_h"]["simulation_high"]
    assert (found["fuel_l"]["value"], found["fuel_l"]["unit"]) == (2.5, "l/year")


def test_indices_follow_their_definitions(members, autonomy):
    found = summary(members, autonomy, WORLD)
    assert found["lolp"]["value"] == pytest.approx(found["lolh"]["value"] / 8760, rel=1e-5)
    assert found["lolh"]["mean"] == pytest.approx(members["lolh"].mean(), rel=1e-5)
    ratio = members["eue_kwh"].sum() / members["demand_kwh"].sum()
    assert found["llp"]["mean"] == pytest.approx(ratio, rel=1e-5)
    depth = np.quantile(members["max_depth_true_pct"], 0.9)
    assert found["annual_max_depth_true"]["value"] == pytest.approx(depth, rel=1e-5)
    assert found["autonomy_dark_days"]["value"] == 2.5
    assert found["autonomy_worst_month_days"]["value"] == pytest.approx(1.9)
    assert "December" in found["autonomy_worst_month_days"]["method"]


def test_nothing_seen_still_has_an_upper_bound(members, autonomy):
    found = summary(members, autonomy, WORLD)
    nights = found["short_nights"]
    assert nights["value"] == nights["simulation_low"] == nights["place_low"] == nights["year_high"] == 0
    # Rule of three: at least 3 events in 300 years cannot be excluded (Hanley & Lippman-Hand 1983, memory).
    assert nights["place_high"] >= nights["simulation_high"] > 3 / MEMBERS
    assert EXACT in nights["method"]
    assert BOOTSTRAP in found["eue_kwh"]["method"]
    assert 0 < found["years_with_short_nights"]["simulation_high"] < 0.05


def test_a_study_without_a_shunt_has_no_reading(members, autonomy):
    members["max_depth_reported_pct"] = members["reading_error_p95_pct"] = np.full(MEMBERS, np.nan)
    found = summary(members, autonomy, WORLD)
    for key in ("annual_max_depth_reported", "reading_error_p95_pct"):
        assert found[key]["value"] is found[key]["place_high"] is found[key]["year_low"] is None
        assert found[key]["n"] == 0


def test_the_deepest_does_not_grow_with_members(members, autonomy):
    rng = np.random.default_rng(3)
    cut = {kind: hours[:, :100] for kind, hours in autonomy.items()}
    growth = []
    for _ in range(20):
        members["max_depth_true_pct"] = 100 * rng.beta(8, 4, MEMBERS)
        fewer = {name: values[:100] for name, values in members.items()}
        third, whole = summary(fewer, cut, WORLD[:100]), summary(members, autonomy, WORLD)
        growth.append(whole["annual_max_depth_true"]["value"] - third["annual_max_depth_true"]["value"])
    # The quantile stays within 3 standard errors of no change; the maximum would grow by some 2 points.
    assert abs(np.mean(growth)) < 3 * np.std(growth) / np.sqrt(len(growth)) < 1.5


def test_an_unseen_event_is_a_day_of_load():
    assert event_size("eue_kwh", 365.0) == 1.0
    assert event_size("lolh", 365.0) == event_size("longest_event_h", 365.0) == 24
    assert event_size("short_nights", 365.0) == 1
    high = mean_interval(np.zeros(1000), np.arange(1000), unit_size=24)[1]
    assert high == pytest.approx(24 * (1 - 0.025 ** (1 / 1000)))


def test_significant_digits():
    values = [123456.7, 0.000123456789, -98765432.1, 0.0, np.nan]
    expected = [123457, 0.000123457, -98765400, 0.0, np.nan]
    np.testing.assert_array_equal(significant(values), expected)
    assert significant([1.0, 2.0]).dtype == np.int64
    assert jsonable(np.nan) is None
    assert jsonable(np.float32(0.1)) == 0.1
