"""Results of a run under other names: tables, figures and pages must take any name that a study may give."""

import json
import re
from html import unescape
from io import BytesIO

import yaml
from hypothesis import strategies as st
from openpyxl import load_workbook
from pypdf import PdfReader

from darkspell.climate import site_climate
from darkspell.core.atomic_files import write_table
from darkspell.core.table_reader import NAMES, read_table
from darkspell.report.document.docx import docx
from darkspell.report.document.html import html
from darkspell.report.document.pdf import pdf
from darkspell.report.figures import write_figures
from darkspell.report.proposal import annex, proposal
from darkspell.report.proposal.chapters.bill_of_materials import bill_of
from darkspell.report.proposal.chapters.year_sheet import year_sheet
from darkspell.report.results import read_results
from darkspell.report.workbook import workbook_of
from darkspell.study.base import NAME_PATTERN
from pipeline.injected import active_parts

# Sections with names of the user's own, and texts of any letters with their greatest length.
SECTIONS = ("loads", "arrays", "monitors", "whatifs")
TEXTS = {
    ("site", "name"): 100,
    ("document", "title"): 200,
    ("document", "client"): 100,
    ("document", "note"): 2000,
}
WORDS = (
    "none", "None", "NA", "N-A", "nan", "NaN", "null", "1", "01", "1e3", "1_000", "0x1F", "true", "yes", "no", "inf",
"2025-03-30", "_", "__class__", "e9", "shunt", "total", "mean", "other", "bank", "array", "value",
    "x" * 40, "con", "b", "0",
)  # fmt: skip
TRICKS = (
    '"quoted"', "it's", "=1+1", "@SUM(A1)", "a,b;c\td", "first\nsecond", "<b>bold</b>", "&amp;", "$x^2$", "\\frac",
    "{0}", "%s", "{{7*7}}", "#set page", "*a* _b_ `c`", "\u202egnp.exe", "\u2066iso", "\u200b", "e\u0301",
    "冰箱", "ثلاجة", "\U0001f600", "n" * 100, "NA", "nan", "none", "1", "01", "", " ",
)  # fmt: skip

names = st.sampled_from(WORDS) | st.from_regex(NAME_PATTERN, fullmatch=True).map(lambda name: name[:40])
texts = st.lists(st.sampled_from(TRICKS) | st.text(max_size=20), min_size=1, max_size=4).map("".join)


@st.composite
def renamings(draw, study):
    """Another name for each name of a study, by section, and other texts.

    Parameters
    ----------
    draw : callable
    study : dict
        As in its file.
    """
    other = {}
    for section in SECTIONS:
        count = len(study[section])
        drawn = draw(st.lists(names, min_size=count, max_size=count, unique_by=str.casefold))
        other[section] = dict(zip(study[section], drawn, strict=True))
    return other, {key: draw(texts)[:longest] for key, longest in TEXTS.items()}


def widest_names(study):
    """Names of forty of the widest letter, and texts as they are; the same pair as `renamings` draws."""
    return {
        section: {name: f"{38 * 'W'}{count:02d}" for count, name in enumerate(study[section])}
        for section in SECTIONS
    }, {}


def renamed_study(study, other, written):
    """A study with other names and texts.

    Parameters
    ----------
    study : dict
    other : dict of dict of str
        New name by old name, by section.
    written : dict
        Text by section and key.

    Returns
    -------
    dict
    """
    new = dict(study)
    for section, by_old in other.items():
        new[section] = {by_old[old]: value for old, value in study[section].items()}
    new["whatifs"] = {
        name: {_key(key, other): value for key, value in changes.items()}
        for name, changes in new["whatifs"].items()
    }
    for (section, key), text in written.items():
        new[section] = new[section] | {key: text or "x"}
    return yaml.safe_load(yaml.safe_dump(new))


def _key(dotted, other):
    section, *rest = str(dotted).split(".")
    if section in other and rest:
        rest[0] = other[section].get(rest[0], rest[0])
    return ".".join([section, *rest])


def rename_tables(source, target, other):
    """Write every table of results under other names, and read it back.

    Parameters
    ----------
    source, target : pathlib.Path
        Folders.
    other : dict of dict of str

    Returns
    -------
    dict
        Of pairs: the table as it was written and as it was read.
    """
    by_old = {old: new for section in SECTIONS for old, new in other[section].items()}
    pairs = {}
    for path in sorted(source.glob("*.csv")):
        table = read_table(path)
        for column in (name for name in table.columns if name in NAMES):
            if column == "changes":
                table[column] = [_changes(cell, other) for cell in table[column]]
            else:
                table[column] = [by_old.get(cell, cell) for cell in table[column]]
        write_table(target / path.name, table)
        pairs[path.stem] = table, read_table(target / path.name)
    return pairs


def _changes(cell, other):
    """The JSON of a what-if's changes."""
    if not isinstance(cell, str):
        return cell
    return json.dumps({_key(key, other): value for key, value in json.loads(cell).items()})


def shown(page):
    """Visible words of a page, entities resolved.

    Parameters
    ----------
    page : str
        HTML.
    """
    text = re.sub(r"<(script|style)\b.*?</\1>", " ", page, flags=re.S)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", text)).split())


def documents(folder, study, with_figures):
    """Everything that is made of tables: texts that must show every name, and a page's active parts.

    Parameters
    ----------
    folder : pathlib.Path
        Of the tables.
    study : darkspell.study.Study
    with_figures : bool
        Draw the figures too; they take most of the time.

    Returns
    -------
    str
        Visible words of the proposal, its annex and the workbook, in lower case.
    list
        What a browser would run or fetch.
    """
    if with_figures:
        write_figures(folder, study, folder / "figures")
    results = read_results(folder, study, site_climate(study, study.folder), "study: {}", folder / "figures")
    active, words = [], []
    for document in (proposal(results), annex(results)):
        page = html(document)
        active += active_parts(page)
        words.append(shown(page))
        assert PdfReader(BytesIO(pdf(document))).pages and docx(document)
    bill_of(results).to_csv(folder / "bill.csv")
    active += active_parts(year_sheet(results))
    book = load_workbook(BytesIO(workbook_of(results)), read_only=True)
    words += [
        str(cell) for sheet in book for row in sheet.iter_rows(values_only=True) for cell in row if cell
    ]
    return " ".join(words).casefold().replace("\u00ad", "").replace("\u200b", ""), active
