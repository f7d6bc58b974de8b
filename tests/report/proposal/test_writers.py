"""The PDF and the DOCX say what the page says, and text that somebody typed stays text in all three."""

import re
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from types import SimpleNamespace

import docx as word_reader
import numpy as np
import pypdf
import pytest
from docx.oxml.ns import qn

from darkspell.report.document.document import Document
from darkspell.report.document.docx import docx
from darkspell.report.document.html import html
from darkspell.report.document.pdf import pages, pdf
from darkspell.report.document.tree import (
    Box,
    Figure,
    Listing,
    Paragraph,
    Section,
    Subheading,
    Table,
    Verbatim,
)
from darkspell.report.proposal import annex, proposal

NIGHTS = np.tile([0] * 8 + [2, 5], 20)
MALICE = [
    "<script>alert(1)</script>",
    '=cmd|"/c calc"!A1',
    "../../../etc/passwd",
    '#eval(read("/etc/passwd")) $x^2$ *bold* @label \\ #import',
    "word " * 2000,
    "x" * 10_000,
    "\u05e9\u05dc\u05d5\u05dd \u202egnp.exe",
    "solar \N{SUN WITH FACE}\N{BATTERY} \x00\x07\x1b[31m",
    "{{ 7 * 7 }} {% raw %}",
]


def plain(text):
    return "".join(str(text).split()).replace("\u200b", "").replace("\u00ad", "")


def read_pdf(content):
    return pypdf.PdfReader(BytesIO(content))


def words_of_pdf(content):
    return plain("".join(page.extract_text() for page in read_pdf(content).pages))


def words_of_docx(content):
    return plain("".join(node.text or "" for node in word_reader.Document(BytesIO(content)).element.iter()))


@pytest.fixture(scope="module")
def picture(tmp_path_factory):
    from matplotlib.figure import Figure as Drawing

    path = tmp_path_factory.mktemp("figures") / "one"
    drawing = Drawing(figsize=(4, 2))
    drawing.add_subplot().plot([1, 3, 2])
    for kind in ("svg", "png"):
        drawing.savefig(path.with_suffix(f".{kind}"))
    return Figure(path, "Three is most", "Three points.", "A line that rises to three and falls to two.")


@pytest.fixture(scope="module")
def document(make_results, picture):
    made = annex(make_results(NIGHTS))
    made.sections[0].blocks.append(picture)
    return made


@pytest.fixture(scope="module")
def portable(document):
    return pdf(document)


@pytest.fixture(scope="module")
def editable(document):
    return docx(document)


def test_every_sentence_stands_in_the_pdf_and_the_docx(document, portable, editable):
    in_pdf, in_docx = words_of_pdf(portable), words_of_docx(editable)
    sentences = [
        block.text
        for section in (SimpleNamespace(blocks=document.opening), *document.sections)
        for block in section.blocks
        if isinstance(block, Paragraph)
    ]
    assert len(sentences) > 8
    for text in sentences:
        # Lines of a PDF may end in a page's number; its beginning tells that the sentence is there.
        assert plain(text)[:60] in in_pdf, text
        assert plain(text) in in_docx, text


def test_pdf_has_bookmarks_numbers_tags_words_for_pictures_and_its_own_fonts(document, portable):
    reader = read_pdf(portable)
    titles = [entry.title.replace("\u00a0", " ") for entry in _flat(reader.outline)]
    assert titles[: len(document.sections)] == [section.heading for section in document.sections]
    assert "Appendix" in titles
    last = len(reader.pages)
    assert f"{last}/{last}" in plain(reader.pages[-1].extract_text())
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert reader.trailer["/Root"]["/Lang"] == "en"
    assert reader.metadata.title == document.title
    fonts = {font for page in reader.pages for font in _fonts(page)}
    assert fonts and all(embedded for _, embedded in fonts)
    assert b"/Alt(A line that rises to three and falls to two.)" in portable


def test_page_1_is_a_page_of_its_own(make_results):
    """The first section begins on page 2, and title, price and cautions are on page 1."""
    made = proposal(make_results(NIGHTS))
    first, second, *_ = (plain(page.extract_text()) for page in read_pdf(pdf(made)).pages)
    assert plain(made.sections[0].heading) not in first and second.startswith(plain(made.sections[0].heading))
    box = made.opening[-1] if isinstance(made.opening[-1], Box) else made.opening[-2]
    assert plain(made.title) in first and all(plain(item)[:40] in first for item in box.items)


def _flat(outline):
    for entry in outline:
        if isinstance(entry, list):
            continue
        yield entry


def _fonts(page):
    for font in page["/Resources"].get("/Font", {}).values():
        inner = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
        yield str(inner["/FontName"]), any(key in inner for key in ("/FontFile2", "/FontFile3"))


def test_many_figures_fill_their_pages_and_each_number_comes_once(tmp_path):
    """Figures move past the text where a page ends; a page half empty, or a number twice, is a fault."""
    from matplotlib.figure import Figure as Drawing

    drawing = Drawing(figsize=(4, 2.5))
    drawing.add_subplot().plot([1, 3, 2])
    drawing.savefig(tmp_path / "tall.svg")
    picture = Figure(tmp_path / "tall", "Three is most", "Three points.", "A line.")
    words = Paragraph("Words that fill a line or two of the page, and no more than that. " * 6)
    table = Table("A table.", ["a"], [["1"]] * 12, "l")
    sections = [Section(f"Part {n}", [words, picture, table, picture]) for n in range(8)]
    made = Document("t", [], [], sections)
    read = read_pdf(pdf(made))
    text = "".join(plain(page.extract_text()) for page in read.pages)
    for kind, count in (("Figure", 16), ("Table", 8)):
        numbers = [int(number) for number in re.findall(rf"{kind}(\d+):", text)]
        assert sorted(numbers) == [*range(1, count + 1)]
    heights = [_filled(page) for page in pages(made, 30)]
    assert min(heights[:-1]) > 0.6, heights


def _filled(page):
    """Share of a page's height, footer left out, down to its lowest ink; `page` is a PNG."""
    from matplotlib.image import imread

    ink = np.flatnonzero(imread(BytesIO(page))[..., :3].min(axis=(1, 2)) < 0.9)
    height = len(imread(BytesIO(page)))
    return ink[ink < 0.92 * height].max() / height


@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_paper(paper, size):
    made = Document("t", [], [Paragraph("x")], [], paper=paper)
    box = read_pdf(pdf(made)).pages[0].mediabox
    assert (round(box.width), round(box.height)) == size
    page = word_reader.Document(BytesIO(docx(made))).sections[0]
    assert (round(page.page_width.pt), round(page.page_height.pt)) == size


def test_docx_begins_pages_without_a_break_that_could_fill_a_page_of_its_own():
    """A break at the end of a full page would leave the next one blank; contents follow a page 1 that runs over."""
    parts = [Section(name, [Paragraph("x")]) for name in "abc"]
    made = Document("t", [], [Paragraph("x")], parts, appendix=parts, cover=True)
    read = word_reader.Document(BytesIO(docx(made)))
    assert not read.element.findall(f".//{qn('w:br')}")
    begun = [line.text for line in read.paragraphs if line.paragraph_format.page_break_before]
    assert begun == ["Appendix"]
    kept = [line.text for line in read.paragraphs if line.paragraph_format.keep_with_next]
    assert kept[:4] == ["Contents", "a", "b", "c"]


def test_docx_has_headings_captions_and_words_for_pictures(document, editable, picture):
    read = word_reader.Document(BytesIO(editable))
    levels = [int(p.style.name[-1]) for p in read.paragraphs if p.style.name.startswith("Heading")]
    assert levels[0] == 1 and all(b - a <= 1 for a, b in zip(levels, levels[1:], strict=False))
    captions = [
        "".join(t.text for t in p._p.iter(qn("w:t"))) for p in read.paragraphs if p.style.name == "Caption"
    ]
    assert "Figure 1: Three points." in captions
    assert sum(text.startswith("Table") for text in captions) == len(read.tables)
    assert picture.alt in {shape._inline.docPr.get("descr") for shape in read.inline_shapes}


def test_text_that_somebody_typed_stays_text():
    from darkspell.report import wording as say

    blocks = []
    for text in MALICE:
        safe = say.given(text)
        table = Table(safe, [safe, "b"], [[safe, "1"]], "lr", note=safe)
        blocks += [
            Paragraph(safe),
            Subheading(safe),
            Listing([safe]),
            table,
            Verbatim(text.replace("\x00", "")),
        ]
    safe = say.given(" ".join(text[:80] for text in MALICE))
    made = Document(safe, [("For", safe)], [], [Section(safe, blocks)])
    assert read_pdf(pdf(made)).pages
    short = Document(safe, [("For", safe)], [block for block in blocks if len(str(block)) < 5000], [])
    in_docx, in_pdf, page = words_of_docx(docx(made)), words_of_pdf(pdf(short)), html(made)
    for text in MALICE[:4]:
        assert plain(text) in in_docx and plain(text) in in_pdf
    assert "root:" not in in_pdf + in_docx + page
    assert "<script>alert" not in page and ">49<" not in page


def test_title_and_note_are_not_in_the_pdf_twice(tmp_path):
    """The window of the drawing hides them; a reader's software would find them all the same."""
    from darkspell.report.document.images import cropped
    from darkspell.report.figures.layout import Finding, Page
    from darkspell.report.figures.style import look
    from darkspell.report.figures.write import save_page

    words = Finding("Heron " * 20, "Bittern " * 30, "Egret", "Three points.")
    with look():
        page = Page(words, 30)
        page.axes(20, 8, 80, 15).set_title("Teal")
        save_page(page, words, tmp_path / "one", ("svg",))
    block = Figure(tmp_path / "one", words.title, words.caption, words.alt, page.head)
    text = words_of_pdf(pdf(Document("t", [], [block], [])))
    assert text.count("Heron") == 20 and text.count("Bittern") == 0 and text.count("Teal") == 1
    assert b"Bittern" not in cropped(block, "svg")[0]


@pytest.mark.parametrize(("lines", "pages"), [(28, 1), (30, 1), (31, 1), (32, 1), (34, 1), (37, 2)])
def test_a_figure_that_is_a_little_too_high_is_drawn_smaller(picture, lines, pages):
    """At full size the page holds 29 lines before it; at three quarters, 34."""
    made = Document("t", [], [], [Section("One", [Paragraph("word. " * 15 * lines), picture])])
    assert len(read_pdf(pdf(made)).pages) == pages


def test_contents_name_the_pages_of_their_headings(picture):
    """Of a long document with many figures, each of which moves what follows."""
    sections = [
        Section(
            f"Heron {at}.", [Paragraph("word. " * (40 + 97 * at % 600)), picture, Paragraph("word. " * 80)]
        )
        for at in range(24)
    ]
    texts = [plain(page.extract_text()) for page in read_pdf(pdf(Document("t", [], [], sections))).pages]
    for at in range(24):
        stated = int(re.search(rf"Heron{at}\.[ .\u2060]*(\d+)", " ".join(texts[:2]))[1])
        assert f"Heron{at}." in texts[stated - 1], (at, stated)


def test_no_line_is_broken_between_a_number_and_its_unit():
    """In text and cells of page and DOCX; what only looks like a unit stays as it is."""
    block = Table("c", ["a"], [["95 % of 12 kWh, 5 Watts"]], "l")
    made = Document("t", [], [Paragraph("9 % of 4 °C and 3 % WAH")], [Section("At 12 V", [block])])
    wanted = "9\u00a0% of 4\u00a0°C and 3\u00a0% WAH", "95\u00a0% of 12\u00a0kWh, 5 Watts", "At 12\u00a0V"
    in_docx = "\n".join(node.text or "" for node in word_reader.Document(BytesIO(docx(made))).element.iter())
    assert all(text in html(made) and text in in_docx for text in wanted)


@pytest.mark.parametrize("items", range(30, 60))
def test_no_page_begins_with_the_last_line_of_a_list(items):
    made = Document("t", [], [], [Section("One", [Listing(["Heron"] * items)])])
    pages = [page.extract_text().count("Heron") for page in read_pdf(pdf(made)).pages]
    assert sum(pages) == items and pages[-1] > 1


def test_a_picture_loses_the_words_that_stand_as_text(picture):
    from matplotlib.image import imread

    from darkspell.report.document.images import cropped

    whole, kind = cropped(picture, "svg")
    part, _ = cropped(replace(picture, head=0.25), "svg")
    assert kind == "svg" and b'viewBox="0 0 288 144"' in whole and b'viewBox="0 36.000 288.0 108.0"' in part
    heights = [imread(BytesIO(cropped(replace(picture, head=head), "png")[0])).shape[0] for head in (0, 0.25)]
    assert heights[1] == 0.75 * heights[0]
    made = docx(Document("t", [], [replace(picture, head=0.25)], []))
    shape = word_reader.Document(BytesIO(made)).inline_shapes[0]
    assert shape.height == pytest.approx(
        0.75 * 2 / 4 * shape.width, rel=1e-3
    )  # of a drawing of 4 by 2 inches
    assert shape._inline.graphic.graphicData.pic.blipFill[1].items() == [("t", "25000")]


def test_pages_can_be_looked_through():
    first, *_ = pages(Document("t", [], [Paragraph("x")], []), dpi=20)
    assert first.startswith(b"\x89PNG")


def test_pages_of_a_study_that_was_not_run(tmp_path, capsys):
    from darkspell.report.proposal.__main__ import main

    study = Path(__file__).parents[3] / "config" / "tarn_hut.yaml"
    assert main([str(study), "--results", str(tmp_path)]) == 1
    assert "run the study first" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_sign_that_no_font_draws_is_named():
    """U+1F3D4 SNOW CAPPED MOUNTAIN lies outside the fonts that come along, U+26F5 SAILBOAT too; U+00B0 does not."""
    from darkspell.report.document.pdf import _drawable

    tree = {"a": ["🏔️ 20 °C", "⛵"], "b": -1}
    assert _drawable(tree) == {"a": ["[snow capped mountain] 20 °C", "[sailboat]"], "b": -1}


def test_figures_of_a_document_in_parts_stay_in_their_sections(picture):
    """Each option of a page of several has its own: a figure under the heading of the next would be read as its."""
    sections = [Section(f"Heron {at}.", [Paragraph("word. " * 150), picture, picture]) for at in range(9)]
    made = Document("t", [], [], sections, parts=True)
    text = "".join(plain(page.extract_text()) for page in read_pdf(pdf(made)).pages[1:])
    for at in range(3, 9):
        before, after = (text.index(f"Figure{2 * at + one}:") for one in (1, 2))
        assert text.index(f"Heron{at}.") < before < after, at
        assert at == 8 or after < text.index(f"Heron{at + 1}."), at
