"""What a run would refuse after minutes is refused before it; pictures that cannot be used are warned of."""

from pathlib import Path

import pytest
import yaml

from darkspell.cli.main import main
from darkspell.core.errors import StudyError
from darkspell.pipeline.preflight import preflight
from darkspell.report.document.images import usable_logo
from darkspell.report.figures.style import look
from darkspell.study import study_from
from study.example import spoilt

PIECES = {
    "modules": {"pane": {"power_wp": 100, "price": 90}},
    "blocks": {"case": {"capacity_ah": 100, "nominal_voltage_v": 12, "price": 200}},
}


def made(folder, changes):
    """A study in a folder of its own."""
    return study_from(spoilt(changes), "test", Path(folder))


def picture(path, size):
    """A PNG of random grey, cut off after `size` bytes."""
    import numpy as np
    from PIL import Image

    Image.fromarray(np.random.default_rng(1).integers(0, 255, (64, 64), np.uint8)).save(path)
    path.write_bytes(path.read_bytes()[:size])


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (
            {"whatifs": {"away": {"climate": {"source": "typical_year", "file": "torn.epw"}}}},
            ("whatifs.away", "torn.epw", "neither EPW"),
        ),
        (
            {"sizing.catalogue": PIECES | {"blocks": {"b": {"capacity_ah": 9, "nominal_voltage_v": 24, "price": 1}}}},
            ("sizing.catalogue.blocks", "12 V"),
        ),
        (
            {"sizing.catalogue": PIECES | {"modules": {"m": {
                "power_wp": 100, "price": 1, "modules_per_string": 9, "max_count": 2}}}},
            ("sizing.catalogue", "no string fits"),
        ),
    ],
)  # fmt: skip
def test_what_a_run_would_refuse_is_refused_before(tmp_path, changes, words, capsys):
    """By the check and by the run alike, in one message, and nothing is begun."""
    (tmp_path / "torn.epw").write_text("torn\n", encoding="utf-8")
    with pytest.raises(StudyError) as fault:
        preflight(made(tmp_path, changes))
    assert all(word in str(fault.value) for word in words)
    path = tmp_path / "mine.yaml"
    path.write_text(yaml.safe_dump(spoilt(changes)), encoding="utf-8")
    for command in ("check", "run"):
        assert main([command, str(path)]) == 1
        printed = capsys.readouterr().err
        assert all(word in printed for word in words) and "Traceback" not in printed


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"bank.capacity_ah": 0.001}, "bank.capacity_ah"),
        ({"sizing.bank_ah": [0.001, 5]}, "sizing.bank_ah"),
        ({"sizing.catalogue": PIECES | {"tilts_deg": [-194]}}, "tilts_deg"),
        ({"sizing.catalogue": PIECES | {"azimuths_deg": [-20]}}, "azimuths_deg"),
    ],
)
def test_numbers_that_no_system_has(tmp_path, changes, word):
    """Bounds where a division or a direction would fail."""
    with pytest.raises(StudyError, match=word):
        made(tmp_path, changes)


def test_a_logo_cut_short_is_a_warning(tmp_path):
    """The document goes without it; a whole one is used."""
    picture(tmp_path / "logo.png", 900)
    (warning,) = preflight(made(tmp_path, {"document.logo": "logo.png"}))
    assert "document.logo" in warning and "left out" in warning
    assert usable_logo(tmp_path / "logo.png") is None
    picture(tmp_path / "logo.png", None)
    assert preflight(made(tmp_path, {"document.logo": "logo.png"})) == []
    assert usable_logo(tmp_path / "logo.png") == tmp_path / "logo.png"


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        (b"lines.linewidth: 3\n", False),
        (b"text.usetex: True\nlines.linewidth: 3\n", False),
        (b"\xff\xfe\x00", True),
        (b"no style at all", True),
    ],
)
def test_a_figure_style_is_used_or_warned_of(tmp_path, content, fault):
    """One that asks for LaTeX is used without it; drawing works in any case."""
    from matplotlib import rcParams

    path = tmp_path / "own.mplstyle"
    path.write_bytes(content)
    warnings = preflight(made(tmp_path, {"document.figure_style": "own.mplstyle"}))
    assert len(warnings) == fault and all("document.figure_style" in warning for warning in warnings)
    with look(path):
        assert rcParams["text.usetex"] is False
        assert (rcParams["lines.linewidth"] == 3) is not fault
