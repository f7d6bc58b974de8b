"""Without the extra `pdf`: HTML and DOCX are written, and one sentence says what to install."""

import sys
import tomllib
from importlib.util import find_spec
from pathlib import Path

import pytest

from darkspell.cli.headline import headline
from darkspell.core.errors import StudyError
from darkspell.report.document import typesetter, write
from darkspell.report.document.document import Document
from darkspell.report.document.pdf import pages
from darkspell.report.document.tree import Paragraph, Section

ROOT = Path(__file__).parents[3]
DOCUMENT = Document("A hut", [], [Paragraph("Text.")], [Section("One", [Paragraph("More.")])])


@pytest.fixture
def without(monkeypatch):
    """An environment in which nobody finds the typesetter."""
    monkeypatch.setitem(sys.modules, "typst", None)
    monkeypatch.setattr(typesetter, "find_spec", lambda name: None if name == "typst" else find_spec(name))


def test_the_other_formats_are_written_and_no_old_pdf_stays(without, tmp_path):
    page = tmp_path / "proposal.html"
    page.with_suffix(".pdf").write_bytes(b"of an earlier run")
    write.write_all(DOCUMENT, page)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["proposal.docx", "proposal.html"]


def test_one_sentence_says_what_to_install(without, tmp_path):
    with pytest.raises(StudyError, match=r"pip install 'darkspell\[pdf\]'"):
        pages(DOCUMENT)
    folder = tmp_path / "results" / "hut"
    folder.mkdir(parents=True)
    (folder / "proposal.html").write_text("page")
    assert headline("hut", tmp_path).splitlines()[-1].strip() == typesetter.WITHOUT
    (folder / "proposal.pdf").write_bytes(b"pdf")
    assert "PDF" not in headline("hut", tmp_path)


def test_only_the_extra_asks_for_it_and_the_readme_installs_the_extra():
    """The tests need it too; the command at the top of the README makes the PDF."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    extras = project["optional-dependencies"]
    assert not any("typst" in need for need in project["dependencies"])
    assert [name for name, needs in extras.items() if any("typst" in need for need in needs)] == ["pdf"]
    assert "darkspell[pdf]" in extras["test"] and set(extras) >= {"pdf", "slurm", "test", "dev"}
    first = next(line for line in (ROOT / "README.md").read_text().splitlines() if "pip install" in line)
    assert "'.[pdf]'" in first and "snakemake" in first
