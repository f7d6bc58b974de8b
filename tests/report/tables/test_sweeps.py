"""Sweeps: their table, their map, and ten rows in the proposal."""

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from darkspell.design.whatif_runner import WHATIF_COLUMNS
from darkspell.report.figures import sweeps
from darkspell.report.figures.style import look
from darkspell.report.proposal.chapters import whatifs
from darkspell.report.tables.registry import TABLES
from darkspell.report.tables.sweeps import sweeps_table
from darkspell.study import study_from
from study.example import spoilt

BANKS, LAMPS = [100.0, 200.0, 300.0], [5, 10]
SWEEPS = {
    "sizes": {"bank.capacity_ah": BANKS, "loads.lamp.watts": LAMPS},
    "kinds": {"bank.chemistry": ["agm", "lfp"], "arrays.roof.tilt_deg": [30, 60]},
    "tilts": {"arrays.roof.tilt_deg": [20, 40, 60]},
}


@pytest.fixture(scope="module")
def study():
    return study_from(spoilt({"sweeps": SWEEPS, "whatifs": {"no_radio": {"loads.radio": None}}}))


def rows(study):
    """whatifs.csv in which short nights are the lamp's watts over the bank's ampere-hours."""
    made = []
    for name, changes in study.whatifs.items():
        value = changes.get("loads.lamp.watts", 10) / changes.get("bank.capacity_ah", 100)
        for statistic in ("short_nights", "lolh"):
            row = dict.fromkeys(WHATIF_COLUMNS, 0.0) | {
                "whatif": name,
                "changes": "{}",
                "statistic": statistic,
            }
            row |= {
                "unit": "nights/year",
                "whatif_value": value,
                "study_value": 0.1,
                "difference": value - 0.1,
            }
            made.append(row | {"low": value - 0.2, "high": value, "verdict": "real"})
    return pd.DataFrame(made, columns=WHATIF_COLUMNS)


@pytest.fixture
def results(study):
    table = rows(study)
    found = {"sweeps": sweeps_table(study, table)}
    return SimpleNamespace(study=study, scope="Somewhere.", whatifs=table, table=found.get, captions={})


def test_every_step_is_a_row_with_its_values_under_the_keys(study):
    table = sweeps_table(study, rows(study))
    one = table[table["statistic"] == "lolh"]
    assert list(one["sweep"]) == ["sizes"] * 6 + ["kinds"] * 4 + ["tilts"] * 3
    sizes = one[one["sweep"] == "sizes"]
    assert list(sizes["bank.capacity_ah"]) == [100, 100, 200, 200, 300, 300]
    assert list(sizes["loads.lamp.watts"]) == [5, 10] * 3 and sizes["arrays.roof.tilt_deg"].isna().all()
    np.testing.assert_allclose(sizes["whatif_value"], sizes["loads.lamp.watts"] / sizes["bank.capacity_ah"])
    rate = study.sizing.prices
    dear = rate.fixed + rate.array_per_wp * study.array_wp + rate.bank_per_ah * sizes["bank.capacity_ah"]
    np.testing.assert_allclose(sizes["cost"], dear)
    assert "no_radio" not in set(table["whatif"])
    known = [column.key for column in TABLES["sweeps"].columns]
    keys = ["bank.capacity_ah", "loads.lamp.watts", "bank.chemistry", "arrays.roof.tilt_deg"]
    assert list(table.columns) == [known[0], *keys, *known[2:]]


def test_a_sweep_over_two_numbers_is_a_map(results):
    """Numbers stand in the fields, and those on target (at most one night) are bold."""
    assert list(sweeps.maps_of(results)) == ["sizes"]
    with look():
        sheet, words = sweeps.page(results)
    ax = sheet.figure.axes[0]
    shown = {text.get_position(): text for text in ax.texts}
    assert len(shown) == 6
    assert float(shown[(0.5, 1.5)].get_text()) == pytest.approx(0.1)  # 100 Ah, 10 W
    assert float(shown[(2.5, 0.5)].get_text()) == pytest.approx(5 / 300, abs=0.004)
    assert [label.get_text() for label in ax.get_xticklabels()] == ["100", "200", "300"]
    assert all(text.get_weight() == "bold" for text in shown.values())
    assert "best of 6 steps" in words.title and "300 Ah" in words.title and "5 W" in words.title


def test_without_a_sweep_of_two_numbers_there_is_no_map(results):
    results.study = results.study.model_copy(update={"sweeps": {"tilts": SWEEPS["tilts"]}})
    assert not sweeps.drawable(results)
    assert not sweeps.drawable(SimpleNamespace(study=results.study, table=lambda _: pd.DataFrame()))


def test_the_proposal_lists_ten_and_says_where_the_others_are(results):
    results.figures = Path(".")
    section = whatifs.section(results)
    table = next(block for block in section.blocks if hasattr(block, "rows"))
    assert len(table.rows) == 10 and "first 10 of 14" in table.note and "sweeps.csv" in table.note
