"""English sentences of tables in another language."""

import re
from dataclasses import replace
from gettext import NullTranslations
from pathlib import Path
from types import SimpleNamespace

import pytest

from darkspell.climate import atlas, from_record
from darkspell.climate.few_years import CombinedMeans
from darkspell.core.messages import translated
from darkspell.monitor.settings_explanations import reasons
from darkspell.report.reworded import TEMPLATES, reworded
from darkspell.study import study_from
from study.example import spoilt


class Marked(NullTranslations):
    """A language that puts a star before every sentence, and keeps its words."""

    def gettext(self, message):
        return f"*{message}"


def settings(changes):
    """The study's shunt as set, and one with every value changed."""
    study = study_from(spoilt({"monitors.shunt": {"kind": "shunt"}} | changes), Path("x.yaml"))
    fitted = study.monitors["shunt"]
    return study, fitted, replace(fitted) if not hasattr(fitted, "model_copy") else fitted.model_copy()


@pytest.mark.parametrize(
    "text", ["", "A sentence that nobody knows.", "Exponent 1: no correction is wanted."]
)
def test_what_is_not_known_stays(text):
    with translated(Marked()):
        assert reworded(text) == text


def test_every_template_is_found_again_with_its_values():
    for template in TEMPLATES:
        names = re.findall(r"{(\w+)}", template)
        text = template.format(**{name: f"{at}.5" for at, name in enumerate(names)})
        with translated(Marked()):
            assert reworded(f"{text} {text}") == f"*{text} *{text}"


@pytest.mark.parametrize("health", [100, 80])
@pytest.mark.parametrize(
    "other", [None, (96.0, ((1.0, 0.0), (3.2, 14.0))), (100.0, ((1.0, 0.01), (3.2, 0.5)))]
)
def test_every_reason_of_the_setting_sheet_is_known(health, other):
    study, fitted, usual = settings({"bank.state_of_health_pct": health})
    said = reasons(study, fitted, usual, *(other or ()))
    assert len(said) == 7
    with translated(Marked()):
        for text in said.values():
            parts = re.split(r"(?<=[.])\s+(?=[A-Z])", text)
            assert reworded(text).count("*") == len(parts), text
            assert reworded(text).replace("*", "") == text


def test_every_note_of_the_atlas_is_known():
    means = SimpleNamespace(on_land=False, two_satellites=False)
    notes = atlas._notes(means, None)
    assert len(notes) == 4
    with translated(Marked()):
        assert [reworded(note) for note in notes] == [f"*{note}" for note in notes]
        assert reworded("built-in atlas at 47.2 N 13.6 E, land") == "*built-in atlas at 47.2 N 13.6 E, land"


def test_every_note_of_a_short_record_is_known():
    known = CombinedMeans(None, 0.05, 0.05, 0.6)
    notes = [*from_record._notes(1.0, known), from_record.SATELLITE_NOTE.format(4.0)]
    with translated(Marked()):
        assert [reworded(note).count("*") for note in notes] == [2, 3]
        assert [reworded(note).replace("*", "") for note in notes] == notes
