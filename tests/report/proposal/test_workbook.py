"""The workbook of a study, opened again: heads, number formats, filters, print areas, loads and price."""

from io import BytesIO
from pathlib import Path
from types import SimpleNamespace

import openpyxl
import pandas as pd
import pytest

from darkspell.core.table_reader import read_table
from darkspell.report.tables.registry import TABLES
from darkspell.report.workbook import front, workbook
from darkspell.report.workbook.digits import decimals_of, number_format
from darkspell.report.workbook.front import front_sheets
from darkspell.study import study_from
from study.example import spoilt

WORDS, UNITS, NAMES, FIRST = 1, 2, 3, 4
BILL = {
    "lines": {"work": {"description": "Work", "kind": "labour", "quantity": 3, "unit": "h", "unit_price": 50}}
}


def opened(tables, about=None, front=None):
    about = about or study_from(spoilt({"document.currency": "CHF"}), Path("x.yaml")).document
    return openpyxl.load_workbook(BytesIO(workbook(tables, about, front)))


@pytest.fixture(scope="module")
def sizing():
    """Three designs, one of them without a price."""
    return pd.DataFrame(
        {
            "array_wp": [100.0, 200.0, 300.0],
            "bank_ah": [50.0, 51.25, 60.0],
            "lolp": [0.012345, 0.00234567, 0.000456789],
            "cost": [1234.5, 2000.0, None],
            "meets_target": [True, False, True],
        }
    )


def test_each_column_says_in_words_what_it_is_and_keeps_its_name(sizing):
    sheet = opened({"sizing": sizing})["sizing"]
    said = {one.key: one for one in TABLES["sizing"].columns}
    for column in sheet.iter_cols(min_row=WORDS, max_row=NAMES, values_only=True):
        words, _unit, name = column
        assert words.lower() == said[name].words.lower().replace("`", "")
    assert [cell.value for cell in sheet[UNITS]][:4] == ["Wp", "Ah", "-", "CHF"]


def test_numbers_have_formats_that_show_their_digits(sizing):
    sheet = opened({"sizing": sizing})["sizing"]
    shapes = [sheet.cell(FIRST, at).number_format for at in range(1, 5)]
    assert shapes == ["#,##0", "#,##0.0", "#,##0.00000", "#,##0.00"]
    assert sheet.cell(FIRST, 5).value is True and sheet.cell(FIRST + 2, 4).value is None
    assert sheet.cell(FIRST + 1, 3).value == 0.00234567  # the format rounds what is shown, not the value


def test_rows_of_different_units_have_digits_of_their_own():
    rows = [("short_nights", "nights/year", 0.0266, 0.0003), ("demand_kwh", "kWh/year", 252.1, 203.1)]
    table = pd.DataFrame(rows, columns=["figure", "unit", "value", "place_low"])
    sheet = opened({"uncertainty": table})["uncertainty"]
    assert sheet.cell(FIRST, 3).number_format == "#,##0.0000"
    assert sheet.cell(FIRST + 1, 3).number_format == "#,##0"


@pytest.mark.parametrize(
    ("values", "decimals"),
    [([0.5, 1.5], 1), ([10, 20], 0), ([0.0266], 4), ([252.1, 300.2], 0), ([0, 0], 0), ([], 0), ([1e-9], 6)],
)
def test_decimals_give_three_digits_and_no_idle_zeros(values, decimals):
    assert decimals_of(values) == decimals


def test_a_year_has_no_mark_between_its_thousands():
    assert number_format([2003, 2004], "year") == "0"
    assert number_format([2003, 2004], "Wh") == "#,##0"


def test_heads_stay_in_view_and_on_every_page_and_rows_can_be_filtered(sizing):
    sheet = opened({"sizing": sizing})["sizing"]
    assert sheet.freeze_panes == f"B{FIRST}"
    assert sheet.auto_filter.ref == f"A{NAMES}:E{NAMES + 3}"
    assert sheet.print_title_rows == f"$1:${NAMES}" and sheet.print_title_cols == "$A:$A"
    assert sheet.page_setup.orientation == "landscape" and sheet.page_setup.fitToHeight == 0


def test_a_long_table_prints_its_first_rows_only(sizing):
    long = pd.concat([sizing] * 100, ignore_index=True)
    book = opened({"sizing": long})
    assert book["sizing"].print_area.endswith(f"$E${NAMES + 40}") and book["sizing"].max_row == NAMES + 300
    notes = [row[1] for row in book["Notes"].iter_rows(values_only=True)]
    assert any(text and "Prints its first 40 rows." in text for text in notes)


def test_a_wide_table_folds_what_few_need_and_prints_on_three_pages_across(make_results):
    """Forty statistics of six columns each: estimate and interval stay, means, sampling and years are folded."""
    ends = ("", "_low", "_high", "_mean", "_simulation_low", "_year_high")
    table = pd.DataFrame({f"statistic_number_{n}{end}": [1.5] for n in range(40) for end in ends})
    book = opened({"sizing": table}, make_results([0], {"document.paper": "letter"}).study.document)
    sheet = book["sizing"]
    widths = [column for column in sheet.column_dimensions.values() if column.hidden]
    hidden = {at for column in widths for at in range(column.min, column.max + 1)}
    shown = [cell.value.partition("_number_")[2] for cell in sheet[NAMES] if cell.column not in hidden]
    assert {name.lstrip("0123456789") for name in shown} == {"", "_low", "_high"} and len(shown) == 120
    assert sheet.page_setup.fitToWidth == 3 and sheet.page_setup.paperSize == 1
    printed = sheet[sheet.print_area.replace("$", "").partition("!")[2] or sheet.print_area.replace("$", "")]
    assert len(printed[0]) < len(table.columns)
    assert any(f"Prints its first {len(printed[0])} columns." in str(row[1]) for row in book["Notes"].values)


def test_a_number_that_is_infinite_is_a_word():
    sheet = opened({"sizing": pd.DataFrame({"cost": [float("inf"), 1.0]})})["sizing"]
    assert sheet.cell(FIRST, 1).value == "infinite"


def test_loads_add_up_to_what_the_study_says(make_results):
    """Lamp 10 W x 4 h and radio 5 W x 10 h every day, and the standing draw: by hand."""
    results = make_results([0, 0, 1])
    table, heads = front_sheets(results)["Loads"]
    assert len(heads) == len(table.columns)
    energy = table.set_index("load")["jan"]
    standing = results.study.self_consumption_w * 24
    assert energy["Lamp"] == 40 and energy["Radio"] == 50
    assert energy["All"] == 40 + 50 + standing
    year = table.set_index("load")["year_kwh"]
    assert year["All"] == pytest.approx((90 + standing) * 365 / 1000)


def test_price_and_summary_are_sheets_in_front(make_results):
    results = make_results([0, 0, 1], {"document.bill": BILL})
    front = front_sheets(results)
    sheet = opened({}, results.study.document, front)["Price"]
    rows = {row[0]: row for row in sheet.iter_rows(min_row=FIRST, values_only=True)}
    assert rows["Work"][2:6] == (3, "h", 50, 150)
    lines = [row[5] for row in rows.values() if row[1] in ("material", "labour")]
    assert rows["Total"][5] == sum(lines)
    assert sheet.cell(FIRST, 6).number_format == "#,##0.00"
    summary = opened({}, results.study.document, front)["Summary"]
    named = {row[0]: row for row in summary.iter_rows(min_row=FIRST, values_only=True)}
    nights = named["Nights without essential power"]
    assert nights[2] == results.summary["short_nights"]["value"]


def test_nothing_typed_becomes_a_formula_in_the_front_sheets(make_results):
    lines = {"x": {"description": "=1+1", "quantity": 1, "unit": "=2", "unit_price": 1}}
    results = make_results([0, 1], {"document.bill": {"lines": lines}})
    sheet = opened({}, results.study.document, front_sheets(results))["Price"]
    cells = [cell for row in sheet.iter_rows() for cell in row if cell.value in ("=1+1", "=2")]
    assert len(cells) == 2 and {cell.data_type for cell in cells} == {"s"}


def test_a_table_of_a_study_comes_back_as_it_is(tmp_path, sizing):
    """Every value of the file is in the workbook, to the last digit."""
    sizing.to_csv(tmp_path / "sizing.csv", index=False)
    written = read_table(tmp_path / "sizing.csv")
    sheet = opened({"sizing": written})["sizing"]
    read = pd.DataFrame(
        sheet.iter_rows(min_row=FIRST, values_only=True), columns=[cell.value for cell in sheet[NAMES]]
    )
    pd.testing.assert_frame_equal(read, written, check_dtype=False)


@pytest.mark.parametrize(
    ("own", "more", "what"),
    [(True, {}, "the target"), (True, {"dark": 1}, "every target"), (False, {"dark": 1}, "the")],
)
def test_the_notes_say_which_targets_the_chance_is_of(monkeypatch, own, more, what):
    """Of the study's own design all targets together are known, of others the first."""
    monkeypatch.setattr(front, "choose", lambda _results: (SimpleNamespace(chance=0.912, is_own=own), None))
    monkeypatch.setattr(front, "recommendation", lambda _results, _offer: "")
    results = SimpleNamespace(study=SimpleNamespace(target=SimpleNamespace(additional=more)))
    assert dict(front.said(results))["Chance"].startswith(f"about 91 % that this site meets {what}")
