"""Curves of equal risk, remedies and ranked inputs, drawn and told from tables made by hand."""

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from darkspell.report.figures import (
    equal_risk,
    map_labels,
    remedies,
    sensitivity,
    target_units,
    uncertainty,
    whatifs,
)
from darkspell.report.figures.style import look
from darkspell.report.proposal.chapters import designs_remedies_sensitivity as choices
from darkspell.report.results import Results
from darkspell.study import study_from
from report.said import numbers
from study.example import spoilt

ARRAYS, BANKS = np.array([100.0, 200.0, 300.0]), np.array([50.0, 100.0, 150.0, 200.0])
INPUTS = {
    "bank": {"key": "bank.capacity_ah", "low": 80, "high": 120, "kind": "chosen"},
    "lamp": {"key": "loads.lamp.watts", "low": 5, "high": 15, "kind": "unknown"},
}

ALSO = {"dark": {"statistic": "dark_autonomy_days", "month": 12, "at_least": 3, "years_pct": 95}}


def grid():
    """Risk falls by e for each 20 Ah and each 200 Wp."""
    rows = pd.DataFrame([(a, b) for a in ARRAYS for b in BANKS], columns=["array_wp", "bank_ah"])
    rows["short_nights"] = 100 * np.exp(-rows["bank_ah"] / 20 - rows["array_wp"] / 200)
    rows["short_nights_low"], rows["short_nights_high"] = rows["short_nights"] / 2, 2 * rows["short_nights"]
    rows["chosen"] = (rows["array_wp"] == 200) & (rows["bank_ah"] == 100)
    return rows


def remedy_rows():
    """One that helps, one that is dear and not told apart, one without a price."""
    rows = [
        ("more_<b>", "{}", 50.0, -1.0, -1.5, -0.5, "real", 2.0),
        ("steeper", "{}", 0.0, 0.1, -0.2, 0.4, "not told apart", np.nan),
        ("hour_of_generator", "{}", np.nan, -0.5, -0.8, -0.2, "real", np.nan),
    ]
    names = ["remedy", "changes", "cost", "difference", "low", "high", "verdict", "saved_per_100"]
    return pd.DataFrame(rows, columns=names).assign(yearly_cost=[210.0, 180.0, np.nan])


def ranked():
    """The lamp moves most."""
    rows = [
        ("lamp", "loads.lamp.watts", "unknown", 5, 15, "eue_kwh", 3.0, 2.5, 3.5, 3.0, 0.2, 75.0),
        ("bank", "bank.capacity_ah", "chosen", 80, 120, "eue_kwh", 1.0, 0.5, 1.5, -1.0, 0.2, 25.0),
    ]
    names = "input key kind from to statistic effect effect_low effect_high mean_effect scatter share_pct"
    return pd.DataFrame(rows, columns=names.split())


def designs():
    """A chosen design that surely reaches its targets, and a cheaper one that does not."""
    rows = []
    for place, cost, values in (("chosen", 700.0, (0.5, 97.0)), ("cheaper", 600.0, (1.5, 91.0))):
        for name, value, wanted, share in zip(
            ("target", "dark"), values, (1.0, 95.0), (False, True), strict=True
        ):
            meets = value >= wanted if share else value <= wanted
            rows.append(
                (place, "pane", 4, "block", 2, np.nan, np.nan, np.nan, 400.0, 200.0, cost, 10.0, 900.0, 80.0, name,
                 "dark_autonomy_days" if share else "short_nights", value, value - 0.1, value + 0.1, wanted,
                 "least" if share else "most", share, meets, meets, meets, 12, 0)
            )  # fmt: skip
    from darkspell.design.catalogue_design import COLUMNS

    return pd.DataFrame(rows, columns=COLUMNS)


@pytest.mark.parametrize(("left", "words"), [(0, "Nothing on the list"), (9, "None of the designs tried")])
def test_an_empty_answer_says_how_far_the_search_went(tables, left, words):
    """Only a list searched to its end is said to hold nothing."""
    rows = designs()[lambda t: t["place"] == "cheaper"].assign(not_evaluated=left)
    section = choices.designs(SimpleNamespace(study=tables.study, table=lambda _: rows))
    assert section.heading.startswith(words)
    assert ("nine designs" in section.blocks[0].text) == bool(left)


def test_a_long_list_of_whatifs_shows_its_ends(tables):
    """Ten rows on the page, the others in the table; a saving of fuel is no price."""
    names = [f"bank_{n}p5" for n in range(45)]
    rows = pd.DataFrame({"whatif": names, "statistic": "short_nights", "difference": np.arange(45.0) - 30})
    rows = rows.assign(
        low=rows["difference"] - 0.5,
        high=rows["difference"] + 0.5,
        verdict="real",
        study_value=3.0,
        changes="{}",
    )
    rows = pd.concat([rows, rows.assign(statistic=whatifs.SECOND)], ignore_index=True)
    tables.whatifs = rows
    with look():
        sheet, words = whatifs.page(tables)
    shown = [label.get_text() for label in sheet.figure.axes[0].get_yticklabels()]
    assert len(shown) == 10 and shown[0] == "Bank 0.5" and shown[-1] == "Bank 44.5"
    assert "35 between" in words.caption and "45 what-ifs" in words.title
    assert remedies._price({"cost": -12.4, "saved_per_100": np.nan}) == "saves 12"


@pytest.fixture
def tables():
    """As figures and proposal take them."""
    study = study_from(spoilt({"sensitivity": {"inputs": INPUTS}, "target.additional": ALSO}))
    found = {"remedies": remedy_rows(), "sensitivity": ranked(), "catalogue_designs": designs()}
    return SimpleNamespace(
        study=study,
        scope="Somewhere.",
        place="Somewhere",
        sizing=grid(),
        table=found.get,
        captions={},
        figures=Path("."),
        summary={},
    )


def test_curves_lie_where_the_surface_says():
    """Between sizes the logarithm is read off a line: exact on an exponential; outside nothing is drawn."""
    banks = equal_risk.curve(grid(), "short_nights", 0.1)
    np.testing.assert_allclose(banks, 20 * (np.log(100 / 0.1) - ARRAYS / 200))
    assert np.isnan(equal_risk.curve(grid(), "short_nights", 99.0)).all()


def test_figures_are_drawn_and_say_what_they_show(tables):
    """Titles from the data."""
    with look():
        said = {
            room.__name__.rpartition(".")[2]: room.page(tables)[1]
            for room in (equal_risk, remedies, sensitivity)
        }
    assert equal_risk.drawable(tables)
    assert numbers(said["equal_risk"].title)[0] == 300
    assert "more <b>" in said["remedies"].title
    assert said["sensitivity"].title.startswith("Lamp") and 75 in numbers(said["sensitivity"].title)


def test_sections_say_it_too(tables):
    """The chosen design, the best buy and the strongest input head their sections."""
    section = choices.designs(tables)
    assert numbers(section.heading) == [4, 2, 700]
    assert "“Pane”" in section.heading and "“Block”" in section.heading
    assert "December" in section.blocks[0].text
    first, second = section.blocks[1].rows
    assert not any("*" in cell for cell in first) and sum("*" in cell for cell in second) == 2
    assert section.blocks[1].header[-2].startswith("Dark") and section.blocks[1].header[-1] == "Chance of all"
    assert {3, 95} <= set(numbers(section.blocks[1].note)) and "December" in section.blocks[1].note
    section = choices.remedies(tables)
    assert "more <b>" in section.heading
    yearly = [row[-2] for row in section.blocks[-1].rows]
    assert numbers(yearly[0]) == [210] and numbers(yearly[1]) == [180] and yearly[2] == "not listed"
    cells = [row[-1] for row in section.blocks[-1].rows]
    assert float(cells[0].split()[0]) == 2 and cells[1:] == ["−", "−"]
    assert "“Lamp”" in choices.sensitivity(tables).heading


def test_the_doubt_is_drawn_from_its_table():
    """The title has the target's own parts; rows without a number are left out."""
    row = dict(value=1.0, place_low=0.2, place_high=4.0, place_share_sampling=0.1, place_share_climate=0.6,
    place_share_loads=0.2, place_share_bank=0.1,
               year_share_weather=0.6, year_share_climate=0.3, year_share_loads=0.1, year_share_bank=0.0,
               next_low=0.5, next_high=2.0, next_source="measured")  # fmt: skip
    rows = pd.DataFrame([row | {"figure": "short_nights"}, row | {"figure": "lolh", "place_low": np.nan}])
    tables = SimpleNamespace(
        table=lambda _: rows, study=study_from(spoilt({})), scope="Somewhere; 100 years."
    )
    assert list(uncertainty.told(tables).index) == ["short_nights"]
    with look():
        sheet, words = uncertainty.page(tables)
    assert words.title.startswith(
        "60\u00a0% of the uncertainty of the nights without essential power comes from the climate source, 20"
    )
    widths = np.array([patch.get_width() for patch in sheet.figure.axes[0].patches]).reshape(2, 5)
    # Loads, climate, bank, weather, years: of the average, and of one year.
    np.testing.assert_allclose(widths, [[0.2, 0.6, 0.1, 0.0, 0.1], [0.1, 0.3, 0.0, 0.6, 0.0]])
    rows["place_share_climate"] = np.nan
    assert not uncertainty.drawable(tables)


def test_labels_of_a_map_keep_clear_of_one_another_and_of_the_frame():
    """Marks in corners, at one height, side by side: no label leaves the frame or meets another."""
    from matplotlib.figure import Figure

    for places in ([(700, 100), (900, 100)], [(1590, 590)], [(210, 5), (1590, 5)], [(800, 300), (820, 310)]):
        ax = Figure(figsize=(6, 4)).add_axes((0.1, 0.1, 0.8, 0.8))
        ax.set(xlim=(200, 1600), ylim=(0, 600))
        line = np.array([[200.0, 550.0], [1600.0, 50.0]])
        taken = map_labels.name_marks(ax, [(*at, "cheapest that\nmeets the target") for at in places], [line])
        written = map_labels.name_lines(ax, [(line, "80 %", True), (line + 40, "2400", False)], taken)
        assert written[0] == "80 %" and len(taken) == 2 * len(places) + len(written)
        assert not any(map_labels.meet(one, other) for n, one in enumerate(taken) for other in taken[:n]
                       if other not in taken[: len(places)] or one not in taken[: len(places)])  # fmt: skip
        wide, high = ax.bbox.size / ax.figure.dpi * 25.4
        labels = np.array(taken[len(places) :])
        assert labels[:, :2].min() >= 0 and (labels[:, 2] <= wide).all() and (labels[:, 3] <= high).all()


def test_a_share_of_hours_is_drawn_in_thousandths():
    """At most one hour in a thousand, as the tables have it; other targets stay as they are."""
    study = study_from(spoilt({"target": {"statistic": "lolp", "at_most": 0.001}}))
    sizing = pd.DataFrame(
        {"array_wp": [100], "lolp": [0.00004], "lolp_low": [0.0], "lolp_high": [0.005], "lolh": [0.35]}
    )
    entry = {"value": 0.00004, "mean": 0.0001, "place_low": 0.0, "place_high": 0.005}
    made = Results(study, None, "", *[sizing] * 6, summary={"lolp": entry}, figures=Path("."), captions={})
    found = target_units.per_thousand(made)
    assert found.sizing.iloc[0].to_dict() == pytest.approx(
        {"array_wp": 100, "lolp": 0.04, "lolp_low": 0.0, "lolp_high": 5.0, "lolh": 0.35}
    )
    assert found.study.target.at_most == 1.0 and found.summary["lolp"]["place_high"] == 5.0
    own = replace(made, study=study_from(spoilt({})))
    assert target_units.per_thousand(own) is own


def test_a_target_on_the_share_of_hours_reads_the_same_in_every_table():
    """Of 1000 hours in the table of whole pieces, as on page 1 and in the map."""
    row = {"requirement": "target", "statistic": "lolp", "limit": 0.001, "meets": False}
    row |= {"value": 0.0014, "low": 0.0002, "high": 0.02}
    assert choices._reached(row) == "1.4 (0.2 to 20) *"
    assert choices._heading_of(row, {}).endswith("in 1000 hours: at most 1")
