import json
import re
from itertools import combinations
from xml.etree import ElementTree

import pandas as pd
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from darkspell.core.calendar import Calendar
from darkspell.report.figures import write_figures
from darkspell.report.figures.autonomy import days_at, months_of
from darkspell.report.figures.months import _weak
from darkspell.report.figures.style import look
from darkspell.report.figures.write import figures_of
from darkspell.report.results import read_results
from report.figures.made import STUDY, a_study, autonomy, lay_out, winter
from report.said import numbers

NAMES = [
    "schematic", "state_of_charge", "autonomy", "balance", "months", "sizing_map", "whatifs", "monitor_error",
]  # fmt: skip


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("study")
    study = a_study(document=STUDY["document"] | {"figure_pdfs": True})
    lay_out(folder, study)
    words = write_figures(folder, study, folder / "figures")
    return folder / "figures", words


def titles(tmp_path, study=None, names=NAMES, part="title", **how):
    """Titles of figures, or other words; each drawn once and coarsely; the formats have their own tests."""
    study = study or a_study()
    tables, said = read_results(lay_out(tmp_path, study, **how), study), {}
    with look():
        for name, make in figures_of(tables).items():
            if name in names:
                sheet, words = make(tables)
                sheet.figure.savefig(tmp_path / "drawn.png", dpi=40)
                said[name] = getattr(words, part).replace("\u00a0", " ")
    return said


def test_every_figure_in_every_format(written):
    out, words = written
    assert list(words) == NAMES
    for name in NAMES:
        assert (out / f"{name}.png").read_bytes().startswith(b"\x89PNG")
        assert (out / f"{name}.pdf").read_bytes().startswith(b"%PDF")
        assert "<svg" in (out / f"{name}.svg").read_text()
    assert len(list(out.iterdir())) == 3 * len(NAMES) + 1
    assert not list(out.parent.glob(".figures-*"))


def test_words_stand_beside_the_figures(written):
    out, words = written
    assert json.loads((out / "figures.json").read_text()) == words
    for found in words.values():
        assert all(len(found[part]) > 40 for part in ("title", "note", "caption", "alt"))
        assert "nan" not in " ".join(map(str, found.values()))


def test_width_is_160_mm(written):
    out, *_ = written
    points = 160 / 25.4 * 72
    for name in NAMES:
        width = float(re.search(r'width="([\d.]+)pt"', (out / f"{name}.svg").read_text()).group(1))
        assert width == pytest.approx(points, abs=0.01)  # the file's own last digits


def test_same_tables_give_the_same_svg(written, tmp_path, monkeypatch):
    monkeypatch.setattr("darkspell.report.figures.write.FORMATS", ("svg",))
    out, *_ = written
    study = a_study()
    write_figures(lay_out(tmp_path, study), study, tmp_path / "figures")
    for name in NAMES:
        assert (tmp_path / "figures" / f"{name}.svg").read_bytes() == (out / f"{name}.svg").read_bytes()


def test_a_name_may_hold_what_no_drawing_may(tmp_path):
    """A YAML text may hold any control character, an XML file may not; a parser of the library reads the file."""
    study = a_study()
    study = study.with_changes({"site.name": "tarn\x05\x83 hut"})
    write_figures(lay_out(tmp_path, study), study, tmp_path / "figures")
    for path in (tmp_path / "figures").glob("*.svg"):
        words = "".join(ElementTree.parse(path).getroot().itertext())
        assert not {"\x05", "\x83"} & set(words)
    assert "tarn hut" in "".join(ElementTree.parse(tmp_path / "figures" / "months.svg").getroot().itertext())


def test_titles_say_what_the_tables_say(written):
    """Hand-made tables: 54 % in December, one dawn in ten 20 points lower, 0.5 kWh (0.25 to 0.8) missing."""
    said = {name: found["title"].replace("\u00a0", " ") for name, found in written[1].items()}
    assert numbers(said["state_of_charge"]) == [34, 54] and "December" in said["state_of_charge"]
    # With sun 1 - 0.004 d: 0.9 after 25 days; bounds 0.01 off, 22 and 27. Dark 5 days in even months.
    assert numbers(said["autonomy"])[:3] == [25, 22, 27] and 5 in numbers(said["autonomy"])
    # In November and January 0.758 of it, in October and February 0.316, in September and March 0.06.
    assert said["months"].startswith(
        "Most unserved energy falls in October, November, December, January and February"
    )
    assert numbers(said["months"]) == [40]
    assert numbers(written[1]["months"]["alt"])[:3] == [500, 200, 800]
    # 40 000 / (Wp x Ah): at most 1 first at 200 Wp and 200 Ah or 300 Wp and 200 Ah (cost 800, 900).
    assert numbers(said["sizing_map"]) == [200, 200, 800, 1.0, 0.7, 1.4, 99]
    assert said["whatifs"].startswith("Bigger bank") and numbers(said["whatifs"]) == [2.0, 1.5, 2.6, 2, 1]
    assert numbers(said["monitor_error"])[:3] == [4.0, 3.5, 4.5]


def test_southern_year_begins_in_january(tmp_path):
    site = {"name": "South (invented)", "latitude_deg": -44.0, "longitude_deg": 170.0}
    assert "June" in titles(tmp_path, a_study(site=site), ["state_of_charge", "months"])["state_of_charge"]
    assert winter(Calendar(1)).argmax() == 5


def test_no_loss_of_load_at_all(tmp_path):
    said = titles(tmp_path, loss=0.0, scale=0.0, falls=0.0)
    assert numbers(said["months"])[0] == 200
    assert 60 in numbers(said["autonomy"])
    assert numbers(said["sizing_map"])[:3] == [100, 100, 400]


def test_certain_loss(tmp_path):
    study = a_study(target={"statistic": "lolh", "at_most": 5})
    given = {"loss": 40.0, "scale": 8760 * 6e4, "falls": 1.0, "spread": 200.0}
    assert numbers(titles(tmp_path, study, ["months"], "alt", **given)["months"])[:3] == [40, 20, 60]
    said = titles(tmp_path, study, **given)
    assert numbers(said["sizing_map"])[:4] == [6, 5, 300, 200]
    assert numbers(said["autonomy"])[0] == 0


def test_one_member_only(tmp_path):
    said = titles(tmp_path, n=1, spread=0.0, loss=0.0)
    assert numbers(said["state_of_charge"]) == [54] and "December" in said["state_of_charge"]
    assert numbers(said["months"])[0] == 1
    study = a_study()
    assert "A trial" in read_results(lay_out(tmp_path, study, n=1), study).scope
    assert "A trial" not in read_results(lay_out(tmp_path, study, n=200), study).scope


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        (
            {"no_lamp": (0.1, -0.2, 0.4)},
            "The one what-if does not differ clearly from the study in nights without essential power",
        ),
        ({"a": (0.1, -0.2, 0.4), "b": (0.0, 0.0, 0.0)}, "None of the 2 what-ifs differs clearly"),
        (
            {"old_bank": (2.0, 1.5, 2.6)},
            "Old bank changes nights without essential power most: 2.0 (1.5 to 2.6) more nights a year",
        ),
    ],
)
def test_one_whatif_or_luck_alone(tmp_path, changes, text):
    assert titles(tmp_path, names=["whatifs"], changes=changes)["whatifs"].startswith(text)


def test_no_whatif_no_figure_and_no_pdf_unasked(tmp_path):
    study, old = a_study(), tmp_path / "figures" / "whatifs.png"
    old.parent.mkdir()
    old.write_bytes(b"of an earlier run")
    words = write_figures(lay_out(tmp_path, study, changes={}), study, old.parent)
    assert list(words) == [name for name in NAMES if name != "whatifs"]
    assert not old.exists()
    assert {path.suffix for path in old.parent.iterdir()} == {".png", ".svg", ".json"}


@pytest.mark.parametrize("sizes", [([200], [100]), ([100, 200, 300], [100]), ([200], [100, 200])])
@pytest.mark.parametrize("at_most", [0, 5])
def test_grids_too_small_for_a_contour(tmp_path, sizes, at_most):
    prices = {"array_per_wp": 1, "bank_per_ah": 3}
    sections = {
        "sizing": {"array_wp": sizes[0], "bank_ah": sizes[1], "prices": prices},
        "target": {"statistic": "short_nights", "at_most": at_most},
    }
    said = titles(tmp_path, a_study(**sections), ["sizing_map"])["sizing_map"]
    assert said.startswith("The cheapest design on target" if at_most else ("The one", "None of"))


# 0.667 at 300 Wp and 200 Ah is the least of the grid: over 0.5, under 0.7.
@pytest.mark.parametrize(
    ("at_most", "text"), [(0.5, "None of 6 designs keeps to 0.5"), (0.7, "300 Wp and 200 Ah for €900")]
)
@pytest.mark.parametrize("statistic", ["lolp", "lolh", "eue_kwh"])
def test_other_targets(tmp_path, statistic, at_most, text):
    study = a_study(target={"statistic": statistic, "at_most": at_most})
    said = titles(tmp_path, study, ["sizing_map", "whatifs"])
    text = text.replace("0.5", "500 in 1000 hours") if statistic == "lolp" else text
    assert text in said["sizing_map"]
    assert said["whatifs"].startswith("Bigger bank helps most")


def test_nothing_is_cut_and_no_labels_meet(tmp_path):
    """Every text lies on the page, and no two texts of one figure overlap, measured by the renderer."""
    study = a_study()
    tables = read_results(lay_out(tmp_path, study), study)
    with look():
        for name, make in figures_of(tables).items():
            figure = make(tables)[0].figure
            canvas = FigureCanvasAgg(figure)
            canvas.draw()
            boxes = list(_text_boxes(figure, canvas.get_renderer()))
            page = figure.bbox
            for text, box in boxes:
                inside = page.x0 <= box.x0 and box.x1 <= page.x1 and page.y0 <= box.y0 and box.y1 <= page.y1
                assert inside, f"{name}: {text!r} is cut"
            for (one, a), (other, b) in combinations(boxes, 2):
                apart = a.x1 <= b.x0 or b.x1 <= a.x0 or a.y1 <= b.y0 or b.y1 <= a.y0
                assert apart, f"{name}: {one!r} and {other!r} meet"


def _text_boxes(figure, renderer):
    """Texts that are drawn, with the box of their ink, shrunk by a pixel for the rounding."""
    drawn = [text for text in figure.findobj(Text) if text.get_visible() and text.get_text().strip()]
    for text in drawn:
        axes = text.axes
        ticks = [] if axes is None else [*axes.get_xticklabels(which="both"), *axes.get_yticklabels()]
        if axes is not None and not axes.axison and text in ticks:
            continue
        box = text.get_window_extent(renderer)
        yield text.get_text(), box.padded(-1.5)


def test_months_without_a_loss_are_not_called_weak():
    """Two months with losses, ten without one whose interval is wide: only the two are named."""
    rows = pd.DataFrame({"mean": [0.0] * 5 + [5.0, 3.5] + [0.0] * 5, "place_high": 8.0}, index=range(1, 13))
    assert _weak(rows, 6) == "Most unserved energy falls in June and July"
    rows.loc[7, "mean"] = 0.5
    assert _weak(rows, 6) == "Most unserved energy falls in June"


def test_best_and_worst_start_months():
    table = autonomy(Calendar(7))
    assert months_of(table, "with_sun") == (12, 6)
    assert days_at(table, "with_sun", 12) == (25, 22, 27)
