"""Text that would do harm if anything read it as more than text, and what results may hold of it."""

import json
import os
import re
import shutil
import zipfile
from xml.etree import ElementTree

import pytest

SCRIPTS = "<script>window.hacked=1</script><svg onload=window.hacked=2><img src=x onerror=window.hacked=3>"
DOCUMENT = {
    # Typst, Jinja, format strings, shell, DOCX XML.
    "title": f'{SCRIPTS} #eval(read("/etc/passwd")) {{{{7*7}}}} {{0.__class__}} %s $(touch pwned)',
    "prepared_by": "`touch pwned`; touch pwned</w:t></w:r><w:p/> ]]> &amp; &#x3C;script> \\input{/etc/passwd}",
    "note": "<style>body{display:none}</style><link rel=stylesheet href=https://evil.invalid/x.css>\n"
    "<iframe src=https://evil.invalid></iframe> !!python/object/apply:os.system [touch pwned] ../../../pwned "
    "javascript:window.hacked=4 {% for x in () %} ${7*7} $x^2$ *bold* @label #set page(width: 1pt)",
    "currency": "<b>=1+1</b>",
}
SITE = "=cmd|'/c touch pwned'!A1"
# File names that a shell, a page or a path reads as more than a name, or as something else.
FILE_NAMES = (
    "$(touch pwned).csv", "; touch pwned;.csv", "`id`.csv", "<script>window.hacked=1<.csv", "--help", "-rf.csv",
    "'; drop.csv", '"a".csv', "{0}{{7*7}}.csv", "%s.csv", "=1+1.csv", "a\nb.csv", "\u202evsc.exe", "冰箱.csv",
    "....csv", "..", "none", "nan.csv", "1.csv", "CON.csv", ".csv", " .csv", "x" * 250, "a\\..\\b.csv", "&amp;.csv",
)  # fmt: skip
TEXT_NAME = "own; touch pwned; $(touch pwned) <b>.md"
TEXT = (
    f"{SCRIPTS}\n\n![a picture](https://evil.invalid/x.png) ![another](/etc/hostname) "
    "[a link](javascript:window.hacked=5) [a file](file:///etc/passwd)\n\n<iframe src='https://evil.invalid'></iframe>\n\n"
    "| a | b |\n|---|---|\n| =1+1 | <script>window.hacked=6</script> |\n"
)


def inject(text, folder):
    """The text of a study with all of the above in it; its Markdown file is written next to it.

    Parameters
    ----------
    text : str
        With plain lines for title, prepared_by, note, currency and the site's name.
    folder : pathlib.Path
    """
    (folder / TEXT_NAME).write_text(TEXT, encoding="utf-8")
    for key, value in DOCUMENT.items():
        text = _replaced(text, key, value)
    text = _replaced(text, "name", SITE)
    return text.replace("document:\n", f"document:\n  texts: {{before_size: {json.dumps(TEXT_NAME)}}}\n", 1)


WEB = re.compile("https?://")  # a link that somebody typed may be followed by hand


def _replaced(text, key, value):
    found, count = re.subn(rf"(?m)^  {key}: .*$", lambda _: f"  {key}: {json.dumps(value)}", text, count=1)
    assert count == 1, key
    return found


def outside(folder, allowed):
    """Entries of a folder that are not expected there.

    Parameters
    ----------
    folder : pathlib.Path
    allowed : set of str
        Names.
    """
    return {path.name for path in folder.iterdir()} - allowed


def active_parts(page):
    """What a browser would run or fetch in a page, beyond the page's own scripts.

    Parameters
    ----------
    page : str
        HTML.
    """
    tags = re.findall(r"<(script|iframe|object|embed|link|base|img|svg|a|form|meta|style)\b([^>]*)>", page)
    handlers = [rest for _, rest in tags if re.search(r"\son\w+\s*=", rest)]
    fetched = [
        value
        for tag, rest in tags
        for _, value in re.findall(r"""(src|href|action|data)\s*=\s*["']?([^"'\s>]*)""", rest)
        if tag != "svg"
        and not (tag == "a" and WEB.match(value))
        and not value.startswith(("data:", "#"))
        and re.match(r"[a-z]+:|//|/", value)
    ]
    frames = [tag for tag, _ in tags if tag in ("iframe", "object", "embed", "base", "form")]
    return [*handlers, *fetched, *frames, *re.findall(r"<script[^>]*>\s*window\.hacked", page)]


def open_in_a_browser(pages):
    """Open pages in a real browser, or skip the test: no script of their texts runs, nothing is asked for.

    Parameters
    ----------
    pages : sequence of pathlib.Path
    """
    driver = pytest.importorskip(
        "playwright.sync_api", reason="no browser driver here: pip install -e '.[browser]'"
    )
    browser = os.environ.get("BROWSER_PATH") or shutil.which("chromium") or shutil.which("chromium-browser")
    if browser is None:
        pytest.skip("no chromium on this machine: apt-get install chromium")
    with driver.sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=browser, args=["--no-sandbox", "--disable-gpu"])
        for path in pages:
            page, asked = opened.new_page(), []
            page.on("request", lambda request, asked=asked: asked.append(request.url))
            page.goto(path.as_uri())
            page.wait_for_timeout(200)
            own = [url for url in asked if not url.startswith("data:")]
            assert own == [path.as_uri()] and page.evaluate("window.hacked") is None, path.name
            assert page.evaluate("getComputedStyle(document.body).display") != "none"
        opened.close()


def formulas(path):
    """Formulas in a workbook.

    Parameters
    ----------
    path : pathlib.Path
    """
    with zipfile.ZipFile(path) as book:
        sheets = [name for name in book.namelist() if name.startswith("xl/worksheets/sheet")]
        return [name for name in sheets if b"<f>" in book.read(name) or b"<f " in book.read(name)]


def links(path):
    """Targets outside the file that a DOCX or XLSX names, web links to click left out; its parts must be XML.

    Parameters
    ----------
    path : pathlib.Path
    """
    found = []
    with zipfile.ZipFile(path) as parts:
        for name in parts.namelist():
            if name.endswith((".xml", ".rels")):
                tree = ElementTree.fromstring(parts.read(name))
                found += [one for one in tree.iter() if one.get("TargetMode") == "External"]
    by_hand = [
        one for one in found if one.get("Type").endswith("/hyperlink") and WEB.match(one.get("Target"))
    ]
    return [one.get("Target") for one in found if one not in by_hand]
