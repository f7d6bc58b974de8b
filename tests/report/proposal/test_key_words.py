"""Names of what-ifs for a reader, and what is said of those that change knowledge alone."""

import json

import pandas as pd
import pytest

from darkspell.report.document.language import Manner, written
from darkspell.report.figures.sweeps import draw
from darkspell.report.figures.whatifs import of_knowledge
from darkspell.report.key_words import whatif_name
from darkspell.study import study_from
from study.example import spoilt


def test_a_step_of_a_sweep_is_named_by_what_differs():
    study = study_from(
        spoilt({"sweeps": {"sizes": {"loads.lamp.count": [2, 3], "bank.capacity_ah": [150.5, 240]}}})
    )
    assert whatif_name(study, "sizes_3_240") == "Lamp count 3, bank capacity 240 Ah"
    assert whatif_name(study, "sizes_2_150p5") == "Lamp count 2, bank capacity 150.5 Ah"
    assert whatif_name(study, "thrifty_lamp") == "Thrifty lamp"


@pytest.mark.parametrize(
    ("units", "ticks", "axis"), [("us", ["32", "50"], "°F"), ("metric", ["0", "10"], "°C")]
)
def test_the_map_of_a_sweep_has_the_units_of_the_study(units, ticks, axis):
    from matplotlib.figure import Figure

    keys = "bank.indoor_min_c", "bank.capacity_ah"
    rows = pd.DataFrame(
        {keys[0]: [0, 10, 0, 10], keys[1]: [100, 100, 200, 200], "whatif_value": [4, 3, 2, 1]}
    )
    with written(Manner(units=units)):
        ax = draw(Figure().add_subplot(), keys, rows)
    assert [tick.get_text() for tick in ax.get_xticklabels()] == ticks
    assert ax.get_xlabel().endswith(axis)


@pytest.mark.parametrize(
    ("changes", "alone"),
    [
        ({"load_uncertainty_pct": 2}, True),
        ({"bank.capacity_uncertainty_pct": 1, "climate.source": "monthly"}, True),
        ({"load_uncertainty_pct": 2, "bank.capacity_ah": 400}, False),
    ],
)
def test_what_changes_knowledge_alone_is_told_apart(changes, alone):
    assert of_knowledge(changes) is alone


def test_a_rise_of_the_best_guess_by_knowledge_is_explained(make_results):
    from dataclasses import replace

    from darkspell.report.proposal.chapters.whatifs import section

    results = make_results([0] * 30 + [2] * 10)
    row = results.whatifs.iloc[0].to_dict()
    row |= {"whatif": "known_loads", "changes": json.dumps({"load_uncertainty_pct": 2}), "difference": 0.1}
    more = replace(results, whatifs=pd.concat([results.whatifs, pd.DataFrame([row])]))
    told, plain = (next(b for b in section(one).blocks if hasattr(b, "rows")) for one in (more, results))
    assert sum("not the system" in cells[1] for cells in told.rows) == 1
    assert "not make the design worse" in told.note and "worse" not in plain.note
