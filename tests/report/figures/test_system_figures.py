"""The one-line diagram and the monthly balance; a drawing's text stays text."""

import re

import numpy as np
import pytest
from matplotlib.text import Text

from darkspell.report.figures import balance, schematic
from darkspell.report.figures.style import look
from darkspell.report.figures.write import local_figure, save_page
from darkspell.report.results import read_results
from report.figures.made import a_study, lay_out

ARRAY = {"power_wp": 200, "tilt_deg": 45, "azimuth_deg": 180}
FULL = {
    "arrays": {
        "roof": ARRAY | {"module_voc_v": 22.0, "modules_in_series": 2},
        "arch": ARRAY | {"power_wp": 90, "own_controller": {"current_limit_a": 10}},
    },
    "site": {"name": "S", "latitude_deg": 50.0, "longitude_deg": 8.0, "record_low_temperature_c": -15},
    "controller": {"kind": "mppt", "current_limit_a": 30, "input_voltage_max_v": 60},
    "chargers": {
        "motor": {"kind": "alternator", "charger_a": 25, "label_a": 70, "hours_per_day": 1, "chance_of_use_pct": 50},
        "quay": {"kind": "shore", "charger_a": 15, "bypasses_shunt": True},
    },
    "loads": {
        "lamp": {"watts": 10, "count": 3, "hours_per_day": 4, "tier": "essential"},
        "mixer": {"watts": 300, "hours_per_day": 0.1, "tier": "deferrable", "supply": "ac"},
        "pump": {"watts": 40, "hours_per_day": 0.2, "tier": "uninterruptible", "bypasses_shunt": True},
    },
    "inverter": {"power_w": 600},
    "monitors": {"panel": {"kind": "shunt"}, "needle": {"kind": "gauge"}},
}  # fmt: skip


@pytest.fixture
def results(tmp_path):
    study = a_study(**FULL)
    return read_results(lay_out(tmp_path, study), study)


def words_of(page):
    return " ".join(text.get_text() for text in page.figure.findobj(Text))


def test_the_diagram_names_every_part_with_its_rating(results):
    with look():
        words = words_of(schematic.page(results)[0])
    for part in (
        "Roof", "200 Wp", "Arch", "90 Wp", "30 A, up to 60 V", "10 A", "Motor", "70 A", "25 A", "Quay", "15 A",
        "100 Ah at 12 V", "Inverter 600 W", "30 W", "300 W", "40 W", "Panel", "Needle", "main fuse",
    ):  # fmt: skip
        assert part in words, part
    # Two modules of 22 V, -0.28 %/K, 40 K below 25 degC: 44 V x 1.112 = 48.9 V (arithmetic)
    assert "49 V open" in words


def test_what_bypasses_the_shunt_is_drawn_past_it(results):
    study = results.study
    assert [source.kind for source in schematic.sources(study) if source.past] == ["shore"]
    assert [feeder.tier for feeder in schematic.feeders(study) if feeder.past] == ["uninterruptible"]


def test_largest_currents(results):
    """In: 25 A, 15 A and what the arrays push; out: 30, 300 / inverter and 40 W at once at the cut-off voltage."""
    amps_in, amps_out = schematic.currents(results.study)
    assert 25 + 15 < amps_in < 25 + 15 + 30 + 10
    assert 370 / results.study.bank.cutoff_voltage_v < amps_out < 450 / results.study.bank.cutoff_voltage_v


def test_the_balance_of_a_month(results):
    """December by hand: 10 kWh taken and none unused, 12 asked for, 31 days."""
    offered, unused, demand, unserved = (values[5] for values in balance.daily(results))
    np.testing.assert_allclose([offered, unused, demand], [10 / 31, 0.0, 12 / 31], atol=1e-12)
    assert unserved > 0
    assert "December" in balance.finding(results).title


def test_text_of_a_drawing_stays_text_with_title_and_description(results, tmp_path):
    with look():
        save_page(*schematic.page(results), tmp_path / "drawn")
    svg = (tmp_path / "drawn.svg").read_text(encoding="utf-8")
    assert re.search(r"<text[^>]*>Roof</text>", svg)
    assert svg.count("<title>") == 1 and svg.count("<desc>") == 1


def test_numbers_of_a_figure_follow_the_documents_language(results):
    """German writes a comma: labels on the axis as well as text; English keeps its points."""
    with look():
        figure = balance.page(results)[0].figure
        figure.axes[0].set_ylim(0, 2)  # ticks with decimals
        local_figure(figure, "de")
        figure.draw_without_rendering()
    axis = figure.axes[0].yaxis
    ticks = [label.get_text() for label in axis.get_majorticklabels()]
    assert any("," in text for text in ticks) and not any("." in text for text in ticks)
