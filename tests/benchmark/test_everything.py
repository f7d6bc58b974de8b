"""The study of the benchmark's row with everything on."""

from pathlib import Path

import pytest

from darkspell.bank.optional_features import NEVER, extras_of
from darkspell.benchmark.everything import everything_on, with_all_monitors
from darkspell.pipeline.stages import load_studies

CONFIG = Path(__file__).parents[2] / "config"


@pytest.mark.parametrize("name", ["tarn_hut", "sloop", "ridge_relay", "lake_cabin", "cruise", "goat_barn"])
def test_everything_is_on(name):
    """Every part of the step that a study may leave out, chargers beside the sun, and a monitor of each kind."""
    plain = load_studies([CONFIG / f"{name}.yaml"], 8)[name].study
    study = everything_on(plain)
    extras = extras_of(study)
    assert extras.power > 0 and max(extras.absorption, extras.reconnect_voltage) < NEVER
    assert study.bank.heater and study.chargers and study.generator
    assert {monitor.kind for monitor in study.monitors.values()} == {"shunt", "gauge", "pack"}
    assert set(plain.monitors) <= set(study.monitors) and plain.loads == study.loads
    assert set(with_all_monitors(plain).monitors) == set(study.monitors)
