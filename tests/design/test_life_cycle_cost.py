"""Cost over life: compound-interest tables, a ledger kept year by year, and lives between those that were run."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from darkspell.bank.life_spread import life_factors
from darkspell.climate import site_climate
from darkspell.design.bank_lives import grid_lives, lives_and_fuel
from darkspell.design.catalogue_search import Column, cheapest_first
from darkspell.design.cost_table import cost_table, price_of_change
from darkspell.design.grid_costs import priced
from darkspell.design.life_cycle_cost import BANKS, life_cycle_cost, present_value_of_annuity, replaced
from darkspell.design.remedies import remedies_of, remedies_table
from darkspell.design.remedy_costs import price_with, with_yearly_cost
from darkspell.report.tables.bill_of_materials import bill_of_materials
from darkspell.simulation.system import build_system
from darkspell.study import study_from
from darkspell.study.life_cycle import LifeCycle
from darkspell.study.yaml_reader import read_file
from darkspell.weather.site_sky import sky_of
from study.example import spoilt

CONFIG = Path(__file__).parents[2] / "config"


@pytest.mark.parametrize(
    ("rate", "years", "factor"), [(0.08, 10, 6.7101), (0.05, 20, 12.4622), (0.10, 25, 9.0770), (0.0, 7, 7.0)]
)
def test_an_annuity_is_that_of_compound_interest_tables(rate, years, factor):
    """Uniform-series present-worth factors, compound-interest tables of engineering economy (memory)."""
    assert present_value_of_annuity(rate, years) == pytest.approx(factor, abs=6e-5)


def ledger(price, disposal, work, life, years, rate):
    """The same by a ledger of payments, one after another."""
    total, bought = 0.0, life
    while bought < years - 1e-9:
        total += (price + disposal + work) / (1.0 + rate) ** bought
        bought += life
    worn = 1.0 - (bought - years) / life
    return total + (worn * disposal - (1.0 - worn) * price) / (1.0 + rate) ** years


@pytest.mark.parametrize("life", [0.7, 4.0, 6.3, 10.0, 19.9, 20.0, 31.0])
@pytest.mark.parametrize("rate", [0.0, 0.03, 0.2])
def test_replacements_as_in_a_ledger(life, rate):
    assert replaced(900.0, 40.0, 150.0, life, 20, rate) == pytest.approx(
        ledger(900.0, 40.0, 150.0, life, 20, rate), abs=1e-6
    )


def test_the_sum_of_the_parts_is_the_mean_over_banks():
    terms = LifeCycle(
        horizon_years=15, discount_rate_pct=4, bank_disposal_per_ah=0.2, bank_replacement=120, equipment=400,
        visits_per_year=2, visit=90,
    )  # fmt: skip
    whole = life_cycle_cost(terms, [3000.0], [900.0], [1500.0], [200.0], [6.0], [55.0], 3)
    lives = 6.0 * life_factors(range(BANKS), 3)
    banks = np.mean([ledger(1500.0, 40.0, 120.0, life, 15, 0.04) for life in lives])
    yearly = (55.0 + 180.0) * present_value_of_annuity(0.04, 15)
    rest = ledger(900.0, 0.0, 0.0, 25.0, 15, 0.04) + ledger(400.0, 0.0, 0.0, 12.0, 15, 0.04)
    assert whole.total[0] == pytest.approx(3000.0 + banks + rest + yearly)
    assert whole.total_low[0] < whole.total[0] < whole.total_high[0]
    assert whole.yearly[0] * present_value_of_annuity(0.04, 15) == pytest.approx(whole.total[0])


def test_lives_between_designs_that_were_run():
    """Interpolated lives of designs off the nodes, against runs of those designs: within 3 %."""
    given = read_file(CONFIG / "ridge_relay.yaml") | {"engine": {"members": 32}}
    study = study_from(given)
    system = build_system(study, site_climate(study, CONFIG), sky_of(study))
    designs = np.array([(a, b) for a in (200, 300, 500, 800) for b in (110, 210, 330, 550)], float)
    lives, _ = grid_lives(system, designs, 2)
    inner = [5, 6, 9, 10]
    run, _ = lives_and_fuel(system, designs[inner], 2)
    assert lives[inner] == pytest.approx(run, rel=0.03)
    assert lives[3] > lives[0]  # a larger bank cycles less deeply


def test_the_grid_chooses_by_what_is_minimised():
    """A bank twice as dear that lasts four times as long: dearer at first, cheaper over its life."""
    study = study_from(spoilt({}))
    table = pd.DataFrame(
        {
            "array_wp": [500.0, 500.0], "bank_ah": [200.0, 400.0], "short_nights": [0.1, 0.1],
            "probability_met": [1.0, 1.0], "bank_life_years": [3.0, 12.0], "fuel_l": [0.0, 0.0],
        }
    )  # fmt: skip
    first = priced(table, study)
    sizing = study.sizing.model_copy(update={"minimise": "life_cycle_cost"})
    over_life = priced(table, study.model_copy(update={"sizing": sizing}))
    assert first["chosen"].tolist() == [True, False] and over_life["chosen"].tolist() == [False, True]
    assert (first["life_cycle_cost"] == over_life["life_cycle_cost"]).all()


def test_a_change_of_chemistry_has_the_price_of_its_own_chemistry():
    """Paper and pencil: 200 Wp at 1, 100 Ah of AGM at 3, of LFP at 5; gel is not on the list and has no price."""
    given = {"sizing.prices.bank_per_ah_by_chemistry": {"lfp": 5}, "engine": {"members": 8}}
    study = study_from(spoilt(given))
    climate = site_climate(study, CONFIG)
    changes = {
        "lithium": {"bank.chemistry": "lfp"}, "gelled": {"bank.chemistry": "gel"}, "big": {"bank.capacity_ah": 200}
    }  # fmt: skip
    system = build_system(study, climate, sky_of(study))
    table = cost_table(system, lambda one: (climate, sky_of(one)), changes, 1)
    assert table["first_cost"].tolist()[:2] == [500.0, 700.0] and table["first_cost"][3] == 800.0
    unpriced = table.iloc[2]
    totals = [
        f"{name}{bound}" for name in ("life_cycle_cost", "yearly_cost") for bound in ("", "_low", "_high")
    ]
    gaps = ["first_cost", "bank_cost", *totals]
    assert unpriced[gaps].isna().all() and unpriced.drop(gaps).notna().all()
    assert table.drop(index=2).notna().all(axis=None)


def test_a_bank_at_another_voltage_keeps_its_price_per_watt_hour():
    """By hand: 100 Ah at 12 V cost 300; at 24 V they are twice the watt-hours and cost 600, half the Ah cost 300."""
    study = study_from(spoilt({}))
    volts = {"system.nominal_voltage_v": 24}
    for changes, bank in ((volts, 600.0), (volts | {"bank.capacity_ah": 50}, 300.0)):
        assert price_of_change(study, study.with_changes(changes)) == (200.0 + bank, 200.0, bank)


def test_a_study_of_a_listed_chemistry_has_its_price_everywhere():
    """150 Wp at 1 and 200 Ah at 7 in the grid and in the bill, by hand; `bank_per_ah` is then for other kinds."""
    study = study_from(spoilt({"sizing.prices.bank_per_ah_by_chemistry": {"agm": 7}}))
    grid = pd.DataFrame(
        {"array_wp": [150.0], "bank_ah": [200.0], "short_nights": [0.1], "probability_met": [1.0]}
    )
    assert priced(grid, study)["cost"].tolist() == [1550.0]
    assert bill_of_materials(study, 150.0, 200.0).set_index("line")["total"]["bank"] == 1400.0
    assert remedies_of(study)["more_bank"][1] == 175.0


def test_a_remedy_costs_a_year_what_the_changed_study_costs():
    """Against the table of what-ifs with the same changes, priced by the rates; gaps where a price is unknown."""
    study = study_from(
        spoilt({"bank.chemistry": "lfp", "bank.location": "outdoors", "engine": {"members": 8}})
    )
    climate = site_climate(study, CONFIG)
    system = build_system(study, climate, sky_of(study))
    remedies = remedies_of(study)
    rows = [{"whatif": name, "statistic": "lolh", "difference": 0.0} for name in remedies]
    table = remedies_table(rows, remedies, "lolh", study.sizing.prices)
    table = with_yearly_cost(table, system, lambda one: (climate, sky_of(one)), remedies, 1).set_index(
        "remedy"
    )
    priced = {name: made for name, (made, cost) in remedies.items() if cost is not None}
    assert {"more_array", "more_bank", "steeper", "without_radio"} <= set(priced)
    costs = cost_table(system, lambda one: (climate, sky_of(one)), priced, 1).set_index("whatif")
    for column in ("yearly_cost", "yearly_cost_low", "yearly_cost_high"):
        assert table[column][list(priced)].to_numpy() == pytest.approx(costs[column][list(priced)], abs=6e-3)
        assert table[column].drop(list(priced)).isna().all()
    assert {"heater", "agm"} <= set(table.index) - set(priced)


def test_a_remedy_of_another_chemistry_has_its_price():
    """By hand: 200 Ah of AGM at 4 for 100 Ah of LFP at 3 are 500 more, all of it in the bank."""
    changes = {"bank.chemistry": "lfp", "sizing.prices.bank_per_ah_by_chemistry": {"agm": 4}}
    study = study_from(spoilt(changes | {"bank.location": "outdoors"}))
    made, cost = remedies_of(study)["agm"]
    assert cost == 500.0 and remedies_of(study)["heater"][1] is None
    assert price_with(study, study.with_changes(made), made, cost) == (1000.0, 200.0, 800.0)


class Piece:
    """A design of a made-up column: sizes, first cost, cost over life."""

    limit_a = None

    def __init__(self, array_wp, bank_ah, cost, life_cycle_cost):
        self.array_wp, self.bank_ah, self.cost = array_wp, bank_ah, cost
        self.life_cycle_cost = life_cycle_cost


@pytest.mark.parametrize("minimise", ["cost", "life_cycle_cost"])
@pytest.mark.parametrize("seed", range(8))
def test_the_search_finds_the_least_of_either_cost(minimise, seed):
    """Made-up designs whose cost over life goes up and down within a column, against a full list."""
    draws = np.random.default_rng(seed)
    stacks = [
        [Piece(a, b, a + b, float(draws.integers(100, 999))) for b in range(1, 9)] for a in (10, 20, 30)
    ]
    need = draws.integers(18, 34)
    columns = [Column(stack, (0, 0), None, -1, minimise=minimise) for stack in stacks]
    meeting, _, _ = cheapest_first(columns, lambda one, _: one.array_wp + one.bank_ah >= need, 3)
    listed = [p for stack in stacks for p in stack if p.array_wp + p.bank_ah >= need]
    listed.sort(key=lambda one: getattr(one, minimise))
    assert [getattr(one, minimise) for one, _ in meeting] == [getattr(one, minimise) for one in listed[:3]]
