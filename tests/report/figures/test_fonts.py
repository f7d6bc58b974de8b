"""Letters that the figures' own font lacks are drawn with a font of the machine."""

import warnings
from io import BytesIO

import pytest

from darkspell.report.figures.fonts import families_for
from darkspell.report.figures.style import look


def drawn(text, families):
    """Warnings of a picture with a text."""
    from matplotlib.figure import Figure

    with look(families=families), warnings.catch_warnings(record=True) as said:
        warnings.simplefilter("always")
        figure = Figure(figsize=(2, 1))
        figure.text(0.1, 0.5, text)
        figure.savefig(BytesIO(), format="png", dpi=40)
    return [one for one in said if "missing from font" in str(one.message)]


def test_letters_of_the_own_font_need_no_other():
    assert families_for("Hütte am See, −3 °C, 95\u00a0%\nхижина\tκαλύβα") == []


def test_letters_that_no_font_has_bring_none():
    assert families_for("\ue123\U000f1234") == []


def test_letters_of_another_script_are_drawn_where_the_machine_has_a_font():
    name = "山小屋"
    families = families_for(name)
    if not families:
        pytest.skip("no font of this machine has these letters")
    assert drawn(name, []) and not drawn(name, families)
