"""The page in a real browser: no request, no fault, panel against its table, keyboard, accessibility, paper, phone.

Run by `.ci/browser`, which fetches what it needs; left out with a word where there is no browser.
"""

import os
import re
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from shutil import which

import numpy as np
import pypdf
import pytest

from darkspell.report.document.html import html
from darkspell.report.document.tree import Figure
from darkspell.report.proposal import annex, proposal
from darkspell.report.proposal.chapters.year_sheet import year_sheet
from darkspell.report.proposal.options import options
from report.proposal.test_monitors import write_year

BROWSER = os.environ.get("BROWSER_PATH") or which("chromium") or which("chromium-browser")
AXE = Path(os.environ.get("AXE_PATH") or Path(__file__).parents[2] / "node_modules/axe-core/axe.min.js")
driver = pytest.importorskip(
    "playwright.sync_api", reason="no browser driver here: pip install -e '.[browser]'"
)
if BROWSER is None:
    pytest.skip("no chromium on this machine: apt-get install chromium", allow_module_level=True)

NIGHTS = np.tile([0] * 8 + [2, 5], 20)
SHEET = "expected_year.html"
PAGES = ("proposal.html", "annex.html", "options.html", SHEET)
EVIL = "<script>window.hacked = 1</script><img src=x onerror='window.hacked = 2'>"


def grid(results):
    """The conftest's grid of four designs with what the panel needs; every number its own."""
    table = results.sizing.copy()
    table["years_with_short_nights"] = [1.0, 0.6, 0.2, 0.05]
    table["short_nights_year_low"], table["short_nights_year_high"] = [5, 1, 0, 0], [14, 7, 5, 1]
    for place, bound in enumerate(("", "_low", "_high")):
        table[f"lolp{bound}"] = np.array([0.02, 0.011, 0.004, 0.0007]) * (1.0, 0.7, 1.4)[place]
    return table


@pytest.fixture(scope="module")
def results(make_results, tmp_path_factory):
    made = make_results(NIGHTS, {"document.client": EVIL, "document.note": EVIL})
    summary = made.summary | {
        "autonomy_dark_days": {"value": 3.0} | made.summary["demand_kwh"] | {"value": 3.0}
    }
    return replace(made, sizing=grid(made), summary=summary)


@pytest.fixture(scope="module")
def file(results, tmp_path_factory):
    from matplotlib.figure import Figure as Drawing

    folder = tmp_path_factory.mktemp("page")
    drawing = Drawing(figsize=(6.3, 3))
    drawing.add_subplot().plot([1, 3, 2])
    drawing.savefig(folder / "one.svg")
    document = proposal(results)
    document.sections[1].blocks.insert(
        2, Figure(folder / "one", "Three is most", "Points.", "A line rises to three.")
    )
    path = folder / "proposal.html"
    path.write_text(html(document), encoding="utf-8")
    (folder / "annex.html").write_text(html(annex(results)), encoding="utf-8")
    (folder / "options.html").write_text(html(options([results, results])), encoding="utf-8")
    write_year(folder)
    (folder / SHEET).write_text(year_sheet(replace(results, folder=folder)), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def browser():
    with driver.sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=BROWSER, args=["--no-sandbox", "--disable-gpu"])
        yield opened
        opened.close()


@pytest.fixture
def visit(browser, file):
    """Function that opens the page; it has ``.told`` (faults on the console) and ``.asked`` (requests)."""
    contexts = []

    def go(name="proposal.html", **how):
        context = browser.new_context(**how)
        contexts.append(context)
        page = context.new_page()
        page.told, page.asked = [], []
        page.on(
            "console", lambda message: page.told.append(message.text) if message.type == "error" else None
        )
        page.on("pageerror", lambda fault: page.told.append(str(fault)))
        page.on("request", lambda request: page.asked.append(request.url))
        page.goto(file.with_name(name).as_uri())
        return page

    yield go
    for context in contexts:
        context.close()


def test_nothing_fails_nothing_is_asked_for_nothing_typed_runs(visit, file):
    page = visit()
    page.wait_for_timeout(200)
    assert page.told == []
    assert [url for url in page.asked if not url.startswith("data:")] == [file.as_uri()]
    assert page.evaluate("window.hacked") is None
    assert "<script>window.hacked" in page.locator("dl").first.inner_text()


def numbers(text):
    return [float(word) for word in re.findall(r"\d+(?:\.\d+)?", text.replace("\u202f", ""))]


def test_the_panel_says_what_the_table_says_at_every_size_by_keyboard(visit, results):
    page, table = visit("annex.html"), results.sizing.set_index(["array_wp", "bank_ah"])
    assert page.locator("#panel").is_visible()
    shown = {
        name: page.locator(f"#panel-{name}")
        for name in ("there", "nights", "years", "coming", "cost", "days")
    }
    for i, array in enumerate((100, 200)):
        for j, bank in enumerate((100, 200)):
            for name, place in (("array", i), ("bank", j)):
                page.focus(f"#panel-{name}")
                page.keyboard.press("Home")
                for _ in range(place):
                    page.keyboard.press("ArrowRight")
            row, said = table.loc[(array, bank)], {name: place.inner_text() for name, place in shown.items()}
            assert page.locator("#panel-array-size").inner_text() == f"{array} Wp"
            assert page.locator("#panel-bank").get_attribute("aria-valuetext") == f"{bank} Ah"
            share, _, low, high = numbers(said["there"])
            wanted = [100 * (1 - row[name]) for name in ("lolp", "lolp_high", "lolp_low")]
            places = len(said["there"].split(" ")[0].partition(".")[2])
            assert 10.0**-places <= wanted[2] - wanted[1]  # no digit finer than the interval
            assert [share, low, high] == pytest.approx(wanted, abs=0.51 * 10.0**-places)
            mean, _, low, high = numbers(said["nights"])
            names = ("short_nights", "short_nights_low", "short_nights_high")
            assert [mean, low, high] == pytest.approx([row[name] for name in names], rel=0.05)
            assert numbers(said["coming"]) == [row["short_nights_year_low"], row["short_nights_year_high"]]
            assert numbers(said["cost"]) == [row["cost"]]
            assert numbers(said["days"]) == [3.0 * bank / 100]
            assert numbers(said["years"])[-1] == pytest.approx(100 * row["years_with_short_nights"])
    page.click("#panel-own")
    assert page.locator("#panel-array-size").inner_text() == "200 Wp"
    assert page.locator("#panel-bank-size").inner_text() == "100 Ah"
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.locator("#panel-bank-size").inner_text() == "200 Ah"


def test_without_scripts_and_on_paper_the_figure_stands_alone(visit):
    still = visit(java_script_enabled=False)
    assert not still.locator("#panel").is_visible()
    assert still.locator("figure img").first.is_visible()
    page = visit()
    page.emulate_media(media="print")
    assert not page.locator("#panel").is_visible()
    assert page.locator("figure img").first.is_visible()


@pytest.mark.parametrize(("paper", "width", "height"), [("A4", 595, 842), ("Letter", 612, 792)])
def test_paper(visit, paper, width, height):
    page = visit()
    content = page.pdf(format=paper)
    sheets = pypdf.PdfReader(BytesIO(content)).pages
    # The browser counts in whole pixels of 1/96 inch: up to one point beside the paper's size.
    assert all(abs(s.mediabox.width - width) <= 1 and abs(s.mediabox.height - height) <= 1 for s in sheets)
    printed = " ".join(sheet.extract_text() for sheet in sheets)
    assert "What can hurt you" in printed and "Try other sizes" not in printed
    room = round((width - 2 * 22 * 72 / 25.4) / 72 * 96)
    page.emulate_media(media="print")
    page.set_viewport_size({"width": room, "height": 900})
    assert page.evaluate("document.documentElement.scrollWidth") <= room + 1


@pytest.mark.parametrize("width", [320, 390, 768])
@pytest.mark.parametrize("name", PAGES)
def test_a_narrow_window_never_scrolls_sideways(visit, name, width):
    page = visit(name, viewport={"width": width, "height": 700})
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_the_first_printed_page_has_answer_and_cautions(visit):
    first = pypdf.PdfReader(BytesIO(visit().pdf(format="A4"))).pages[0].extract_text()
    assert "What to expect in a year" in first and "What can hurt you" in first


@pytest.mark.parametrize("name", PAGES)
def test_every_entry_of_the_contents_leads_to_its_heading(visit, name):
    page = visit(name)
    entries = page.locator(".contents a").all()
    for entry in entries:
        assert page.locator(entry.get_attribute("href")).inner_text() == entry.inner_text()
    assert len(entries) == page.locator("section > h2, section.appendix > h3").count() or name == SHEET


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1200])
@pytest.mark.parametrize("name", PAGES)
def test_accessibility(visit, name, width, scheme):
    if not AXE.is_file():
        pytest.skip("the accessibility rules are not here: npm install in tests/")
    page = visit(name, viewport={"width": width, "height": 800}, color_scheme=scheme)
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = page.evaluate("axe.run(document)")
    assert len(found["passes"]) > 10
    assert [(one["id"], [node["html"][:90] for node in one["nodes"]]) for one in found["violations"]] == []
