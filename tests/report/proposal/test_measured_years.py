"""What the page says of measured years, on tables made by hand."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from darkspell.report.document.tree import Table
from darkspell.report.figures import measured_years as replay
from darkspell.report.figures.style import look
from darkspell.report.proposal.chapters import measured_years as replayed
from darkspell.report.tables.measured_comparison import KEYS
from report.said import numbers


def tables(measured, verdict, loss=True):
    """Twenty measured years and a thousand synthetic ones; one year left out."""
    years = pd.DataFrame({"year": [f"{y}/{(y + 1) % 100:02d}" for y in range(1980, 2000)], "run": "yes"})
    years["days_missing"] = [3] + [0] * 19
    years["lolh"] = measured * np.arange(20) / 10 if loss else 0.0
    years["longest_event_h"], years["max_depth_true_pct"] = np.arange(20.0), np.linspace(40, 70, 20)
    left = pd.DataFrame({"year": ["2000/01"], "run": "no", "days_missing": [40]})
    ramp = np.linspace(0, 2, 1000)
    members = pd.DataFrame({"lolh": 100 * ramp * loss, "longest_event_h": 10 * ramp})
    members["max_depth_true_pct"] = 40 + 15 * ramp
    row = {"unit": "-", "difference": 1.0, "difference_low": -1.0, "difference_high": 3.0, "verdict": verdict}
    for kind, value in (("measured", measured), ("simulated", 100.0)):
        row |= {kind: value, f"{kind}_low": 0.8 * value, f"{kind}_high": 1.3 * value}
    comparison = pd.DataFrame([{"statistic": key, **row} for key in KEYS])
    return SimpleNamespace(
        measured_years=pd.concat([years, left], ignore_index=True), members=members, measured_comparison=comparison,
        scope="Somewhere; 1000 synthetic years.", captions={}, figures=None,
    )  # fmt: skip


@pytest.mark.parametrize(
    "measured, verdict, heading, title",
    [(95.0, "same", "simulated years agree", "agree: "), (300.0, "differ", "do not agree", "lose more than")],
)
def test_heading_and_title_say_the_finding(tmp_path, measured, verdict, heading, title):
    made = tables(measured, verdict)
    section = replayed.section(SimpleNamespace(**vars(made) | {"figures": tmp_path}))
    assert heading in section.heading
    table = next(block for block in section.blocks if isinstance(block, Table))
    assert len(table.rows) == len(replayed.ROWS)
    note = section.blocks[-1].text
    assert "Three" in note and "2000/01" in note and 40 in numbers(note)
    with look():
        sheet, words = replay.page(made)
        sheet.figure.savefig(tmp_path / "drawn.png", dpi=40)
    assert title in words.title and 20 in numbers(words.title)
    assert "1999/00 with" in words.alt


# A system that loses next to nothing is judged by its deepest discharge, or the second panel would be empty.
def test_without_losses_the_second_panel_is_depth():
    with look():
        for loss, label in ((True, replay.LONGEST[1]), (False, replay.DEPTH[1])):
            sheet, _ = replay.page(tables(50.0, "same", loss))
            assert sheet.figure.axes[1].get_xlabel() == label


def test_no_record_no_section():
    assert not replayed.there(SimpleNamespace(measured_years=None))
    assert not replayed.there(
        SimpleNamespace(measured_years=pd.DataFrame(), measured_comparison=pd.DataFrame())
    )


# Of 20 years drawn from 0..200 the greatest lies above 160 nearly always: (0.8^20 = 1 %).
def test_band_of_so_many_years():
    low, high = replay.band(np.linspace(0, 200, 1001), 20)
    assert low[-1] > 155 and high[-1] > 195 and high[0] < 45


def test_a_number_whose_digits_stand_in_a_bound_keeps_its_interval():
    """6 is no end of 0.1 to 26, though its digit is in it."""
    row = {"measured": 6.0, "measured_low": 0.1, "measured_high": 26.0}
    assert replayed._known(row, "measured", 1.0) == "6 (0.1 to 26)"
