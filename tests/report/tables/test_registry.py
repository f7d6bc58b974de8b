"""The registry of tables against the tables that the rooms make."""

import re

import pytest

from darkspell.core.table_reader import NAMES
from darkspell.design import catalogue_design, cost_table, sensitivity
from darkspell.report.tables import energy_sources, registry
from darkspell.simulation import disconnect_on_reading
from darkspell.statistics import event_lengths, recovery
from darkspell.statistics.registry import STATISTICS

UNITS = {
    "%", "-", "kWh", "Wh", "Wp", "Ah", "h", "d", "°", "days", "nights", "events", "cycles", "charges", "starts", "l",
    "years", "year", "number", "share", "points", "pieces", "designs", "a month", "a year", "1 to 12", "of the month",
    "of the day", "of the key", "for 100 of the currency", "h/year", "kWh/year", "nights/year", registry.TEXT,
    registry.SEE_UNIT, registry.SEE_STATISTIC, registry.CURRENCY, registry.YES_OR_NO, registry.FLAG,
}  # fmt: skip


def faults(key, columns):
    """How a table's columns differ from the registry: unknown, missing, or in another order; list of str."""
    table = registry.TABLES[key]
    known = [one.key for one in table.columns]
    missing = [one.key for one in table.columns if one.key not in columns and not one.optional]
    unknown = [name for name in columns if name not in known]
    order = [name for name in known if name in columns] != [name for name in columns if name in known]
    return [
        *(f"{key}: unknown {n}" for n in unknown),
        *(f"{key}: no {n}" for n in missing),
        *["order"] * order,
    ]


@pytest.mark.parametrize(
    ("key", "columns"),
    [
        ("catalogue_designs", catalogue_design.COLUMNS),
        ("costs", cost_table.COLUMNS),
        ("sensitivity", sensitivity.COLUMNS),
        ("disconnects", disconnect_on_reading.COLUMNS),
        ("energy_sources", energy_sources.COLUMNS),
        ("event_lengths", event_lengths.COLUMNS),
        ("recovery", recovery.COLUMNS),
    ],
)
def test_a_room_makes_the_columns_of_the_registry(key, columns):
    assert faults(key, list(columns)) == []


def test_a_missing_an_unknown_and_a_moved_column_are_seen():
    columns = [one.key for one in registry.TABLES["snow"].columns]
    assert faults("snow", columns) == []
    assert faults("snow", columns[1:]) and faults("snow", [*columns, "x"]) and faults("snow", columns[::-1])


@pytest.mark.parametrize("table", registry.TABLES.values(), ids=registry.TABLES)
def test_units_are_of_one_list_and_names_are_unique(table):
    keys = [one.key for one in table.columns]
    assert len(set(keys)) == len(keys)
    assert {one.unit for one in table.columns} <= UNITS
    assert all(one.words for one in table.columns)
    if registry.SEE_UNIT in {one.unit for one in table.columns}:
        assert "unit" in keys
    if registry.SEE_STATISTIC in {one.unit for one in table.columns}:
        assert "statistic" in keys


@pytest.mark.parametrize("table", registry.TABLES.values(), ids=registry.TABLES)
def test_a_unit_at_the_end_of_a_name_is_the_unit_of_the_column(table):
    ends = {"_pct": "%", "_kwh": "kWh", "_ah": "Ah", "_wp": "Wp", "_wh": "Wh", "_deg": "°", "_h": "h"}
    for one in table.columns:
        end = next((end for end in ends if re.sub("_(low|high|mean)$", "", one.key).endswith(end)), None)
        assert end is None or one.unit.removesuffix("/year") == ends[end], one.key


def test_names_of_the_users_own_are_read_back_as_texts():
    owned = {
        "array",
        "monitor",
        "whatif",
        "remedy",
        "requirement",
        "module",
        "block",
        "controller",
        "source",
        "input",
    }
    texts = {
        one.key for table in registry.TABLES.values() for one in table.columns if one.unit == registry.TEXT
    }
    assert owned <= set(NAMES) & texts


def test_statistics_in_a_table_have_the_unit_of_the_registry():
    for one in registry.TABLES["members"].columns:
        assert one.key not in STATISTICS or one.unit == STATISTICS[one.key].unit
