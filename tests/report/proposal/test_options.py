"""Several studies in one proposal, own texts, the workbook, numbers of other languages."""

import re
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import docx as word_reader
import numpy as np
import openpyxl
import pandas as pd
import pypdf
import pytest

from darkspell.core.errors import StudyError
from darkspell.report.document.custom_text import blocks_of
from darkspell.report.document.document import Document
from darkspell.report.document.docx import docx
from darkspell.report.document.html import html
from darkspell.report.document.localization import local_date
from darkspell.report.document.number_texts import local_number
from darkspell.report.document.pdf import pdf
from darkspell.report.document.tree import Box, Listing, Paragraph, Section, Subheading, Table, Verbatim
from darkspell.report.proposal import annex, proposal
from darkspell.report.proposal.options import options
from darkspell.report.tables.registry import TABLES
from darkspell.report.workbook import workbook
from darkspell.study import study_from
from darkspell.study.section_names import SECTIONS as NAMES
from study.example import spoilt

OFTEN = np.tile([0, 2, 5, 1, 3], 40)
SELDOM = np.tile([0] * 19 + [1], 10)


def test_options_stand_side_by_side_and_only_a_real_difference_is_claimed(make_results):
    many = [
        make_results(OFTEN, {"document.title": "Small"}),
        make_results(SELDOM, {"document.title": "Large"}),
    ]
    made = options(many)
    texts = list(made.texts())
    assert made.title == "Small: two options"
    assert any("Option B has dark nights in fewer years than option A" in text for text in texts)
    _, reliable, prices = made.sections[0].blocks
    assert [row[0] for row in reliable.rows] == [row[0] for row in prices.rows] == ["Option A", "Option B"]
    years = [row[reliable.header.index("Chance of dark nights in a coming year")] for row in reliable.rows]
    assert years[0].startswith("80 %") and years[1].startswith("5 %")
    same = options([many[0], make_results(OFTEN)])
    assert any("do not say which is better" in text for text in same.texts())
    headings = [section.heading for section in same.sections]
    assert sum(heading.startswith("Cautions") for heading in headings) == 1
    assert "<table>" in html(made)


def test_six_and_twenty_options_are_rows_with_what_differs_as_columns(make_results):
    """Legible: a row an option, nine columns at most, and a document that ends."""
    many = [
        make_results(
            SELDOM, {"bank.capacity_ah": 100 + n, "loads.lamp.watts": 5 + n % 3, "site.latitude_deg": 40 + n}
        )
        for n in range(26)
    ]
    made = options(many)
    different, reliable, prices = made.sections[0].blocks
    assert different.header == ["", "Study", "Site, latitude, °", "Bank, capacity, Ah", "Lamp, W"]
    assert [row[3] for row in different.rows] == [str(100 + n) for n in range(26)]
    assert different.rows[25][0] == "Option Z" and different.rows[0][1].endswith("invented.yaml)")
    for table in (different, reliable, prices):
        assert len(table.rows) == 26 and len(table.header) <= 9
        assert all(len(row) == len(table.header) == len(table.align) for row in table.rows)
    assert not any(section.heading.startswith("Option") for section in made.sections + made.appendix)
    pages = len(pypdf.PdfReader(BytesIO(pdf(made))).pages)
    assert pages <= 8


def test_one_study_is_no_choice(make_results):
    with pytest.raises(StudyError, match="takes 2 to 26"):
        options([make_results(SELDOM)])


def test_sections_are_chosen_and_ordered(make_results):
    made = proposal(make_results(OFTEN, {"document.sections": ["cautions", "system"]}))
    assert [section.heading.split(":")[0] for section in made.sections] == ["Cautions", "The system"]
    assert annex(make_results(OFTEN, {"document.sections": ["cautions", "system"]})).appendix == []
    full = annex(make_results(OFTEN))
    fewer = annex(make_results(OFTEN, {"document.without": ["monitor_readings"]}))
    assert len(fewer.sections) == len(full.sections) - 1 and full.appendix


@pytest.mark.parametrize("changes", [{"document.without": ["cautions"]}, {"document.sections": ["system"]}])
def test_no_key_removes_the_cautions(make_results, changes):
    """A reader of any page 1 finds the box, and the section closes the document."""
    made = proposal(make_results(OFTEN, changes))
    assert any(isinstance(block, Box) and len(block.items) >= 4 for block in made.opening)
    assert made.sections[-1].heading.startswith("Cautions")


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({"document.sections": ["sise"]}, 'did you mean "size"'),
        ({"document.date": "2026-02-30"}, "no day of the calendar"),
        ({"document.texts": {"after_nothing": "a.md"}}, "no section of the proposal"),
    ],
)
def test_faults_of_the_keys_are_told(changes, text):
    with pytest.raises(StudyError, match=text):
        study_from(spoilt(changes), Path("x.yaml"))


@pytest.mark.parametrize("name", ["../outside.md", "missing.md", "/etc/hostname"])
def test_texts_come_from_the_studys_own_folder(tmp_path, name):
    folder = tmp_path / "in"
    folder.mkdir()
    (tmp_path / "outside.md").write_text("secret")
    with pytest.raises(StudyError, match="does not exist|in the folder of the study"):
        study_from(spoilt({"document.texts": {"after_size": name}}), folder=folder)


def test_a_logo_is_a_picture(tmp_path):
    (tmp_path / "logo.png").write_text("<svg onload='alert(1)'/>")
    with pytest.raises(StudyError, match="not a PNG or JPEG"):
        study_from(spoilt({"document.logo": "logo.png"}), folder=tmp_path)


def test_own_texts_stand_before_after_or_instead(make_results, tmp_path):
    for name, text in (("a.md", "First."), ("b.md", "# Our own heading\n\nOurs alone."), ("c.md", "Last.")):
        (tmp_path / name).write_text(text)
    texts = {"before_size": "a.md", "after_size": "c.md", "instead_of_autonomy": "b.md"}
    base = make_results(OFTEN)
    study = study_from(spoilt({"document.texts": texts}), folder=tmp_path)
    made = dict(zip(("size", "dull_weeks"), annex(replace(base, study=study)).sections[1:], strict=False))
    assert made["size"].blocks[0] == Paragraph("First.") and made["size"].blocks[-1] == Paragraph("Last.")
    assert made["dull_weeks"].heading == "Our own heading"
    assert made["dull_weeks"].blocks == [Paragraph("Ours alone.")]


def test_markdown_becomes_blocks_and_nothing_more():
    text = "## Head\n\nA *b* [c](javascript:alert(1)) ![d](http://x/y.png)\n<b onclick=x>e</b>\n\n"
    text += "- one\n- two\n  - three\n\n|a|b|\n|-|-|\n|1|<script>2</script>|\n\n"
    text += "```\nx < y\n```\n\n<script>alert(1)</script>\n"
    head, para, items, table, code, script = blocks_of(text)
    assert head == Subheading("Head")
    assert "<b onclick=x>e</b>" in para.text and "A b " in para.text
    assert items == Listing(["one", "two", Listing(["three"])])
    assert isinstance(table, Table) and table.rows == [["1", "<script>2</script>"]]
    assert code == Verbatim("x < y\n")
    page = html(Document("t", [], [head, para, items, table, code, script], []))
    body = page.split("<body>")[1]
    assert "<script" not in body and "<img" not in body and "<b onclick" not in body
    assert re.findall('href="([^"]*)"', body) == ["http://x/y.png"]  # an address to follow, never fetched


def test_markdown_keeps_strong_words_order_and_alignment_in_every_format(tmp_path):
    text = "Pay **within *30* days**, `net`.\n\n3. one\n   - two\n4. three\n\n> said\n\n|a|b|\n|-|-:|\n|x|**1**|\n"
    blocks = blocks_of(text)
    document = Document("t", [], [], [Section("Terms", blocks)])
    assert [run.text for run in blocks[0].text.runs if run.strong] == ["within ", "30", " days"]
    assert blocks[1].ordered and blocks[3].align == "lr" and blocks[2].kind == "quote"
    page = html(document)
    assert "<strong>within </strong><strong><em>30</em></strong>" in page and "<code>net</code>" in page
    assert "<ol>" in page and "<blockquote>" in page and '<td class="r"><strong>1</strong></td>' in page
    read = word_reader.Document(BytesIO(docx(document)))
    bold = [run.text for line in read.paragraphs for run in line.runs if run.bold]
    assert bold == ["within ", "30", " days"]
    assert [line.text for line in read.paragraphs if line.style.name == "List Number"] == ["one", "three"]
    said = pypdf.PdfReader(BytesIO(pdf(document))).pages[0].extract_text()
    assert "within 30 days" in said and "1. one" in " ".join(said.split())


def test_the_workbook_has_units_notes_and_no_formula():
    about = study_from(
        spoilt({"document.client": "=1+1", "document.currency": "CHF"}), Path("x.yaml")
    ).document
    table = pd.DataFrame(
        {"array_wp": [100.0, np.nan], "cost": [5, 6], "who": ["=cmd|'/c calc'!A1", "http://x"]}
    )
    book = openpyxl.load_workbook(BytesIO(workbook({"sizing": table}, about)))
    assert book.sheetnames == ["Notes", "sizing"]
    sheet = book["sizing"]
    assert [cell.value for cell in sheet[3]] == ["array_wp", "cost", "who"]
    assert [cell.value or "" for cell in sheet[2]] == ["Wp", "CHF", ""]
    assert sheet["A4"].value == 100.0 and sheet["A5"].value is None
    assert sheet["C4"].data_type == "s" and sheet["C5"].hyperlink is None
    assert book["Notes"]["B2"].value == "=1+1" and book["Notes"]["B2"].data_type == "s"
    assert book["Notes"]["B5"].value.endswith(f"One row: {TABLES['sizing'].row}.")


def test_numbers_and_dates_of_other_languages():
    # Dates as the Unicode CLDR's long form has them, recalled: 25. November 2026, 25 novembre 2026.
    assert local_date("2026-11-25", "de") == "25. November 2026"
    assert local_date("2026-11-25", "fr") == "25 novembre 2026"
    assert (
        local_number("0.5 (0.3 to 1.4) nights, 10 000.5 EUR.", "de")
        == "0,5 (0,3 to 1,4) nights, 10 000,5 EUR."
    )
    assert local_number("version 1.2.3, IEC 62485-2, 0.5", "fr") == "version 1.2.3, IEC 62485-2, 0,5"
    assert local_number("0.5", "en") == "0.5"


def test_numbers_are_turned_but_not_the_study_file(make_results):
    made = annex(make_results(OFTEN, {"document.numbers": "de"}, text="x: 0.25\n"))
    assert not any(
        "0.8 to" in text for section in made.sections for text in Document("", [], [], [section]).texts()
    )
    assert Verbatim("x: 0.25\n") in [block for section in made.appendix for block in section.blocks]


def test_names_of_sections_are_each_there_once():
    assert len(set(NAMES)) == len(NAMES)
    readme = (Path(__file__).parents[3] / "README.md").read_text(encoding="utf-8")
    assert [name for name in NAMES if f"`{name}`" not in readme] == []
