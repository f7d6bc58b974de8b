"""The pipeline as a user starts it: what it leaves behind, and what a change runs again."""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import Phase, example, given, settings
from pypdf import PdfReader

from darkspell.core.table_reader import read_table
from darkspell.report.tables.registry import TABLES
from darkspell.statistics.summary import FIELDS
from darkspell.study import study_from
from darkspell.study.yaml_reader import read_file
from pipeline.injected import TEXT_NAME, active_parts, formulas, inject, links, open_in_a_browser, outside
from pipeline.renamed import documents, rename_tables, renamed_study, renamings, widest_names

ROOT = Path(__file__).parents[2]
LEFT = (
    "summary.json", "members.csv", "months.csv", "events.csv", "autonomy.csv", "recovery.csv", "monitors.csv",
    "sizing.csv", "whatifs.csv", "costs.csv", "snow.csv", "event_lengths.csv",
    "hourly.nc", "provenance.json", "proposal.html", "figures/figures.json",
    "energy_sources.csv", "monitor_error_percentiles.csv", "monitor_settings.csv", "monitor_kinds.csv",
    "uncertainty.csv", "expected_year.csv", "expected_year.html",
    "proposal.pdf", "proposal.docx", "annex.html", "annex.pdf", "annex.docx", "tables.xlsx",
)  # fmt: skip
HEADLINE = set(FIELDS)
EXAMPLES = 2  # of 17 names and four texts each


def columns_differ(folder):
    """Columns of a folder's tables that the registry of tables does not name, and those missing; list of str."""
    out = []
    for path in sorted(folder.glob("*.csv")):
        table = TABLES[path.stem]
        have, known = list(read_table(path).columns), [one.key for one in table.columns]
        missing = [one.key for one in table.columns if not one.optional and one.key not in have]
        out += [f"{path.stem}.{name}" for name in (*missing, *(name for name in have if name not in known))]
    return out


def run(folder, *words):
    """Run Snakemake in a folder; its output."""
    command = [sys.executable, "-m", "snakemake", "-s", str(ROOT / "Snakefile"), "-d", str(folder), "-c2"]
    done = subprocess.run([*command, *words], capture_output=True, text=True)
    return done.returncode, done.stdout + done.stderr


def rules(output):
    """Rules that ran or would run, from the job table."""
    return set(re.findall(r"^(\w+)\s+\d+$", output, re.M)) - {"total", "all"}


# Names that a CSV, a YAML or a page reads as something else, by the name in the default study that each replaces.
HOSTILE = {
    "bigger_bank": "none", "aged_bank": "NA", "thrifty_link": "nan", "no_laptop": "1", "absorbed_glass_mat": "01",
    "wall": "null", "telephones": "inf", "laptop": "true", "gauge": "1e3",
}  # fmt: skip


@pytest.fixture(scope="module")
def workplace(tmp_path_factory):
    """The default study, hostile names in it, on 70 members (a full and a part batch), run in a folder of its own."""
    folder = tmp_path_factory.mktemp("été 雪 (a) b's {c}")
    study = folder / "hut.yaml"
    text = (ROOT / "config" / "tarn_hut.yaml").read_text(encoding="utf-8")
    for plain, hostile in HOSTILE.items():
        text = re.sub(
            rf"(?m)^  {plain}:|(?<=\.){plain}(?=[.:])",
            lambda at, to=hostile: at[0].replace(at[0].strip(" :."), to),
            text,
        )
    text = text.replace("document:\n", "document:\n  figure_pdfs: true\n")
    text = inject(re.sub(r"members: 1000", "members: 70", text), folder)
    study.write_text(text, encoding="utf-8")
    code, output = run(folder, "--configfile", str(study))
    assert code == 0, output
    return folder, study


def test_every_file_is_left_behind(workplace):
    """The files of a study, and the form of a headline."""
    results = workplace[0] / "results" / "hut"
    for name in LEFT:
        assert (results / name).stat().st_size > 0, name
    summary = json.loads((results / "summary.json").read_text())
    assert all(set(headline) - {"cause", "each", "remedies"} == HEADLINE for headline in summary.values())
    assert {"lolp", "lolh", "eue_kwh", "short_nights", "annual_max_depth_true"} <= set(summary)
    assert not list(results.glob(".*")), "a half-written file was left"
    assert columns_differ(results) == []


def test_hostile_names_reach_tables_and_pages_as_they_are(workplace):
    """What-ifs, arrays, loads and monitors under names that are no numbers, gaps or truth."""
    results = workplace[0] / "results" / "hut"
    whatifs = {"none", "NA", "nan", "1", "01", "second_wall_array"}
    assert set(read_table(results / "whatifs.csv")["whatif"]) == whatifs
    assert "1e3" in set(read_table(results / "monitors.csv")["monitor"])
    assert "null" in set(read_table(results / "energy_sources.csv")["source"])
    from openpyxl import load_workbook

    book = load_workbook(results / "tables.xlsx", read_only=True)
    sheet = next(book[name] for name in book.sheetnames if "what" in name.lower())
    cells = {str(cell) for row in sheet.iter_rows(values_only=True) for cell in row if cell is not None}
    assert {"none", "NA", "nan"} <= cells
    page = (results / "annex.html").read_text(encoding="utf-8")
    for name in ("none", "NA", "nan"):
        assert re.search(rf">{name}[<:,. ]", page, re.IGNORECASE), name


def test_any_names_reach_every_table_figure_and_page(workplace, tmp_path_factory):
    """The widest names, then hostile names and texts, in the place of the run's own; first and last draw figures."""
    folder, study = workplace
    given_keys, results, count = read_file(study), folder / "results" / "hut", 0
    del given_keys["document"]["texts"]

    @settings(max_examples=EXAMPLES, phases=[Phase.explicit, Phase.generate], database=None)
    @example(widest_names(given_keys))
    @given(renamings(given_keys))
    def stays_whole(drawn):
        nonlocal count
        other, written = drawn
        count += 1
        target = tmp_path_factory.mktemp("renamed")
        for name in ("summary.json", "hourly.nc"):
            shutil.copy(results / name, target / name)
        for name, (as_written, as_read) in rename_tables(results, target, other).items():
            pd.testing.assert_frame_equal(as_written, as_read, check_dtype=False, obj=name)
        made = study_from(renamed_study(given_keys, other, written), "hut", folder)
        words, active = documents(target, made, with_figures=count in (1, EXAMPLES + 1))
        assert active == []
        for name in (name for section in other.values() for name in section.values()):
            assert name.casefold() in words or name.replace("_", " ").strip().casefold() in words, name

    stays_whole()


def test_nothing_typed_is_more_than_text(workplace):
    """HTML, SVG, CSS, Typst, DOCX XML, formulas, paths, YAML tags, format strings, Jinja and shell, all at once."""
    folder, study = workplace
    results = folder / "results" / "hut"
    assert outside(folder, {"hut.yaml", TEXT_NAME, "results", ".snakemake", "again", "torn.epw"}) == set()
    assert outside(folder / "results", {"hut", "torn", "provenance"}) == set()
    assert not list(folder.rglob("pwned*")) and not Path("pwned").exists()
    for page in sorted(results.rglob("*.html")):
        assert active_parts(page.read_text(encoding="utf-8")) == [], page.name
    page = (results / "proposal.html").read_text(encoding="utf-8")
    assert "&lt;script&gt;window.hacked=1" in page and "{{7*7}}" in page and "{0.__class__}" in page
    for path in (*results.rglob("*.docx"), *results.rglob("*.xlsx")):
        assert links(path) == [], path.name
    assert formulas(results / "tables.xlsx") == []
    for path in results.rglob("*.pdf"):
        content = path.read_bytes()
        assert b"/JavaScript" not in content and b"/Launch" not in content, path.name
    words = "".join(sheet.extract_text() for sheet in PdfReader(results / "proposal.pdf").pages)
    assert "#eval(read(" in words and "root:" not in words


def test_a_browser_runs_and_fetches_nothing_of_it(workplace):
    """Every page opened in a real browser, as far as there is one: no script of the text, no request."""
    pages = sorted((workplace[0] / "results" / "hut").rglob("*.html"))
    assert len(pages) >= 3
    open_in_a_browser(pages)


def test_the_expected_year_is_that_of_the_members(workplace):
    """Bands and sheet against pandas' quantiles of the members' own rows, for bank and monitor."""
    results = workplace[0] / "results" / "hut"
    members, bands = pd.read_csv(results / "members.csv"), pd.read_csv(results / "expected_year.csv")
    sheet = (results / "expected_year.html").read_text(encoding="utf-8")
    for source, column in (("bank", "max_depth_true_pct"), ("monitor", "max_depth_reported_pct")):
        row = bands[(bands["quantity"] == "deepest of the year") & (bands["source"] == source)].iloc[0]
        wanted = members[column].quantile([0.1, 0.5, 0.9]).to_numpy()
        # Tables keep six significant digits; the bands are rounded once more.
        assert row[["p10", "p50", "p90"]].to_numpy(float) == pytest.approx(wanted, rel=1e-2)
        assert f"{100 - row['p50']:.0f}" in sheet  # the sheet is on the display's scale, state of charge
    assert active_parts(sheet) == []


def test_settings_name_a_value_a_wrong_one_and_its_harm(workplace):
    """Every row of the setting sheet is whole, and a harm lies within its interval."""
    rows = pd.read_csv(workplace[0] / "results" / "hut" / "monitor_settings.csv")
    harm = rows.dropna(subset=["error_increase_points"])
    assert (
        len(harm)
        and harm["error_increase_points"]
        .between(harm["error_increase_low"], harm["error_increase_high"])
        .all()
    )
    assert rows["reason"].str.len().min() > 10


@pytest.mark.parametrize(
    "old, new, stale, fresh",
    [
        (
            "array_per_wp: 1.1",
            "array_per_wp: 1.3",
            {"sizing", "proposal"},
            {"site", "members", "grid", "whatifs"},
        ),
        (
            "capacity_ah: 300",
            "capacity_ah: 290",
            {"members", "whatifs", "sizing", "figures", "proposal"},
            {"site", "grid"},
        ),
        (
            "client: The hut",
            "client: Our hut",
            {"proposal"},
            {"site", "members", "grid", "whatifs", "sizing", "figures"},
        ),
        ("figure_pdfs: true", "figure_pdfs: false", {"figures"}, {"members", "grid", "sizing"}),
    ],
)
def test_only_what_a_change_touches_runs_again(workplace, old, new, stale, fresh):
    """A price runs no year; a bank makes no weather; a name only a page."""
    folder, study = workplace
    text = study.read_text(encoding="utf-8")
    assert old in text
    try:
        study.write_text(text.replace(old, new), encoding="utf-8")
        code, output = run(folder, "--configfile", str(study), "-n")
    finally:
        study.write_text(text, encoding="utf-8")
    assert code == 0, output
    assert stale <= rules(output)
    assert not fresh & rules(output)


@pytest.mark.parametrize(
    ("until", "made", "left"),
    [("numbers", {"members", "whatifs", "provenance"}, {"figures", "proposal"}),
     ("figures", {"members", "figures"}, {"proposal"})],
)  # fmt: skip
def test_a_run_goes_as_far_as_it_is_asked(workplace, until, made, left):
    """Unasked it goes to the proposal, as the run of these tests did."""
    folder, study = workplace
    words = "-n", "--forceall", "--config", f"until={until}", "--configfile", str(study)
    code, output = run(folder, *words)
    assert code == 0, output
    assert made <= rules(output) and not left & rules(output)


def test_an_unknown_end_is_refused(workplace):
    code, output = run(workplace[0], "-n", "--config", "until=tables", "--configfile", str(workplace[1]))
    assert code == 1 and "numbers, figures" in output


@pytest.fixture(scope="module")
def tree(tmp_path_factory):
    """A copy of the tree, to be edited."""
    folder = tmp_path_factory.mktemp("tree")
    shutil.copytree(ROOT / "workflow", folder / "workflow", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "Snakefile", folder)
    return folder


@pytest.mark.parametrize(
    ("file", "stale", "fresh"),
    [
        (None, set(), {"site", "members", "grid", "whatifs", "sizing", "figures", "proposal"}),
        (
            "report/tables/hourly_dataset.py",
            {"members", "figures", "proposal"},
            {"site", "grid", "sizing", "whatifs"},
        ),
    ],
)
def test_an_edited_source_runs_again_what_depends_on_it(workplace, tree, file, stale, fresh):
    """Rules that Snakemake would run for the finished study after an edit in a copy of the tree.

    Which stages an edit of other files touches is in test_dependencies.py.
    """
    folder, study = workplace
    path = tree / "workflow" / "darkspell" / (file or "__init__.py")
    old = path.read_bytes()
    command = [
        sys.executable,
        "-m",
        "snakemake",
        "-s",
        str(tree / "Snakefile"),
        "-d",
        str(folder),
        "-c2",
        "-n",
    ]
    env = os.environ | {"PYTHONPATH": str(tree / "workflow")}
    try:
        path.write_bytes(old + (b"\n# edited\n" if file else b""))
        done = subprocess.run([*command, "--configfile", str(study)], env=env, capture_output=True, text=True)
    finally:
        path.write_bytes(old)
    assert done.returncode == 0, done.stdout + done.stderr
    planned = rules(done.stdout + done.stderr)
    assert stale <= planned and not fresh & planned


def test_a_second_run_gives_the_same_bits(workplace):
    """Tables made again on one thread equal those made on two."""
    folder, study = workplace
    results = folder / "results" / "hut"
    names = ("members.csv", "months.csv", "autonomy.csv", "sizing.csv", "whatifs.csv", "summary.json")
    before = {name: (results / name).read_bytes() for name in names}
    other = folder / "again"
    other.mkdir()
    for name in ("hut.yaml", TEXT_NAME):
        shutil.copy(folder / name, other / name)
    code, output = run(
        other,
        "-c1",
        *(f"results/hut/{name}" for name in names),
        "--configfile",
        str(other / "hut.yaml"),
    )
    assert code == 0, output
    for name in names:
        assert (other / "results" / "hut" / name).read_bytes() == before[name], name


def test_a_fault_found_in_a_job_is_one_sentence(workplace):
    """A weather file of no known kind; the job's log holds the sentence and nothing else."""
    folder, study = workplace
    (folder / "torn.epw").write_text("torn\n", encoding="utf-8")
    torn = folder / "torn.yaml"
    text = study.read_text(encoding="utf-8")
    torn.write_text(text.replace("source: atlas", "source: typical_year\n  file: torn.epw"), encoding="utf-8")
    code, output = run(folder, "--configfile", str(torn))
    assert code == 1
    assert "torn.epw: neither EPW" in output and "Traceback" not in output
    results = folder / "results" / "torn"
    assert "neither EPW" in (results / "work" / "log" / "site.txt").read_text(encoding="utf-8")
    assert not (results / "work" / "sites.npz").exists()


def test_a_bad_study_is_one_message(workplace):
    """All faults at once, no traceback, nothing begun."""
    folder, study = workplace
    bad = folder / "bad.yaml"
    text = study.read_text(encoding="utf-8")
    bad.write_text(text.replace("capacity_ah: 300", "capacity_hours: -1"), encoding="utf-8")
    code, output = run(folder, "--configfile", str(bad))
    assert code == 1
    assert "capacity_ah" in output and "Traceback" not in output
    assert not (folder / "results" / "bad").exists()
