"""The DOCX opened and laid out by an office program: what its reader will see, where such a program is there."""

import re
import shutil
import subprocess
from io import BytesIO

import numpy as np
import pypdf
import pytest

from darkspell.report.document.document import Document
from darkspell.report.document.docx import docx
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.proposal import proposal
from report.proposal.test_equipment_sections import PLANT

OFFICE = shutil.which("soffice")
NEEDED = "no soffice on the path: install LibreOffice Writer to lay the DOCX out"
NIGHTS = np.tile([0] * 8 + [2, 5], 20)


def laid_out(document, folder):
    """Pages of a document's DOCX, laid out by the office program; list of str."""
    (folder / "made.docx").write_bytes(docx(document))
    home = f"-env:UserInstallation=file://{folder}/home"
    line = [
        OFFICE,
        home,
        "--headless",
        "--convert-to",
        "pdf",
        "--outdir",
        str(folder),
        str(folder / "made.docx"),
    ]
    subprocess.run(line, check=True, capture_output=True, timeout=240)
    return [
        page.extract_text() for page in pypdf.PdfReader(BytesIO((folder / "made.pdf").read_bytes())).pages
    ]


def words(text):
    return set(re.findall(r"\S+", text))


@pytest.fixture(scope="module")
def offer(make_results):
    return proposal(make_results(NIGHTS))


@pytest.fixture(scope="module")
def pages(offer, tmp_path_factory):
    if OFFICE is None:
        pytest.skip(NEEDED)
    return laid_out(offer, tmp_path_factory.mktemp("office"))


def tables_of(document):
    sections = [Section("", document.opening), *document.sections, *document.appendix]
    return [block for section in sections for block in section.blocks if isinstance(block, Table)]


def test_headings_captions_and_contents_are_on_the_pages(offer, pages):
    text = " ".join(" ".join(pages).split())
    for section in offer.sections:
        assert text.count(section.heading) >= 2, section.heading  # among the contents, and above its section
    for number, table in enumerate(tables_of(offer), 1):
        assert f"Table {number}: {table.caption}" in text


def test_no_word_of_a_table_is_broken(offer, pages):
    seen = words(" ".join(pages))
    for table in tables_of(offer):
        wanted = words(" ".join([*table.header, *(cell for row in table.rows for cell in row)]))
        assert wanted <= seen, wanted - seen


def test_no_page_is_empty_and_each_has_its_number(pages):
    last = len(pages)
    assert 3 <= last <= 8
    for number, text in enumerate(pages, 1):
        assert len(text.split()) > 25, number
        assert re.search(rf"{number} ?/ ?{last}\b", text), number


def test_page_1_has_the_offer_and_the_cautions(offer, pages):
    first = " ".join(pages[0].split())
    lead = next(block.text for block in offer.opening if isinstance(block, Paragraph))
    assert " ".join(lead.split()) in first
    assert offer.title in first and "What can hurt you" in first


@pytest.mark.skipif(OFFICE is None, reason=NEEDED)
def test_a_short_table_stays_on_one_page(tmp_path):
    """Ten rows that begin near the end of a page move to the next one with their head."""
    table = Table("Rows", ["No.", "Text"], [[f"row{at}", "x"] for at in range(10)], "ll")
    made = Document("t", [], [Paragraph("A line of text.")] * 40, [Section("s", [table])])
    (holding,) = [text for text in laid_out(made, tmp_path) if "row0" in text]
    assert "row9" in holding and len(laid_out(made, tmp_path)) == 2


@pytest.mark.skipif(OFFICE is None, reason=NEEDED)
def test_many_narrow_columns_with_a_long_text(tmp_path):
    """Six columns of numbers and one of prose: the numbers stay whole, the prose is wrapped."""
    header = ["Statistic", *(f"Value{at}" for at in range(5)), "How"]
    rows = [["nights", *["0.0265 (0.0003)"] * 5, "median over parameter draws, " * 12]]
    made = Document("t", [], [], [Section("s", [Table("c", header, rows, "l" + "r" * 5 + "l")])])
    seen = words(" ".join(laid_out(made, tmp_path)))
    assert {*header, "0.0265", "(0.0003)", "parameter"} <= seen


@pytest.mark.skipif(OFFICE is None, reason=NEEDED)
def test_a_long_german_document_keeps_six_pages_in_a_wide_face(make_results, tmp_path):
    """DejaVu Serif stands in where the face is missing, and is a tenth wider; cautions stay on page 1."""
    plant = {key: value for key, value in PLANT.items() if not key.startswith("itinerary")}
    results = make_results(NIGHTS, {**plant, "document.language": "de", "bank.chemistry": "lfp"})
    read = laid_out(proposal(results), tmp_path)
    assert len(read) <= 6 and "Was Sie verletzen kann" in " ".join(read[0].split()), len(read)
