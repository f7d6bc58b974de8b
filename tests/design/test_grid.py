"""The grid of sizes is the same whatever size the study's own bank has: another one runs it not again."""

from pathlib import Path

import numpy as np
import pytest

from darkspell.climate import site_climate
from darkspell.design.bank_lives import grid_lives
from darkspell.design.grid import run_grid
from darkspell.pipeline.stages import load_studies, stage_key
from darkspell.simulation.system import build_system
from darkspell.weather.site_sky import sky_of

CONFIG = Path(__file__).parents[2] / "config"


def enlarged(entry):
    """The same study with a larger bank."""
    capacity = round(1.37 * entry.study.bank.capacity_ah)
    changes = {"bank.capacity_ah": capacity, "bank.block_capacity_ah": None}
    return entry._replace(study=entry.study.with_changes(changes))


@pytest.mark.parametrize("name", ["tarn_hut", "sloop", "ridge_relay"])
def test_the_size_of_the_studys_bank_changes_no_bit_of_the_grid(name):
    """Heater, generator, alternator, shore line, PWM controller: loss of load, life and fuel of four designs."""
    entry = load_studies([CONFIG / f"{name}.yaml"], 6)[name]
    other, path = enlarged(entry), entry.path.parent
    assert stage_key(entry, "grid") == stage_key(other, "grid")
    climate, sky = site_climate(entry.study, path), sky_of(entry.study)
    sizes, watts = entry.study.bank.capacity_ah, entry.study.array_wp
    designs = np.array([(watts * a, sizes * b) for a in (0.5, 1.5) for b in (0.3, 1.1)])
    results = []
    for study in (entry.study, other.study):
        system = build_system(study, climate, sky)
        results.append([*run_grid(system, designs).values(), *grid_lives(system, designs)])
    assert results[0][3].max() > 0.0
    for one, two in zip(*results, strict=True):
        np.testing.assert_array_equal(one, two)


def test_a_current_stated_for_the_studys_bank_makes_its_size_count():
    entry = load_studies([CONFIG / "tarn_hut.yaml"], 6)["tarn_hut"]
    stated = entry._replace(study=entry.study.with_changes({"bank.charge_current_max_a": 60.0}))
    assert stage_key(stated, "grid") != stage_key(enlarged(stated), "grid")
    assert stage_key(stated, "grid") != stage_key(entry, "grid")


@pytest.mark.parametrize("change", [{"bank.chemistry": "agm"}, {"bank.state_of_health_pct": 80.0}])
def test_all_else_of_the_bank_counts(change):
    entry = load_studies([CONFIG / "tarn_hut.yaml"], 6)["tarn_hut"]
    assert stage_key(entry._replace(study=entry.study.with_changes(change)), "grid") != stage_key(
        entry, "grid"
    )
