"""The search for the least bank finds what the whole grid shows, and runs a part of it."""

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from darkspell.climate import site_climate
from darkspell.design.catalogue_design import full_charge_most, waits_of
from darkspell.design.frontier import find_frontier, target_values
from darkspell.design.grid import run_grid, scales_of
from darkspell.pipeline.stages import load_studies
from darkspell.simulation.system import build_system
from darkspell.study.catalogue import AdditionalTarget
from darkspell.study.targets import FullCharge
from darkspell.weather.site_sky import sky_of

CONFIG = Path(__file__).parents[2] / "config"
ARRAYS, BANKS = np.linspace(200, 1400, 5), np.linspace(60, 620, 15)
DESIGNS = np.array([(a, b) for a in ARRAYS for b in BANKS])


@pytest.fixture(scope="module")
def whole():
    """A study and its counts over the whole grid, which knows nothing of the search."""
    entry = load_studies([CONFIG / "tarn_hut.yaml"], 96)["tarn_hut"]
    parts = build_system(entry.study, site_climate(entry.study, entry.path.parent), sky_of(entry.study))
    return parts, run_grid(parts, DESIGNS, workers=2)


@pytest.mark.parametrize("lanes", [4, 64])
@pytest.mark.parametrize(("statistic", "share"), [("short_nights", 0.3), ("eue_kwh", 0.6), ("lolp", 0.0)])
def test_the_search_finds_the_border_of_the_whole_grid(whole, statistic, share, lanes, monkeypatch):
    """For easy, hard and hopeless targets: the same smallest bank for every array, and the same counts."""
    monkeypatch.setattr("darkspell.design.frontier.PILOT", 48)
    monkeypatch.setattr("darkspell.design.frontier.LANES", lanes)  # spare ones are filled up
    parts, counts = whole
    means = target_values(counts, statistic).mean(axis=0, dtype=float).reshape(len(ARRAYS), len(BANKS))
    scales = scales_of(parts, DESIGNS).reshape(len(ARRAYS), len(BANKS), -1)
    at_most = float(np.quantile(means, share))
    found = find_frontier(parts, scales, statistic, at_most, workers=2)
    good = means <= at_most
    np.testing.assert_array_equal(found.least, np.where(good.any(axis=1), good.argmax(axis=1), len(BANKS)))
    for (column, bank), run in found.counts.items():
        for name, values in run.items():
            np.testing.assert_array_equal(values, counts[name][:, column * len(BANKS) + bank])
    if lanes == 4:  # 64 of them hold most of so small a grid
        assert found.runs < 0.5 * means.size * parts.members.size


@pytest.mark.parametrize("days, pct", [(5, 50), (12, 80), (1, 99)])
def test_the_largest_bank_that_is_full_in_time(whole, days, pct, monkeypatch):
    """From above the search finds what the whole grid shows; where no bank is full in time, -1."""
    monkeypatch.setattr("darkspell.design.frontier.PILOT", 48)
    parts, counts = whole
    kept = counts["longest_full_charge_interval_days"] <= days
    good = kept.mean(axis=0).reshape(len(ARRAYS), len(BANKS)) >= pct / 100 - 1e-9
    last = np.where(good.any(axis=1), len(BANKS) - 1 - good[:, ::-1].argmax(axis=1), -1)
    scales = scales_of(parts, DESIGNS).reshape(len(ARRAYS), len(BANKS), -1)
    also = AdditionalTarget(statistic="longest_full_charge_interval_days", at_most=days, years_pct=pct)
    again = FullCharge(within_days=days, years_pct=pct)
    asked = (
        SimpleNamespace(full_charge=again, additional={}),
        SimpleNamespace(full_charge=None, additional={"x": also}),
    )
    for target in asked:
        np.testing.assert_array_equal(full_charge_most(parts, scales, waits_of(target), workers=2), last)
    assert full_charge_most(parts, scales, []).tolist() == [len(BANKS) - 1] * len(ARRAYS)


def test_blocks_side_by_side_are_the_whole(whole):
    """Parts of the members and parts of the designs, run apart, join to the same bits."""
    from dataclasses import replace

    parts, counts = whole
    some = replace(parts, members=parts.members[70:], parameter_draw=parts.parameter_draw[70:])
    for name, values in run_grid(some, DESIGNS[5:9], workers=1).items():
        np.testing.assert_array_equal(values, counts[name][70:, 5:9])
