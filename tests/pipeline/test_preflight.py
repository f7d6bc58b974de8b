"""What a run would refuse after minutes is refused before it; pictures that cannot be used are warned of."""

from pathlib import Path

import numpy as np
import pytest
import yaml

from darkspell.cli.main import main
from darkspell.core.calendar import Calendar
from darkspell.core.errors import StudyError
from darkspell.log_analysis.weather import known_weather
from darkspell.pipeline.preflight import preflight
from darkspell.report.document.images import usable_logo
from darkspell.report.figures.style import look
from darkspell.study import study_from
from darkspell.study.thousands import doubtful_numbers
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


def test_a_record_without_a_year_to_replay_is_refused_before(tmp_path):
    """Two years of days but July: the check answers once the cure of its message is followed."""
    dates = np.arange(np.datetime64("2001-01-01"), np.datetime64("2003-01-01"))
    kept = dates[dates.astype("datetime64[M]").astype(int) % 12 != 6]
    values = np.random.default_rng(1).uniform(0.8, 1.2, kept.size)
    rows = [f"{date},{value:.3f}" for date, value in zip(kept, values, strict=True)]
    (tmp_path / "days.csv").write_text("\n".join(["date,ghi", *rows]), encoding="utf-8")
    series = {"step": "daily", "time_columns": ["date"], "ghi_column": "ghi", "ghi_unit": "kWh/m2"}
    climate = {"source": "measured", "file": "days.csv", "series": series}
    with pytest.raises(StudyError, match="too few days of July.*climate.replay: false"):
        preflight(made(tmp_path, {"climate": climate}))
    assert preflight(made(tmp_path, {"climate": climate | {"replay": False}})) == []


HOURS = {
    "torn": "watts\n1\nx\n", "below": "watts\n" + "-1\n" * 24, "month": "watts\n" + "1\n" * 24 * 30,
    "whole": "watts\n" + "1\n" * 8760, "part": "watts\n" + "1\n" * 100, "empty": "",
}  # fmt: skip
LOAD, TURBINE = {"tier": "essential"}, {"kind": "turbine"}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        # Files of hours, of the study and of a what-if.
        ({"measured_loads.m": LOAD | {"file": "torn.csv"}}, ("measured_loads.m.file", "row 3", "no power")),
        ({"measured_loads.m": LOAD | {"file": "below.csv"}}, ("measured_loads.m.file", "'-1'", "give watts from 0")),
        ({"measured_loads.m": LOAD | {"file": "part.csv"}}, ("measured_loads.m.file", "100 hours", "whole days")),
        ({"measured_loads.m": LOAD | {"file": "empty.csv"}}, ("measured_loads.m.file", "0 hours", "whole days")),
        ({"chargers.t": TURBINE | {"file": "torn.csv"}}, ("chargers.t.file", "row 3", "no power")),
        ({"chargers.t": TURBINE | {"file": "month.csv"}}, ("chargers.t.file", "30 days", "whole years")),
        (
            {"chargers.t": TURBINE | {"file": "whole.csv"}, "whatifs": {"w": {"chargers.t.file": "torn.csv"}}},
            ("whatifs.w", "chargers.t.file", "row 3"),
        ),
        (
            {"measured_loads.m": LOAD | {"file": "whole.csv"},
             "whatifs": {"w": {"measured_loads.m.file": "part.csv"}}},
            ("whatifs.w", "measured_loads.m.file", "100 hours"),
        ),
        (
            {"chargers.t": TURBINE | {"file": "whole.csv"}, "whatifs": {"w": {"chargers.t.file": "no.csv"}}},
            ("whatifs.w", "no.csv", "does not exist"),
        ),
        # Texts of the proposal, which is written last.
        ({"document.texts": {"before_size": "latin.md"}}, ("document.texts.before_size", "latin.md", "UTF-8")),
        ({"document.texts": {"before_size": "long.md"}}, ("document.texts.before_size", "long.md", "shorten it")),
        ({"document.texts": {"before_nothing": "latin.md"}}, ("document.texts", "nothing", "no section")),
        ({"document.terms": "latin.md"}, ("document.terms", "latin.md", "UTF-8")),
        ({"document.terms": "folder.md"}, ("document.terms", "folder.md", "does not exist")),
        # The climate itself, and what takes the monitor away.
        ({"climate": {"source": "typical_year", "file": "torn.csv"}}, ("torn.csv", "neither EPW")),
        (
            {"climate": {"source": "monthly", "sunshine_hours": [700] * 12, "temp_air_c": [8] * 12}},
            ("sunshine_hours", "700"),
        ),
        ({"whatifs": {"w": {"monitors": {"m": {"kind": "gauge"}}}}}, ("whatifs.w", "no shunt")),
    ],
)  # fmt: skip
def test_further_late_failures_are_refused_before_the_run(tmp_path, changes, words, capsys):
    """One message of one line from the command that would run, and nothing is begun."""
    for name, text in HOURS.items():
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
    (tmp_path / "latin.md").write_bytes("é".encode("latin-1"))
    (tmp_path / "long.md").write_bytes(b"x" * 3_000_000)
    (tmp_path / "folder.md").mkdir()
    path = tmp_path / "mine.yaml"
    path.write_text(yaml.safe_dump(spoilt(changes)), encoding="utf-8")
    assert main(["run", str(path)]) == 1
    printed = capsys.readouterr().err
    assert all(word in printed for word in words) and len(printed.splitlines()) == 1, printed
    assert not Path("results", "mine").exists()


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
        (b"savefig.dpi: 100000\nfigure.dpi: 100000\nlines.linewidth: 3\n", False),
        (b"figure.figsize: 1000, 1000\nlines.linewidth: 3\n", False),
        (b"lines.dashed_pattern: 0, 0\nlines.linewidth: 3\n", False),
        (b"axes.prop_cycle: cycler('color', [])\n", True),
        (b"font.size: 100000\n", True),
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
        assert rcParams["text.usetex"] is False and rcParams["savefig.dpi"] != 100000
        assert sum(rcParams["lines.dashed_pattern"]) > 0 and max(rcParams["figure.figsize"]) < 50
        assert (rcParams["lines.linewidth"] == 3) is not fault


def test_numbers_that_may_have_a_mark_between_thousands_are_said_with_both_readings(
    tmp_path, monkeypatch, capsys
):
    """Sizes and prices to a thousandth; not rates, decimals that begin with 0, other decimals, or quoted text."""
    monkeypatch.chdir(tmp_path)
    study = spoilt({
        "sizing.prices.fixed": 7001, "sizing.prices.array_per_wp": 7002, "bank.capacity_ah": 7003,
        "whatifs": {"more": {"bank.capacity_ah": 7004}}, "sizing.bank_ah": [7005, 7006],
    })  # fmt: skip
    text = yaml.safe_dump(study)
    for mark, written in zip(
        range(7001, 7007), ("1.200", "1.250", "1.050", "2.400", "1.100", "200.5"), strict=True
    ):
        text = text.replace(str(mark), written)
    Path("mine.yaml").write_text(text, encoding="utf-8")
    found = doubtful_numbers(text)
    assert [one.partition(":")[0] for one in found] == [
        "bank.capacity_ah", "sizing.bank_ah", "sizing.prices.fixed", "whatifs.more.bank.capacity_ah",
    ]  # fmt: skip
    assert (
        "1.050 (line " in found[0] and "is read as 1.05 Ah; write 1050 if 1050 is meant, or 1.05" in found[0]
    )
    (watts,) = doubtful_numbers("loads: {a: {watts: 4.125}, b: {watts: 0.250}, c: {watts: 1.500}}")
    assert watts.startswith("loads.c.watts: 1.500")
    main(["check", "mine.yaml"])
    assert "sizing.prices.fixed: 1.200" in capsys.readouterr().err
    for file in (Path(__file__).parents[2] / "config").glob("*.yaml"):
        assert doubtful_numbers(file.read_text(encoding="utf-8")) == [], file.name


def test_missing_weather_of_a_log_is_said_with_the_folder_that_was_searched(tmp_path):
    """By check as a warning, since only compare needs it; by compare as an error."""
    changes = {"log": {
        "weather_file": "sun.csv",
        "weather_series": {"step": "hourly", "time_columns": ["time"], "ghi_unit": "W/m2"},
    }}  # fmt: skip
    study = made(tmp_path, changes)
    (warning,) = preflight(study)
    assert f'"sun.csv" is not in {tmp_path.resolve()}, the folder of the study file' in warning
    assert "compare needs it" in warning
    with pytest.raises(StudyError, match="the folder of the study file"):
        known_weather(study, Calendar(1), np.arange("2025-01-01", "2025-02-01", dtype="datetime64[D]"))
    (tmp_path / "sun.csv").touch()
    assert preflight(study) == []
