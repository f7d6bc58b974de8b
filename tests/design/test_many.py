"""Many what-ifs together: the same numbers as one by one, more years when asked, honest levels."""

from pathlib import Path

import numpy as np
import pytest

from darkspell.climate import site_climate
from darkspell.core.errors import StudyError
from darkspell.design.whatif_runner import CHANCE, looks_of, run_whatifs, trace_key
from darkspell.pipeline.chunks import some_of
from darkspell.pipeline.stages import load_studies
from darkspell.simulation.run import simulate
from darkspell.simulation.system import build_system
from darkspell.statistics.intervals import difference_interval
from darkspell.statistics.paired_comparison import compare
from darkspell.study import study_from
from darkspell.weather.site_sky import sky_of
from study.example import spoilt

CONFIG = Path(__file__).parents[2] / "config"
CHANGES = {
    "bank": {"bank.capacity_ah": 200},
    "link": {"loads.radio_link.watts": 4},
    "cold": {"bank.location": "outdoors"},
}


@pytest.fixture(scope="module")
def parts():
    """The hut on a batch and a bit."""
    entry = load_studies([CONFIG / "tarn_hut.yaml"], 70)["tarn_hut"]
    return build_system(entry.study, site_climate(entry.study, entry.path.parent), sky_of(entry.study))


def test_together_as_one_by_one(parts):
    """Shared traces change no bit of any comparison."""
    study = parts.study
    rows = run_whatifs(parts, lambda _: (parts.climate, parts.sky), CHANGES, workers=2)
    base = simulate(parts, autonomy=False, workers=2).members
    alone = []
    for name, changes in CHANGES.items():
        other = build_system(study.with_changes(changes), parts.climate, parts.sky)
        other = simulate(other, autonomy=False, workers=2).members
        alone += compare(name, changes, base, other, parts.parameter_draw, study.engine.seed)
    assert all(0.0 <= row[CHANCE] <= 1.0 for row in rows)
    np.testing.assert_equal([{key: row[key] for key in row if key != CHANCE} for row in rows], alone)


def test_traces_are_shared_by_those_that_may(parts):
    """A bank's size leaves the sky and the loads alone; loads, and where the bank stands, do not."""
    study = parts.study
    keys = {name: trace_key(study.with_changes(changes)) for name, changes in CHANGES.items()}
    assert keys["bank"] == trace_key(study)
    assert trace_key(study) not in (keys["link"], keys["cold"])


def test_years_are_added_until_the_budget_is_spent(parts):
    """An impossible precision doubles the years to the last look, each at the level that pays for all."""
    precision = type(parts.study.engine).model_fields["precision"]
    engine = parts.study.engine.model_copy(update={"members": 16})
    given = study_from(spoilt({"engine": {"precision": {"half_width": 1e-9, "max_members": 70}}}))
    engine = engine.model_copy(update={"precision": given.engine.precision})
    assert precision and looks_of(engine) == [16, 32, 64]
    study = parts.study.model_copy(update={"engine": engine})
    study._given = parts.study._given
    few = build_system(study, parts.climate, parts.sky)
    rows = run_whatifs(few, lambda _: (parts.climate, parts.sky), {"bank": CHANGES["bank"]}, workers=2)
    assert {row["years"] for row in rows} == {64}
    assert {row["level"] for row in rows} == {round(1 - 0.05 / 3, 6)}


def test_each_ends_by_itself_however_they_are_cut(parts):
    """A what-if that is soon known well enough meets fewer years; in jobs of their own the rows are the same."""
    engine = parts.study.engine.model_copy(update={"members": 64, "parameter_draws": 50})
    asked = {"statistic": "max_depth_true_pct", "half_width": 0.1, "max_members": 128}
    given = study_from(spoilt({"engine": {"precision": asked}}))
    engine = engine.model_copy(update={"precision": given.engine.precision})
    study = parts.study.model_copy(update={"engine": engine})
    study._given = parts.study._given
    few = build_system(study, parts.climate, parts.sky)
    changes = {"same": {"bank.capacity_ah": parts.study.bank.capacity_ah}, "small": CHANGES["bank"]}

    def site(_):
        return parts.climate, parts.sky

    rows = run_whatifs(few, site, changes, workers=2)
    assert {row["whatif"]: row["years"] for row in rows} == {"same": 64, "small": 128}
    alone = [row for n in (1, 2) for row in run_whatifs(few, site, some_of(changes, n, 2), workers=2)]
    np.testing.assert_equal(rows, alone)


@pytest.mark.parametrize("rare", [False, True])
def test_stopping_on_what_is_seen_takes_nothing_from_the_interval(rare):
    """120 made-up comparisons with a known difference: parameter draws apart, years skewed or mostly untouched."""
    chance, looks, parameter_draw = np.random.default_rng(5), (128, 256, 512, 1024), np.arange(1024) % 50
    true, enough = (0.05 * 0.5 if rare else 1.0) * np.exp(0.045), 0.03 if rare else 0.3
    covered, ends = 0, set()
    for _ in range(120):
        size = np.exp(chance.normal(0, 0.3, 50))[parameter_draw]
        some = chance.gamma(0.3, 1 / 0.3, 1024)
        change = (chance.random(1024) < 0.05 * size) * chance.gamma(1, 0.5, 1024) if rare else size * some
        base = chance.gamma(0.3, 3, 1024)
        for years in looks:
            pair = base[:years], base[:years] + change[:years]
            low, high = difference_interval(*pair, parameter_draw[:years], 1 - 0.05 / len(looks), 1)
            if (high - low) / 2 <= enough:
                break
        ends.add(years)
        covered += low <= true <= high
    assert len(ends) > 1 and covered >= 120 * 0.95 - 3 * np.sqrt(120 * 0.95 * 0.05)


def test_a_sweep_is_a_list_of_whatifs():
    """Every combination, named by its values; evenly spaced steps too."""
    sweeps = {
        "sizes": {"bank.capacity_ah": [80, 120.5], "loads.lamp.watts": {"from": 5, "to": 9, "steps": 3}}
    }
    study = study_from(spoilt({"sweeps": sweeps}))
    assert list(study.whatifs)[:2] == ["sizes_80_5", "sizes_80_7"] and len(study.whatifs) == 6
    assert study.whatifs["sizes_120p5_9"] == {"bank.capacity_ah": 120.5, "loads.lamp.watts": 9.0}


@pytest.mark.parametrize(
    ("sweeps", "words"),
    [
        ({"a": {"bank.capacity_ah": 5}}, "no list of values"),
        ({"a": {"bank.capacity": [5]}}, "bank.capacity"),
        ({"a": {"bank.capacity_ah": {"from": 9, "to": 5, "steps": 3}}}, "from below to"),
        ({"a": {"bank.capacity_ah": [100, 100]}}, "second what-if"),
        ({"a": {"bank.capacity_ah": [-1]}}, "whatifs.a_-1"),
        ({"a": {"loads.lamp.watts": list(range(1, 400)), "bank.capacity_ah": [1, 2]}}, "keep all"),
    ],
)
def test_a_bad_sweep_is_refused(sweeps, words):
    """With key and cure."""
    with pytest.raises(StudyError, match=words):
        study_from(spoilt({"sweeps": sweeps}))
